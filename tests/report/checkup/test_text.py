"""The judgement of a log against a case: as text and as plain data."""

import json
from datetime import date
from pathlib import Path

import pytest

from tco.case import read_case
from tco.case.capacity_log import parse_log, read_log
from tco.checkup.assessment import assess
from tco.report.checkup.data import promise_data
from tco.report.checkup.text import promise_text
from tco.report.checkup.words import CAUTION, verdict_sentence

DEMO = Path(__file__).parents[3] / "candidates_demo"
CASE, LOG, OLD_LOG = (
    DEMO / name for name in ("otterbank.toml", "otterbank_log.csv", "otterbank_old_log.csv")
)
TODAY = date(2025, 10, 1)


@pytest.fixture(scope="module")
def case():
    return read_case(CASE)


@pytest.fixture(scope="module")
def new(case):
    return assess(read_log(LOG), case, today=TODAY)


@pytest.fixture(scope="module")
def old(case):
    return assess(read_log(OLD_LOG), case, today=date(2024, 3, 10))


def test_text_opens_with_the_verdict_and_ends_with_the_caution(new):
    lines = promise_text(new).splitlines()
    assert lines[0].startswith("Fell 24/230, 1 string, 230 Ah rated")
    assert lines[1].startswith(f"The promise is {new.judged.verdict}")
    text = " ".join(promise_text(new).split())
    assert text.endswith(CAUTION)
    assert "Last day to claim: 2029-03-21" in text  # 30 days before 20 April 2029
    assert max(map(len, lines)) <= 100


def test_text_lists_every_test_and_the_cells(new):
    text = promise_text(new)
    for test in new.judged.fit.tests:
        assert f"{test.tested_on} {test.measured_ah:>8.1f} Ah" in text
    assert "33 mV (2025-09-27)" in " ".join(text.split())
    assert "Lowest is number 6, as in every test." in " ".join(text.split())


def test_old_bank_sentence(old):
    sentence = verdict_sentence(old.judged)
    assert sentence.startswith("The old bank is finished")
    assert f"health is {old.judged.health_today.middle:.0%}" in sentence
    assert "IEEE 450 and 1188 (from memory)" in " ".join(promise_text(old).split())
    assert "is over 99%" in sentence
    assert "one block drifts: number 2 is 310 mV below the others" in sentence
    assert "Last day to claim" not in promise_text(old)
    assert "Look closer: 320 mV apart, over 300 mV" in " ".join(promise_text(old).split())


@pytest.mark.parametrize("which", ["new", "old"])
def test_data_is_strict_json_and_agrees_with_the_judgement(which, request):
    assessment = request.getfixturevalue(which)
    data = promise_data(assessment)
    assert json.loads(json.dumps(data, allow_nan=False)) == data
    judged = assessment.judged
    assert data["verdict"] == judged.verdict
    assert data["health_today"]["median"] == judged.health_today.middle
    assert [test["measured_ah"] for test in data["tests"]] == [
        test.measured_ah for test in judged.fit.tests
    ]
    course = data["course"]
    assert course[0]["date"] == data["bought"]
    assert all(point["low"] <= point["median"] <= point["high"] for point in course)
    medians = [point["median"] for point in course]
    assert medians == sorted(medians, reverse=True)
    if which == "new":
        assert course[-1]["date"] == data["warranty_end"] == "2029-04-20"
        assert course[-1]["median"] == pytest.approx(data["health_at_warranty_end"]["median"])


def test_imperial_case_shows_fahrenheit(case):
    imperial = case.model_copy(update={"units": "imperial"})
    text = promise_text(assess(read_log(LOG), imperial, today=TODAY))
    assert "corrected to 77 degF" in text
    assert "degC" not in text.split("Temperature by")[0]


def test_no_warranty_and_no_forecast_are_said(case):
    log = parse_log("# warranty_years: 0\n# bought: 2024-01-01\ndate,ah\n2025-01-01,680\n")
    found = assess(log, case, today=TODAY, candidate="Fell 24/230", strings=3)
    text = " ".join(promise_text(found).split())
    assert "No warranty is stated" in text
    assert "1 test is too few, or too close together" in text
    assert "temperature not noted" in text.lower()
    data = promise_data(found)
    assert data["warranty_end"] is None
    assert data["probability_broken"] is None
    if data["forecast_today"] is None:
        assert any("no forecast" in sentence for sentence in data["assumed"])


def test_old_bank_of_a_hut_that_hardly_needs_it():
    """Larch Hut: 21 % of the gel bank leave 18 h short, 48 are allowed; 19 % leave 177."""
    hut = read_case(DEMO / "larch_hut.toml")
    text = "# old bank: yes\n# bought: 2016-06-01\ndate,ah,temp\n" + "".join(
        f"2025-0{month}-01,{{}} Ah,25 C\n" for month in (7, 8, 9)
    )

    def judged(health):
        ah = f"{330.0 * health:.1f}"
        return assess(parse_log(text.format(ah, ah, ah)), hut, today=TODAY)

    within, over = judged(0.21), judged(0.19)
    for found in (within, over):
        need = found.judged.need
        assert 0.19 < need.needed_health < 0.20
        above = found.judged.probability_below_need < 0.5
        assert above == (found.judged.hours_without_power.middle <= need.tolerated_hours)
    assert "That is within what is allowed. Still, your" in verdict_sentence(within.judged)
    assert within.judged.hours_without_power.middle < 48.0 < over.judged.hours_without_power.middle
    assert promise_data(within)["lowest_health_tried"] == pytest.approx(0.1)
