"""The headline: a sound bank is never called finished, and a cell that drifts is not buried."""

from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import get_args

import pytest

from tco.case import read_case
from tco.case.capacity_log import parse_log, read_log
from tco.checkup.assessment import assess
from tco.checkup.old_bank import OldVerdict, Serves
from tco.checkup.old_need import need_of
from tco.report.checkup.data import promise_data
from tco.report.checkup.frames import claim_words, figures
from tco.report.checkup.text import promise_text
from tco.report.checkup.words import crossing_words, doubts, need_sentence, verdict_sentence
from tco.report.inputs.text import case_text

DEMO = Path(__file__).parents[3] / "candidates_demo"
TODAY = date(2026, 11, 25)
CELLS = ",".join(f"Cell {n} (mV)" for n in range(1, 9))
GOOD_OLD = (
    "# old bank: yes\n# bought: 2025-03-11\nDate,Ah,Temp (°C),Discharge (A)\n2026-10-08,{},25,11\n"
)


@pytest.fixture(scope="module")
def case():
    return read_case(DEMO / "otterbank.toml")


@pytest.fixture(scope="module")
def sound(case):
    """96 % of the rated Ah, and far too small for the loads."""
    return assess(parse_log(GOOD_OLD.format(212)), case, today=TODAY)


def new_bank(case, last, *, warranty="5"):
    """A year of a bank whose eighth cell reads `last` mV in the end."""
    even = ",".join(["3330"] * 7)
    log = (
        f"# candidate: Fell 24/230\n# bought: 2025-04-20\n# warranty: {warranty}\n"
        f"Date,Ah,Temp (°C),Discharge (A),{CELLS}\n"
        f"2025-05-04,230,25,42,{even},3330\n2026-05-04,227,25,42,{even},{last}\n"
    )
    return assess(parse_log(log), case, today=TODAY)


def test_a_sound_bank_that_is_too_small_is_not_finished(sound):
    said = verdict_sentence(sound.judged)
    assert said.startswith("The old bank is sound, but too small for your loads: its health is 96%")
    assert "(8 in 10 sure: 9" in said
    assert "under 1%" in said
    hours = sound.judged.hours_without_power.middle
    assert f"go short {hours:,.0f} h a year (48 h are allowed)" in said
    assert "Ah of the same kind, when new, would do" in said
    assert said.endswith("Its health is no reason to scrap it.")
    data = promise_data(sound)
    assert (data["verdict"], data["serves"]) == ("not finished", "too small")
    assert (
        data["hours_without_power_per_year"]["median"]
        == hours
        > data["hours_without_power_per_year_new"]
    )
    assert data["tolerated_hours_per_year"] == 48.0
    shown = {figure.label: figure.value for figure in figures(data)}
    assert shown["No power"] == f"{hours:,.0f} h a year"


def test_the_size_that_would_do_does(case, sound):
    """A new bank of the Ah that the sentence names, in the same case, is called enough."""
    said = verdict_sentence(sound.judged)
    ah = float(said.split("About ")[1].split(" Ah")[0])
    log = parse_log(f"# rated_ah: {ah}\n" + GOOD_OLD.format(ah))
    larger = assess(log, case, today=TODAY).judged.need
    assert larger is not None
    assert larger.hours_at(1.0) <= 48.0 < larger.hours_at(0.5)
    smaller = assess(log.model_copy(update={"rated_ah": ah - 10.0}), case, today=TODAY).judged.need
    assert smaller is not None
    assert smaller.hours_at(1.0) > 48.0


@pytest.mark.parametrize("verdict", get_args(OldVerdict))
@pytest.mark.parametrize("serves", get_args(Serves))
def test_finished_is_said_of_a_finished_bank_only(sound, verdict, serves):
    wanted = {"unknown": None, "enough": 0.5, "doubtful": 0.95, "worn too far": 0.99}
    need = wanted.get(serves, float("inf"))
    said = verdict_sentence(
        replace(
            sound.judged, verdict=verdict, serves=serves, needed_health=need,
            probability_below_need=None if need is None else 0.5,
        )
    )  # fmt: skip
    assert ("is finished" in said) == (verdict == "finished")
    assert ("is sound" in said) == (verdict == "not finished")
    assert ("no reason to scrap" in said) == (verdict != "finished" and need == float("inf"))
    assert "inf" not in said.replace("information", "")


def test_too_little_charging_is_the_charging_s_fault(case):
    """With half the sun, no hook-up and no engine, no bank of any size lasts the winter."""
    sources = case.sources
    dull = case.model_copy(
        update={
            "sources": sources.model_copy(
                update={
                    "solar": tuple(
                        a.model_copy(update={"peak_w": a.peak_w / 2}) for a in sources.solar
                    ),
                    "engine": (), "shore": (), "generator": (),
                }
            )
        }
    )  # fmt: skip
    found = assess(parse_log("# rated_ah: 900\n" + GOOD_OLD.format(880)), dull, today=TODAY)
    assert (found.judged.verdict, found.judged.serves) == ("not finished", "too little charging")
    said = verdict_sentence(found.judged)
    assert "The old bank is sound; it is the charging that is too little" in said
    assert "Mend the charging, not the bank" in said or "More charging helps most" in said


def test_with_nothing_that_charges_more_charging_is_not_advised(case):
    none = dict.fromkeys(("solar", "engine", "shore", "generator"), ())
    bare = case.model_copy(update={"sources": case.sources.model_copy(update=none)})
    said = need_sentence(bare, need_of(bare))
    assert "Nothing charges it" in said
    assert "More charging helps" not in said


