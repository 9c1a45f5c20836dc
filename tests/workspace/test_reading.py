"""A case with mistakes in it goes on, and says without what."""

import random
from pathlib import Path

import pytest

from tco.case import read_case
from tco.case.toml import case_to_mapping
from tco.workspace.document import document_of, rows
from tco.workspace.edits import Document, Edit, Step, now, same
from tco.workspace.journal import row_of
from tco.workspace.reading import last_good, read

ROOT = Path(__file__).resolve().parents[2]
DEMOS = ("otterbank", "larch_hut", "coldharbour")
DOCUMENTS = {
    name: document_of(case_to_mapping(read_case(ROOT / "candidates_demo" / f"{name}.toml")))
    for name in DEMOS
}
BASE: Document = DOCUMENTS["otterbank"]
FIRST = rows(BASE, ("candidates",))[0]


def test_a_candidate_with_a_mistake_is_left_out_with_what_is_said_of_it() -> None:
    whole = read(BASE, BASE).case
    for row in rows(BASE, ("candidates",)):
        reading = read({**BASE, ("candidates", row, "capacity_ah"): "plenty"}, BASE)
        (mistake,) = reading.mistakes
        assert mistake.path == ("candidates", row, "capacity_ah")
        assert mistake.instead == "left out"
        name = BASE[("candidates", row, "name")]
        assert [c.name for c in reading.case.candidates] == [
            c.name for c in whole.candidates if c.name != name
        ]
        assert name not in {r.candidate for r in reading.case.evidence}


def test_elsewhere_the_value_before_holds() -> None:
    load = rows(BASE, ("loads",))[0]
    typed = {
        ("assumptions", "horizon_years"): "ten or so",
        ("loads", load, "power_w"): "-50",
        ("climate", "mean_degc", "03"): "warm",
        ("system", "cable_run_m"): "-3",
    }
    reading = read({**BASE, **typed}, BASE)
    assert {m.path for m in reading.mistakes} == set(typed)
    assert {m.instead for m in reading.mistakes} == {"as before"}
    assert reading.case == read(BASE, BASE).case


def test_a_new_row_that_is_not_complete_is_left_out() -> None:
    document = {**BASE, ("loads", "#new"): 99.0, ("loads", "#new", "name"): "kettle"}
    reading = read(document, BASE)
    assert len(reading.case.loads) == len(rows(BASE, ("loads",)))
    assert all(m.instead == "left out" for m in reading.mistakes)


def test_a_row_loaded_twice_freezes_nothing() -> None:
    copy = {(p[0], "#twice", *p[2:]): v for p, v in BASE.items() if p[:2] == ("candidates", FIRST)}
    reading = read({**BASE, **copy, ("candidates", "#twice"): 99.0}, BASE)
    (mistake,) = reading.mistakes
    assert mistake.path == ("candidates", "#twice", "name")
    assert mistake.instead == "left out"
    assert reading.case == read(BASE, BASE).case


def test_both_of_two_fields_that_do_not_go_together_can_be_as_before() -> None:
    changed = {**BASE, ("system", "inverter", "surge_w"): 100.0}
    reading = read(changed, BASE)
    assert reading.case == read(BASE, BASE).case
    assert reading.mistakes[0].instead == "as before"


def test_without_an_inverter_its_loads_are_told_one_by_one() -> None:
    document = {p: v for p, v in BASE.items() if p[:2] != ("system", "inverter")}
    reading = read(document, BASE)
    via = {p[1]: v for p, v in BASE.items() if p[0] == "loads" and p[2:] == ("via",)}
    behind = [row for row, value in via.items() if value == "inverter"]
    assert {m.path[1] for m in reading.mistakes} == set(behind)


@pytest.mark.parametrize("name", DEMOS)
def test_whatever_is_typed_there_is_a_case(name: str) -> None:
    """Any cells emptied or filled with nonsense: the rest is read, and every mistake is told."""
    base = DOCUMENTS[name]
    random.seed(3)
    paths = [path for path in base if path not in ((), ("units",)) and not path[-1].startswith("#")]
    junk = ["lots", "-1", "1e99", "", None, "nan", "0", 7.0, "12 parsecs", [], {}, True]
    for _ in range(150):
        typed = {p: random.choice(junk) for p in random.sample(paths, random.randint(1, 6))}
        document = {p: v for p, v in {**base, **typed}.items() if v is not None}
        reading = read(document, base)
        assert not read(reading.good, base).mistakes
        told = {mistake.path for mistake in reading.mistakes}
        for path in {*document, *reading.good}:
            if same(document.get(path), reading.good.get(path)):
                continue
            above = {path[:n] for n in range(len(path) + 1)}
            assert told & above or row_of(path) not in reading.good, path


def test_two_months_that_clash_do_not_undo_the_rest_of_the_climate() -> None:
    typed = {
        ("climate", "min_degc", "01"): 20.0,
        ("climate", "latitude_deg"): 45.0,
        ("climate", "site"): "elsewhere",
    }
    reading = read({**BASE, **typed}, BASE)
    assert (reading.case.climate.latitude_deg, reading.case.climate.site) == (45.0, "elsewhere")
    assert reading.case.climate.min_degc[0] == BASE[("climate", "min_degc", "01")]
    assert ("climate", "min_degc", "01") in {mistake.path for mistake in reading.mistakes}


def test_the_value_before_is_found_in_the_journal() -> None:
    volts = ("system", "cable_run_m")
    steps = [
        Step((Edit(volts, BASE[volts], 5.0),), "", now(), number=1),
        Step((Edit(volts, 5.0, "24 bolts"),), "", now(), number=2),
        Step((Edit(volts, "24 bolts", "many"),), "", now(), number=3),
    ]
    last = last_good(BASE, steps, {})
    reading = read({**BASE, volts: "many"}, last)
    assert reading.case.system.cable_run_m == 5.0
    assert reading.mistakes[0].instead == "as before"
