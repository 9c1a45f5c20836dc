"""Charging in the cold, judged by the hours of the simulated years."""

from collections.abc import Callable
from typing import Any

import pytest

from tco.bank.budget import energy_budget
from tco.bank.checks.check import Check
from tco.bank.checks.cold import SURE_WITHIN_K, check_charging
from tco.bank.choices import arrangements
from tco.case import Case
from tco.compare import Comparison, compare
from tco.pipeline import need_of

Build = Callable[..., Case]

KEY = "charging_in_the_cold"
BARE = {"low_temperature_cutoff": False}


def winter(plain_case: Build, night: float, mean: float, **changes: Any) -> Case:
    """January as cold as said, the rest of the year warm."""
    return plain_case(
        climate={
            "min_degc": [night] + [20.0] * 11,
            "mean_degc": [mean] + [25.0] * 11,
            "max_degc": [2 * mean - night] + [30.0] * 11,
        },
        **changes,
    )


def found(case: Case) -> tuple[Check, Comparison]:
    comparison = compare(case, only=[f"1 × {case.candidates[0].name} (1S1P)"])
    (result,) = comparison.results
    return result.screening.check(KEY), comparison


def by_hand(
    case: Case, *, coldest: float, hours: float = 20.0, laid_up: float = 0.0, space: float = -6.0
) -> Check:
    year = {
        "coldest_offered_degc": coldest,
        "too_cold_hours": hours,
        "laid_up_too_cold_hours": laid_up,
    }
    one = arrangements(case, energy_budget(case))[0]
    return check_charging(case, one, year, coldest_space_degc=space)


def test_a_usual_night_above_the_limit_does_not_save_the_cells_in_a_cold_spell(
    plain_case: Build,
) -> None:
    """The mean night is 1 degC, the limit 0: a mean of nights says nothing of the cold ones."""
    case = winter(plain_case, 1.0, 5.0, candidate=BARE)
    check, comparison = found(case)
    assert check.verdict == "fail"
    assert not comparison.results[0].feasible
    assert check.value is not None
    assert check.margin == check.value - 0.0 < -SURE_WITHIN_K
    assert "hazard" in check.reason
    assert f"in {comparison.results[0].year['too_cold_hours']:.0f} h a year" in check.reason


def test_what_is_told_are_the_hours_of_the_trace(plain_case: Build) -> None:
    """Counted again from the pack's temperatures and the sun, hour by hour."""
    case = winter(plain_case, -2.0, 2.0, candidate=BARE)
    check, comparison = found(case)
    (result,) = comparison.results
    degc = comparison.trace(result).degc
    hourly = need_of(case).conditions
    spare = hourly.solar_w > hourly.essential_w + hourly.other_w
    cold = spare[1:] & (degc[:-1] < 0.0)  # the hour begins as the one before ended
    assert result.year["too_cold_hours"] == pytest.approx(cold.sum(), abs=1)
    assert check.value == pytest.approx(degc[:-1][spare[1:]].min())


def test_a_warm_place_passes_and_so_does_the_limit_itself(plain_case: Build) -> None:
    check, _ = found(winter(plain_case, 20.0, 25.0, candidate=BARE))
    assert check.verdict == "pass"
    assert check.margin is not None
    assert check.margin > 0.0
    at = by_hand(plain_case(candidate=BARE), coldest=0.0, hours=0.0)
    assert (at.verdict, at.margin, at.unit) == ("pass", 0.0, "degC")


def test_by_how_much_decides_where_nothing_stops_the_charge(plain_case: Build) -> None:
    case = plain_case(candidate=BARE)
    just = by_hand(case, coldest=-SURE_WITHIN_K)
    assert (just.verdict, just.margin) == ("caution", -SURE_WITHIN_K)
    assert "hazard" in just.reason
    assert by_hand(case, coldest=-SURE_WITHIN_K - 0.01, hours=1.0).verdict == "fail"


def test_hours_laid_up_count(plain_case: Build) -> None:
    """A panel that keeps the bank charged all winter, against one that is cut off."""
    summer = {"months_in_use": "Apr-Sep"}

    def kept(how: str) -> Check:
        use = {**summer, "charged_when_laid_up": how}
        return found(winter(plain_case, -8.0, -3.0, candidate=BARE, use=use))[0]

    assert kept("solar").verdict == "fail"
    assert kept("no").verdict == "pass"
    told = by_hand(plain_case(candidate=BARE), coldest=-5.0, hours=20.0, laid_up=30.0)
    assert "in 50 h a year" in told.reason


