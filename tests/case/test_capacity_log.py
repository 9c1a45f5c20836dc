"""Logs of capacity tests: headings, units, dates, cells, problems, and back without loss."""

from datetime import date
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tco.case import CaseError
from tco.case.capacity_log import parse_log, read_log
from tco.case.capacity_models import CapacityLog, CapacityTest
from tco.case.log_cells import read_cell_voltages, read_date
from tco.case.units import UnitProblem
from tests.case.log_writer import log_to_csv

DEMO = Path(__file__).parents[2] / "candidates_demo"


def problems(text):
    with pytest.raises(CaseError) as caught:
        parse_log(text, file="log.csv")
    return [str(problem) for problem in caught.value.problems]


def one(row, heading="Date,Ah"):
    (test,) = parse_log(f"{heading}\n{row}\n").tests
    return test


@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("2025-03-04", date(2025, 3, 4)),
        ("2025/3/4", date(2025, 3, 4)),
        ("04.03.2025", date(2025, 3, 4)),
        ("4.3.2025", date(2025, 3, 4)),
        ("25/03/2025", date(2025, 3, 25)),
        ("03/25/2025", date(2025, 3, 25)),
        ("05/05/2025", date(2025, 5, 5)),
        ("29.02.2024", date(2024, 2, 29)),
    ],
)
def test_dates(text, day):
    assert read_date(text) == day


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("03/04/2025", "can mean 3 April 2025 or 4 March 2025"),
        ("3-4-2025", "can mean"),
        ("29.02.2025", "not a day of the calendar"),
        ("31.04.2025", "not a day of the calendar"),
        ("13/13/2025", "not a day of the calendar"),
        ("01.03.25", "not a date"),
        ("March", "not a date"),
        ("2025-03-01 14:00", "not a date"),
    ],
)
def test_dates_refused(text, why):
    with pytest.raises(UnitProblem, match=why):
        read_date(text)


def test_an_ambiguous_date_says_how_to_write_it():
    (said,) = problems("Date,Ah\n03/04/2025,100\n")
    assert "row 2" in said
    assert "Write 2025-04-03 or 2025-03-04." in said


@pytest.mark.parametrize(
    ("text", "unit", "volts"),
    [
        ("3.301", "", (3.301,)),
        ("3301", "", (3.301,)),
        ("3,301", "", (3.301,)),
        ("3,301", "mv", (3.301,)),
        ("3,301", "v", (3.301,)),
        ("3301 mV", "", (3.301,)),
        ("3.301 3.298", "v", (3.301, 3.298)),
        ("3301; 3298 / 3305|3300", "mv", (3.301, 3.298, 3.305, 3.3)),
        ("3.301, 3.298 V", "", (3.301, 3.298)),
        ("3.301V 3.298V", "", (3.301, 3.298)),
        ("12.71 12.38", "", (12.71, 12.38)),
    ],
)
def test_cell_voltages(text, unit, volts):
    assert read_cell_voltages(text, unit) == pytest.approx(volts, abs=1e-12)


@pytest.mark.parametrize(("text", "unit"), [("3.301", "mv"), ("3301", "v"), ("x", ""), (";", "")])
def test_cell_voltages_refused(text, unit):
    with pytest.raises(UnitProblem):
        read_cell_voltages(text, unit)


def test_headings_and_units():
    heading = "Test date;Measured capacity;Temp (F);Discharge current;Stopped at;Cells (mV);Remarks"
    test = one("1.5.2024;210,5;68;45;22,4;3301 3298;first", heading)
    assert test == CapacityTest(
        tested_on=date(2024, 5, 1), measured_ah=210.5, temperature_degc=20.0, current_a=45.0,
        end_voltage_v=22.4, cell_voltages_v=(3.301, 3.298), note="first",
    )  # fmt: skip
    own = one("2024-05-01,210500 mAh,18 °C", "tested_on,Ah,temperature_f")
    assert own.measured_ah == pytest.approx(210.5)
    assert own.temperature_degc == 18.0
    apart = one("2024-05-01,100,3.30,3.31", "date,ah,Cell 2 (V),Cell 1 (V)")
    assert apart.cell_voltages_v == (3.31, 3.30)


def test_what_is_not_read_may_stay_empty():
    test = one("2024-05-01,100,?,n/a,", "date,ah,temp,current,cells")
    assert test == CapacityTest(tested_on=date(2024, 5, 1), measured_ah=100.0)


def test_header_lines_and_remarks():
    log = parse_log(
        '"# Candidate: Fell, 24/230",,\n# strings: 2\n# Bought: 1.3.2025\n# rated_ah: 460 Ah\n'
        "# chemistry: LiFePO4\n# warranty: 60 months\n# warranty health: 70 %\n"
        "# after dinner\n# Note: she slept\ndate,ah\n2025-03-02,450\n"
    )
    assert (log.candidate, log.strings, log.bought) == ("Fell, 24/230", 2, date(2025, 3, 1))
    assert (log.rated_ah, log.chemistry, log.warranty_years) == (460.0, "lfp", 5.0)
    assert log.warranty_health == pytest.approx(0.7)
    assert log.remarks == ("after dinner", "Note: she slept")
    assert parse_log("# old bank: yes\ndate,ah\n2025-03-02,45\n").old_bank


def test_unknown_columns_are_kept():
    log = parse_log("date,ah,Who,,other: note\n2025-03-02,45,Ilse,x,y\n")
    assert log.tests[0].other == {"Who": "Ilse", "column 4": "x", "note": "y"}
    assert log.tests[0].note == ""
    assert parse_log(log_to_csv(log)) == log


