"""Sentences on the years ahead: number and words agree, new and worn are both told."""

from collections.abc import Callable
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pvlib
import pytest

from tco import Comparison, compare, read_case
from tco.case import Case
from tco.case.weather_file import climate_values, read_weather_file
from tco.life.outages import Outages
from tco.life.outlook import Outlook, YearsAhead
from tco.report.machine import as_data
from tco.report.text import arrangement_text
from tco.report.years import words
from tests.conftest import build_plain_case

DEMO = Path(__file__).resolve().parents[3] / "candidates_demo"


@cache
def otterbank() -> tuple[Comparison, YearsAhead]:
    comparison = compare(read_case(DEMO / "otterbank.toml"))
    return comparison, comparison.years_ahead(comparison.results[0])


def plain(**changes: object) -> tuple[Comparison, YearsAhead]:
    comparison = compare(build_plain_case(**changes))
    return comparison, comparison.years_ahead(comparison.results[0])


def with_outages(base: Outlook, **changes: object) -> Outages:
    return replace(base.found, **changes)


def test_the_opening_tells_new_and_worn_and_the_one_asked_about_first() -> None:
    """The winner suffices new; worn to its end of life it goes short in every year."""
    comparison, ahead = otterbank()
    best = comparison.results[0]
    new = words.opening(best, ahead.new, ahead.worn)
    worn = words.opening(best, ahead.worn, ahead.new)
    assert "keeps essential loads powered through all 20 weather years" in new
    assert new.endswith(
        "when new, nothing is too small; when worn to 70%, the battery is the weak point."
    )
    assert f"{best.arrangement.label}, worn to 70%, leaves essential loads without power" in worn
    assert f"{ahead.worn.weak.hours_without_power:.1f} h in a mean year" in worn
    assert worn.endswith(
        "when worn to 70%, the battery is the weak point; when new, nothing is too small."
    )
    assert words.opening(best, ahead.new, ahead.new).endswith("new or worn, nothing is too small.")


def test_nothing_is_too_small_is_not_said_where_something_goes_dark() -> None:
    comparison, ahead = otterbank()
    dark = replace(ahead.new, found=ahead.worn.found)  # dark, but no weak point was found
    assert dark.found.essential
    said = words.opening(comparison.results[0], dark, dark)
    assert "nothing is too small" not in said
    assert words.TOO_LITTLE in said


@pytest.mark.parametrize(
    ("share", "hours", "said"),
    [
        (0.95, 3.44, "in 19 years of 20, 3.4 h in a mean year"),
        (0.45, 1234.0, "in 9 years of 20, 1,234.0 h in a mean year"),
        (0.05, 0.01, "in 1 year of 20, less than 0.1 h in a mean year"),
        (1.0, 2.0, "in every year, 2.0 h in a mean year"),
    ],
)
def test_shares_of_years_are_told_as_they_are(share: float, hours: float, said: str) -> None:
    found = with_outages(otterbank()[1].worn, share_of_years=share, hours_without_power=hours)
    assert words.dark_words(found).endswith(f"without power {said}")


def test_one_year_is_not_many() -> None:
    new, worn = otterbank()[1].new, otterbank()[1].worn
    assert words.dark_words(with_outages(new, years=1)).endswith("through 1 weather year")
    said = words.dark_words(with_outages(worn, years=1))
    assert "in the one weather year looked at" in said
    assert "every year" not in said
    hardest = words.worst_words(with_outages(worn, years=1))
    assert hardest.startswith("Hardest fortnight of the weather year: from ")
    assert "1 weather years" not in hardest
    assert words.worst_words(worn.found).startswith("Hardest fortnight of 20 weather years: from ")