def test_check_says_what_the_case_asks_of_its_old_bank(case):
    assert need_sentence(case, need_of(case)).startswith(
        "The old bank: even when new its 220 Ah would leave"
    )
    assert "even when new its 220 Ah" in " ".join(case_text(case, need_of(case)).split())
    easy = read_case(DEMO / "coldharbour.toml")
    assert "enough for your essential loads as long as it has" in need_sentence(easy, need_of(easy))
    old = case.system.old_bank
    assert old is not None
    for changed, said in (
        (None, ""),
        (old.model_copy(update={"capacity_ah": None}), "The Ah of the old bank are not stated"),
    ):
        system = case.system.model_copy(update={"old_bank": changed})
        other = case.model_copy(update={"system": system})
        assert need_sentence(other, need_of(other)).startswith(said)


def test_a_cell_that_drifts_is_in_the_headline(case):
    drifting, even = new_bank(case, 3100), new_bank(case, 3325)
    said = verdict_sentence(drifting.judged)
    assert drifting.judged.verdict == even.judged.verdict == "kept"
    assert said.startswith("The promise is kept so far, but one cell drifts: number 8 is 230 mV")
    assert "have it looked at while the warranty runs (to 2030-04-20)" in said
    assert "The promise is kept: " in verdict_sentence(even.judged)
    assert "cell" not in verdict_sentence(even.judged)
    assert "fault of its own" in claim_words(promise_data(drifting))
    assert "fault of its own" not in claim_words(promise_data(even))
    assert "fault of its own" in " ".join(promise_text(drifting).split())
    assert promise_data(drifting)["cells"]["odd_cell"] == 8
    assert drifting.judged.next_test == TODAY  # three months after the last test are over


def test_a_cell_that_drifts_stands_beside_every_other_verdict(case):
    for warranty in ("0", "1.2"):  # none; and lapsed
        said = verdict_sentence(new_bank(case, 3100, warranty=warranty).judged)
        assert "one cell drifts: number 8 is 230 mV below the others" in said
        assert "while the warranty runs" not in said
    judged = new_bank(case, 3100).judged
    for verdict in ("doubtful", "broken"):
        said = verdict_sentence(replace(judged, verdict=verdict))
        assert said.startswith(f"The promise is {verdict}")
        assert "have it looked at." in said


def test_one_reading_out_of_step_does_not_drift(case):
    log = (
        f"# candidate: Fell 24/230\n# bought: 2025-04-20\nDate,Ah,{CELLS}\n"
        f"2026-05-04,227,{','.join(['3330'] * 7)},3400\n"
    )
    said = verdict_sentence(assess(parse_log(log), case, today=TODAY).judged)
    assert "one cell is out of step: number 8 is 70 mV above the others" in said


def test_what_makes_it_unsure_is_said(case):
    one = assess(parse_log(GOOD_OLD.format(212)), case, today=TODAY).judged
    assert "1 test is too few" in doubts(one)[0]
    assert not any("years old" in said for said in doubts(one))
    later = assess(parse_log(GOOD_OLD.format(212)), case, today=date(2028, 10, 8)).judged
    assert any("The last test is 2.0 years old" in said for said in doubts(later))


def test_tests_far_from_the_line_are_explained(case):
    """Cold tests far above the warm ones: corrected too much, and the line follows the warm."""
    rows = [("2024-02-10", 228, 8), ("2024-06-14", 226, 24), ("2024-11-05", 227, 8),
            ("2025-02-10", 226, 8), ("2025-06-14", 222, 24), ("2025-11-05", 225, 8)]  # fmt: skip
    log = "# candidate: Fell 24/230\n# bought: 2024-01-15\nDate,Ah,Temp (°C),Discharge (A)\n"
    odd = log + "".join(f"{day},{ah},{degc},42\n" for day, ah, degc in rows)
    said = doubts(assess(parse_log(odd), case, today=TODAY).judged)
    assert any("Most tests lie above the fitted line" in text for text in said)
    even = log + "".join(f"{day},{225 - n},24,42\n" for n, (day, _, _) in enumerate(rows))
    said = doubts(assess(parse_log(even), case, today=TODAY).judged)
    assert not any("fitted line" in text for text in said)


def test_a_crossing_is_dated_to_the_month_and_not_far_ahead():
    bought = date(2024, 4, 20)
    assert crossing_words(date(2028, 11, 15), bought=bought) == "Nov 2028"
    assert crossing_words(date(2039, 4, 20), bought=bought) == "Apr 2039"
    assert crossing_words(date(2039, 4, 21), bought=bought) is None
    assert crossing_words(None, bought=bought) is None


def test_headline_and_detail_are_the_answer(case, sound):
    for found in (sound, new_bank(case, 3100), new_bank(case, 3325)):
        data = promise_data(found)
        assert " ".join(filter(None, (data["headline"], data["detail"]))) == data["answer"]
        assert data["doubts"] == doubts(found.judged)


def test_imperial_headline(case):
    imperial = case.model_copy(update={"units": "imperial"})
    text = promise_text(
        assess(read_log(DEMO / "otterbank_old_log.csv"), imperial, today=date(2024, 3, 10))
    )
    assert "°C" not in text
    assert "kept at 50.0 degF or more" in " ".join(text.split())