def test_every_problem_at_once():
    said = problems(
        "# candiate: x\n# strings: two\n# bought: 03/04/2025\n"
        "Date,Ah,Temp,Current,Cell 1,Cell 2\n"
        "2024-13-01,100,20,5,3.3,3.3\n2024-01-01,-4,x,5 kg,3.3,\n"
        "2024-01-02,50,500,-5,3.3,3.3,more\n"
    )
    text = "\n".join(said)
    for part in (
        "row 1: the line 'candiate: x' states nothing we know. Write '# candidate: ...'",
        "row 2, strings: is not a number",
        "row 3, bought: can mean 3 April 2025 or 4 March 2025",
        "row 5, tested_on: is not a day of the calendar",
        "row 6, measured_ah: ",
        "row 6, temperature_degc: is not a number; given 'x' under 'Temp'",
        "row 6, current_a: has the unit 'kg'",
        "row 6, cell_voltages_v: lacks cell 2",
        "row 7: has 7 cells under 6 headings",
        "row 7, temperature_degc: ",
        "row 7, current_a: ",
    ):
        assert part in text, part
    assert len(said) == 11


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("", "has no rows"),
        ("# strings: 1\n", "has no rows"),
        ("date,ah\n", "has no tests"),
        ("Who,ah\nIlse,3\n", "has no column for tested_on"),
        ("date,Who\n2024-01-01,Ilse\n", "has no column for measured_ah"),
        ("date,ah,Amps,current\n2024-01-01,1,2,3\n", "both mean current_a"),
        ("date,ah,cells,cell 1\n2024-01-01,1,3.3,3.3\n", "gives the cells twice"),
        ("date,ah\n2024-01-01,\n", "measured_ah"),
        ("date;ah\n2024-01-01;1.250\n", "can mean 1250 or 1,25"),
        (
            "# bought: 2025-01-01\ndate,ah\n2024-01-01,1\n",
            "row 3, tested_on: is 2024-01-01, before the battery was bought",
        ),
        (
            "date,ah,cells\n2024-01-01,1,3.3 3.3\n2024-02-01,1,3.3\n",
            "row 3, cell_voltages_v: is of 1 cells, that of test 1 of 2",
        ),
        ("# strings: 1\n# strings: 2\ndate,ah\n2024-01-01,1\n", "given twice"),
        ("# strings: 0\ndate,ah\n2024-01-01,1\n", "strings"),
        ("# bought:\ndate,ah\n2024-01-01,1\n", "is empty"),
        ("# old bank: maybe\ndate,ah\n2024-01-01,1\n", "neither yes nor no"),
        ("# old bank: yes\n# candidate: x\ndate,ah\n2024-01-01,1\n", "old bank"),
    ],
)
def test_refusals(text, why):
    said = problems(text)
    assert len(said) == 1, said
    assert why in said[0]


TEXT = st.text(
    st.characters(codec="utf-8", exclude_categories=["Cs"], exclude_characters="\0"), max_size=30
)
WORDS = st.from_regex(r"[A-Za-z][A-Za-z ,;\"']{0,20}", fullmatch=True)
AMOUNT = st.floats(0.01, 1e5)
VOLTS = st.floats(0.5, 15.0)


@st.composite
def logs(draw):
    cells = draw(st.integers(0, 4))
    tests = draw(
        st.lists(
            st.builds(
                CapacityTest,
                tested_on=st.dates(date(2000, 1, 1), date(2060, 1, 1)),
                measured_ah=AMOUNT,
                temperature_degc=st.none() | st.floats(-60, 100),
                current_a=st.none() | AMOUNT,
                end_voltage_v=st.none() | VOLTS,
                cell_voltages_v=st.tuples(*[VOLTS] * cells),
                note=TEXT,
                other=st.dictionaries(WORDS, TEXT, max_size=2),
            ),
            min_size=1,
            max_size=4,
        )
    )
    return CapacityLog(
        candidate=draw(st.none() | WORDS),
        strings=draw(st.none() | st.integers(1, 9)),
        bought=draw(st.none() | st.just(date(2000, 1, 1))),
        rated_ah=draw(st.none() | AMOUNT),
        chemistry=draw(st.none() | st.sampled_from(["lfp", "sodium-ion"])),
        warranty_years=draw(st.none() | st.floats(0, 20)),
        warranty_health=draw(st.none() | st.floats(0.1, 1)),
        remarks=tuple(draw(st.lists(WORDS, max_size=2))),
        tests=tuple(tests),
    )


@given(log=logs())
@settings(max_examples=150, deadline=None)
def test_written_and_read_again_it_is_the_same(log):
    assert parse_log(log_to_csv(log)) == log


@pytest.mark.parametrize("name", ["otterbank_log.csv", "otterbank_old_log.csv"])
def test_demo_logs_read_and_round_trip(name, tmp_path):
    log = read_log(DEMO / name)
    assert len(log.tests) >= 3
    assert all(test.cell_voltages_v for test in log.tests)
    (tmp_path / name).write_text(log_to_csv(log), encoding="utf-8")
    assert read_log(tmp_path / name) == log


def test_files_that_cannot_be_used(tmp_path):
    with pytest.raises(CaseError, match="no such file"):
        read_log(tmp_path / "missing.csv")


@given(
    text=st.lists(
        st.sampled_from(
            [
                *"#:,;\n\t\"'%",
                "date",
                "ah",
                "cell 1",
                "(mV)",
                "3.3",
                "2024-01-01",
                "bought",
                "5/5",
                " ",
            ]
        ),
        max_size=40,
    ).map("".join)
    | TEXT
)
@settings(max_examples=200, deadline=None)
def test_any_text_is_read_or_refused_in_words(text):
    try:
        log = parse_log(text)
    except CaseError as error:
        said = error.problems
    else:
        said = ("read",) if parse_log(log_to_csv(log)) == log else ()
    assert said