def test_a_cut_off_costs_hours_and_no_cells(plain_case: Build) -> None:
    check, comparison = found(winter(plain_case, -4.0, 0.0))
    assert check.verdict == "caution"
    assert "refuses charge" in check.reason
    assert comparison.results[0].year["too_cold_hours"] > 0.0


def test_a_heater_passes_with_a_cut_off_and_asks_without(plain_case: Build) -> None:
    both = by_hand(plain_case(candidate={"heater_w": 60.0}), coldest=-5.0)
    assert (both.verdict, "60 W" in both.reason) == ("pass", True)
    alone = by_hand(plain_case(candidate={**BARE, "heater_w": 60.0}), coldest=-5.0)
    assert (alone.verdict, "ask the maker" in alone.reason) == ("caution", True)


def test_chargers_that_stop_below_freezing_make_it_a_caution(plain_case: Build) -> None:
    panel = {**plain_case().sources.solar[0].model_dump(), "charges_below_freezing": False}
    mains = {"name": "mains", "rating_a": 30.0, "nights_per_month": 10, "profiles": ["lithium"]}
    stops = {"solar": [panel]}
    case = plain_case(candidate=BARE, sources=stops)
    assert by_hand(case, coldest=-4.0).verdict == "caution"
    other = plain_case(candidate=BARE, sources={**stops, "shore": [mains]})
    assert by_hand(other, coldest=-4.0).verdict == "fail"
    needs_5 = plain_case(candidate={**BARE, "charge_min_degc": 5.0}, sources=stops)
    assert by_hand(needs_5, coldest=2.0).verdict == "fail"


def test_a_full_year_of_lead_in_the_same_winter_is_left_alone(plain_case: Build) -> None:
    lead = {"chemistry": "agm", "nominal_voltage_v": 12.0, "charge_min_degc": None}
    assert found(winter(plain_case, -4.0, 0.0, candidate={**BARE, **lead}))[0].verdict == "pass"


PLAIN_W_PER_K = 5.0 * 0.7 * 2.0 * (0.330 * 0.172 + 0.330 * 0.215 + 0.172 * 0.215)
"""5 W/(m2 K) over 0.7 of the surface of a pack of 330 x 172 x 215 mm."""


def test_a_heater_that_cannot_hold_the_cells_warm_does_not_pass(plain_case: Build) -> None:
    """What it holds above a space at -12 degC is its power over the surface's conductance."""
    just = 12.0 * PLAIN_W_PER_K

    def heated(watts: float, **cutoff: Any) -> Check:
        case = plain_case(candidate={**cutoff, "heater_w": watts})
        return by_hand(case, coldest=-8.0, space=-12.0)

    assert heated(just + 0.01).verdict == "pass"
    weak = heated(just / 2.0)
    assert weak.verdict == "caution"
    assert "too weak: it holds the cells at -6.0 degC" in weak.reason
    assert heated(just / 2.0, **BARE).verdict == "fail"


def test_foam_lets_a_weak_heater_hold(plain_case: Build) -> None:
    """40 mm at 0.035 W/(m K): 1 / (1 + 5 x 0.04 / 0.035), so a sixth of the power is enough."""
    watts = 12.0 * PLAIN_W_PER_K / 6.0
    for foam, verdict in ((0.0, "caution"), (40.0, "pass")):
        case = plain_case(candidate={"heater_w": watts}, space={"foam_mm": foam})
        assert by_hand(case, coldest=-8.0, space=-12.0).verdict == verdict


def test_a_heater_that_is_off_while_laid_up_helps_nothing_then(plain_case: Build) -> None:
    use = {"heater_when_laid_up": False}
    case = plain_case(candidate={**BARE, "heater_w": 200.0}, use=use)
    assert by_hand(case, coldest=-8.0, laid_up=5.0).verdict == "fail"
    assert "off while laid up" in by_hand(case, coldest=-8.0, laid_up=5.0).reason
    assert by_hand(case, coldest=-8.0).verdict == "caution"


def test_the_coldest_hour_is_one_in_which_a_source_offers(plain_case: Build) -> None:
    """Sun by day only: the coldest night does not count, the coldest daylight does."""
    hourly = need_of(winter(plain_case, -8.0, -2.0)).conditions
    assert hourly.coldest_offered_space_degc > hourly.space_degc.min()
    assert hourly.coldest_offered_space_degc == hourly.space_degc[hourly.solar_w > 0.0].min()
    dark = need_of(plain_case(sources={"solar": []})).conditions
    assert dark.coldest_offered_space_degc == dark.space_degc.min()
