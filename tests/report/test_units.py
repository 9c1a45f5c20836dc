"""A case in imperial units is told nothing in metric ones."""

import re
from collections.abc import Callable, Iterator
from datetime import date
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from tco.case import Case, read_case
from tco.case.capacity_log import parse_log
from tco.case.plausibility import case_doubts
from tco.checkup.assessment import assess
from tco.checkup.old_need import need_of
from tco.compare import Comparison, compare
from tco.life.habits import habits
from tco.report import frames
from tco.report.answer.words import CAUTION, answer
from tco.report.checkup import frames as checkup_frames
from tco.report.checkup.data import promise_data
from tco.report.checkup.text import promise_text
from tco.report.failures.frames import warranty
from tco.report.inputs.text import case_text
from tco.report.inputs.words import doubt_rows
from tco.report.money import frames as money_frames
from tco.report.money.words import by_item, reason_over_the_years
from tco.report.text import arrangement_text, comparison_text
from tco.report.wiring import frames as wiring_frames
from tco.report.wiring.commissioning import STAGES, commissioning, commissioning_html
from tco.sentences import told

DEMO = Path(__file__).parents[2] / "candidates_demo"
DEMOS = ("otterbank", "larch_hut", "coldharbour")

METRIC = re.compile(r"(?<![\w.,])-?[0-9][0-9.,]* ?(?:kg|mm|cm|m|degC|°C)(?![\w/])|\bper kg\b")
IN_BOTH = ("7 in (180 mm)", "180 mm (7 in)")
"""The one length that is told in both units, as the trade's rule has it. Sizes of cable (mm2) and
densities (Wh/kg, Wh/L) stay as makers print them."""


def metric_left(text: str) -> list[str]:
    for said in IN_BOTH:
        text = text.replace(said, "")
    return METRIC.findall(text)


@cache
def comparison(name: str, units: str = "imperial") -> Comparison:
    case = read_case(DEMO / f"{name}.toml")
    return compare(case.model_copy(update={"units": units}))


def frame_words(frame: Any) -> Iterator[str]:
    yield from (str(value) for column in frame for value in (column, *frame[column]))


def everything_said(found: Comparison) -> Iterator[str]:
    case = found.case
    units = case.units
    yield frames.words(answer(found), units)
    yield frames.words(CAUTION, units)
    for result in found.results:
        yield from frame_words(frames.checks(result, units=units))
        if result.screening.fit is not None:
            yield told(result.screening.fit.reason, units)
        yield from frame_words(money_frames.old_parts(result, "$", units))
        yield from frame_words(money_frames.bill(result, "$", units))
        yield from frame_words(money_frames.ledger_rows(result, units))
        yield from (
            told(reason_over_the_years(rows), units) for rows in by_item(result.ledger).values()
        )
        for stage in STAGES:
            steps = commissioning(case, result.bank)
            yield from frame_words(wiring_frames.commissioning_stage(steps, stage, units))
        yield commissioning_html(case, result.bank)
        yield warranty(result, case)
        yield arrangement_text(found, result)
    for weak in (*found.weak_points, *found.weak_points_when_worn):
        yield told(weak.reason, units) if weak is not None else ""
    for doubt in case_doubts(case):
        yield told(doubt.sentence, units)
    yield from (text for row in doubt_rows(case) for text in row.values())
    yield comparison_text(found)
    yield case_text(case, need_of(case))


@pytest.mark.parametrize("name", DEMOS)
def test_a_demo_made_imperial_is_told_nothing_in_metric_units(name: str) -> None:
    # what somebody noted is in their own words
    said = [re.sub("“[^”]*”", "", text) for text in everything_said(comparison(name))]
    assert [(text, left) for text in said if (left := metric_left(text))] == []
    assert {unit for text in said for unit in re.findall(r"[0-9] (lb|in|ft|degF|°F)\b", text)} >= {
        "lb", "in", "ft", "degF", "°F"
    }  # fmt: skip


def test_metric_units_are_seen() -> None:
    """What the test above looks for is there in a metric case."""
    found = comparison("otterbank", "metric")
    said = "\n".join(everything_said(found))
    left = {match.rpartition(" ")[2] for match in metric_left(said)}
    assert {"kg", "mm", "m", "degC", "°C"} <= left


def test_a_cable_too_short_is_told_in_feet(plain_case: Callable[..., Case]) -> None:
    cable = {
        "name": "old", "kind": "main cable", "size": "120 mm2", "length_m": 1.0, "sale_price": 9.0
    }  # fmt: skip
    case = plain_case(system={"parts": [cable], "cable_run_m": 1.85})
    found = compare(case.model_copy(update={"units": "imperial"}))
    (why,) = money_frames.old_parts(found.results[0], "$", "imperial")["Why"]
    assert why == "too short: 3.3 ft there, 12.1 ft needed"
    sold = by_item(found.results[0].ledger)["old parts"]
    assert told(reason_over_the_years(sold), "imperial") == f"old sold: {why}"


def test_habits_are_told_in_the_units_of_the_case() -> None:
    found = comparison("larch_hut")
    best = found.results[0]
    advice = habits(found.case, best.bank, found.conditions)
    said = [told(text, "imperial") for one in advice for text in (one.sentence, one.caution)]
    assert said
    assert not [text for text in said if metric_left(text)]


LOG = "# old bank: yes\n# bought: 2019-03-11\nDate,Ah,Temp (°C),Discharge (A)\n2026-10-08,212,,11\n"


def test_a_log_is_judged_in_the_units_of_the_case() -> None:
    case: Case = comparison("otterbank").case
    judged = assess(parse_log(LOG), case, today=date(2026, 11, 25))
    said = [promise_text(judged), *(told(step, "imperial") for step in checkup_frames.HOW_TO)]
    data = promise_data(judged)
    said += [told(data[name], "imperial") for name in ("headline", "detail")]
    said += frame_words(checkup_frames.tests(data, "imperial"))
    assert any("degF" in text or "°F" in text for text in said)
    assert not [text for text in said if metric_left(text)]