def test_the_command_line_tells_failures_cures_and_habits() -> None:
    comparison, ahead = otterbank()
    best = comparison.results[0]
    text = arrangement_text(comparison, best, ahead)
    assert max(map(len, text.splitlines())) <= 100
    flat = " ".join(text.split())
    assert "Power failures over 20 weather years A new bank keeps" in flat
    assert "A bank worn to 70% leaves essential loads without power in every year" in flat
    assert f"longest {max(o.hours for o in ahead.worn.found.essential)} h" in flat
    assert ahead.worn.more_capacity is not None
    assert ahead.worn.more_solar is not None
    for cure in (ahead.worn.more_capacity, ahead.worn.more_solar):
        assert cure.reason[1:] in flat
    assert ahead.habits
    for advice in ahead.habits:
        assert advice.sentence in flat
        assert advice.caution in flat
    assert "°C" not in text  # the command line says degC
    assert "Power failures over" not in arrangement_text(comparison, best)


def test_imperial_readers_get_their_degrees_and_no_habits_are_told_too() -> None:
    comparison = compare(read_case(DEMO / "coldharbour.toml"))
    ahead = comparison.years_ahead(comparison.results[0])
    text = arrangement_text(comparison, comparison.results[0], ahead)
    assert "degF" in text.split("Habits that would help")[1].split("Health of")[0]
    assert "degC" not in text.split("Power failures")[1].split("Health of")[0]
    none = arrangement_text(comparison, comparison.results[0], replace(ahead, habits=()))
    assert words.NO_HABIT in " ".join(none.split())


def test_too_little_for_a_cause_is_said_once() -> None:
    _, ahead = otterbank()
    said = words.outage_words(replace(ahead.new, found=ahead.worn.found))
    assert said[-1] == "That is too little to look for a cause."
    assert len(said) == 3


def test_a_weather_file_of_one_year_is_said_to_be_too_little(
    plain_case: Callable[..., Case],
) -> None:
    path = Path(pvlib.__file__).parent / "data" / "723170TYA.CSV"
    climate = climate_values(read_weather_file(path)) | {"weather_file": str(path)}
    comparison, ahead = plain(climate=climate)
    assert comparison.conditions.years == 1
    assert ahead.file_years == 1
    text = " ".join(arrangement_text(comparison, comparison.results[0], ahead).split())
    assert "The weather file has 1 year, fewer than the 10 it takes to tell" in text
    assert "20 years were drawn from its monthly values" in text
    _, typed = plain()
    assert typed.file_years is None
    assert words.weather_words(typed.file_years, typed.new.found) == ""


def test_data_tell_the_weak_point_of_a_worn_bank() -> None:
    comparison, _ = otterbank()
    worn = comparison.weak_points_when_worn
    for result, point in zip(comparison.results, worn, strict=True):
        assert (point is None) == (not result.feasible)
    best = worn[0]
    assert best is not None
    assert comparison.weak_points[0].verdict == "none"
    assert best.verdict == "battery"
    # the hours are those of the health at which the bank is replaced at the latest
    trace = comparison.trace(
        comparison.results[0], health=comparison.case.assumptions.end_of_life_health
    )
    hours = trace.unserved_essential_wh > 0.01 * comparison.conditions.essential_w
    share = trace.unserved_essential_wh[hours] / comparison.conditions.essential_w[hours]
    assert best.hours_without_power == pytest.approx(
        float(np.sum(share)) / comparison.conditions.years, rel=1e-9
    )


def test_data_tell_how_often_power_fails_with_the_best() -> None:
    comparison, ahead = otterbank()
    data = as_data(comparison)["power_failures"]
    assert data["arrangement"] == comparison.results[0].arrangement.label
    assert (data["weather_years"], data["weather_file_years"]) == (20, None)
    for state, outlook in (("new", ahead.new), ("worn", ahead.worn)):
        assert data[state]["health"] == outlook.health
        assert data[state]["share_of_years"] == outlook.found.share_of_years
        assert data[state]["hours_without_power_per_year"] == outlook.found.hours_without_power
    assert data["new"]["longest_outage_hours"] == 0
    assert data["worn"]["share_of_years"] == 1.0
    assert data["worn"]["longest_outage_hours"] > 1
    assert len(data["worn"]["share_of_years_by_month"]) == 12
    none = compare(build_plain_case(system={"mass_limit_kg": 1.0}))
    assert none.best is None
    assert as_data(none)["power_failures"] is None
