"""What a stage remembers is what it would give anew, whatever of the case is changed."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import Any
from unittest import mock

import pytest

from tco import pipeline
from tco.bank.arrangements import Arrangement
from tco.bank.bank import Bank
from tco.case import Candidate, Case, CaseError, read_case, specify
from tco.case.management_unit import ManagementUnit
from tco.case.parts import FUSE_BLOCK
from tco.compare import Comparison, compare
from tco.life import runs
from tco.memo import Memo
from tests.forgetting import forget_all

DEMO = Path(__file__).parents[1] / "candidates_demo"
WHOLE = {"system", "loads", "sources", "use", "climate"}
"""Sections that are in the keys of the stages as they are."""

ELSEWHERE = {"weather_file", "candidates_file"}
"""Names of files: another one needs to be there."""

STATED = (0.5, 0.03, 2, 40.0, 300.0, -3.0, True, False, "2027-01-01", "evening", [1, 2, 3])
"""Tried, one after the other, where a field is empty, until one is allowed."""


CELL = Candidate(
    name="Cell 280", chemistry="lfp", nominal_voltage_v=3.2, capacity_ah=280.0, mass_kg=5.4,
    internal_resistance_mohm=0.5, max_parallel=1, price=70.0,
)  # fmt: skip
UNIT = ManagementUnit(
    name="Warden", fewest_cells=4, most_cells=16, continuous_discharge_a=150.0,
    peak_discharge_a=300.0, continuous_charge_a=90.0, price=150.0, there=1,
)  # fmt: skip


@contextmanager
def nothing_remembered() -> Iterator[None]:
    with (
        mock.patch.object(pipeline, "_NEEDS", Memo(0)),
        mock.patch.object(pipeline, "_WIRINGS", Memo(0)),
        mock.patch.object(runs, "_REMEMBERED", runs._Remembered()),
    ):
        yield


def small(name: str) -> Case:
    """A demo case with two candidates and a bare cell, one weather year and few packs."""
    case = read_case(DEMO / f"{name}.toml")
    assumptions = case.assumptions.model_copy(
        update={"weather_years": 1, "max_packs": 2, "horizon_years": 4.0}
    )
    kept = case.candidates[:2]
    names = {candidate.name for candidate in kept}
    about = {
        part: tuple(row for row in getattr(case, part) if row.candidate in names)
        for part in ("evidence", "marks", "warranties")
    }
    return case.model_copy(
        update={
            "assumptions": assumptions,
            "candidates": (*kept, CELL),
            "management_units": (UNIT,),
            **about,
        }
    )


def leaves(value: Any, path: tuple[Any, ...] = ()) -> Iterator[tuple[tuple[Any, ...], Any]]:
    """Every single value of nested mappings and lists, of a list of numbers only the first."""
    if isinstance(value, dict):
        for key, inside in value.items():
            yield from leaves(inside, (*path, key))
    elif isinstance(value, list | tuple) and value:
        rows = value if isinstance(value[0], dict) else value[:1]
        for place, inside in enumerate(rows):
            yield from leaves(inside, (*path, place))
    else:
        yield path, value


def others(value: Any) -> Iterator[Any]:
    """Values near another, as far as can be guessed."""
    if isinstance(value, bool):
        yield not value
    elif isinstance(value, int | float):
        yield from (value * 3, value * 0.3, value + 1, value - 1)
    elif value is None or isinstance(value, str | list | tuple):
        yield from STATED


def changed(case: Case, path: tuple[Any, ...], value: Any) -> Case | None:
    """The case with one value changed; None where it may not be."""
    section, *inner = path
    held = getattr(case, section)
    rows = isinstance(held, tuple)
    part = held[inner.pop(0)] if rows else held
    if not inner:  # a word about the whole case
        return case.model_copy(update={section: str(value)}) if isinstance(held, str) else None
    data = part.model_dump(mode="json")
    inside: Any = data
    for step in inner[:-1]:
        inside = inside[step]
    inside[inner[-1]] = value
    try:
        made = type(part).model_validate(data)
    except (ValueError, CaseError):
        return None
    all_rows = tuple(made if one is part else one for one in held) if rows else made
    return case.model_copy(update={section: all_rows})


def told(comparison: Comparison) -> list[Any]:
    """All a comparison says in figures and words, but what is worked out when asked for."""
    return [
        (
            r.arrangement.label, r.screening.checks, r.wiring and r.wiring.bill,
            r.year, r.life.first_life_years, r.ledger, r.measures,
        )
        for r in comparison.results
    ]  # fmt: skip


@pytest.mark.slow
def test_a_stage_knows_all_it_reads() -> None:
    """Every single field changed, after the unchanged case: as when nothing is remembered."""
    case = small("otterbank")
    before = told(compare(case))
    tried = different = 0
    for path, value in leaves(case.model_dump(mode="json")):
        if path[0] in WHOLE or path[-1] in ELSEWHERE:
            continue
        allowed = [made for x in others(value) if (made := changed(case, path, x)) is not None]
        for edited in allowed[:2]:
            with nothing_remembered():
                fresh = told(compare(edited))
            assert told(compare(edited)) == fresh, path
            tried += 1
            different += fresh != before
    assert tried > 150
    assert different > 100


def test_a_memo_forgets_what_was_not_asked_for_longest() -> None:
    memo: Memo[str] = Memo(2)
    made: list[str] = []

    def of(key: str) -> str:
        return memo.of(key, lambda: made.append(key) or key.upper())

    assert [of("a"), of("b"), of("a"), of("c"), of("a")] == ["A", "B", "A", "C", "A"]
    assert made == ["a", "b", "c"]
    of("b")
    assert made == ["a", "b", "c", "b"]
    none: Memo[int] = Memo(0)
    assert [none.of("key", iter([n]).__next__) for n in (1, 2)] == [1, 2]


def edited(case: Case, section: str, **changes: Any) -> Case:
    """The case with fields of a section changed, of a list in its first row."""
    held = getattr(case, section)
    rows = isinstance(held, tuple)
    part = (held[0] if rows else held).model_copy(update=changes)
    return case.model_copy(update={section: (part, *held[1:]) if rows else part})


def edits(case: Case) -> dict[str, Case]:
    """One edit of each part of the case that need or wiring may read."""
    solar = case.sources.solar[0]
    return {
        "system": edited(case, "system", cable_run_m=case.system.cable_run_m + 0.5),
        "sources": edited(
            case, "sources", solar=(solar.model_copy(update={"peak_w": solar.peak_w + 90.0}),)
        ),
        "loads": edited(case, "loads", hours_per_day=1.5),
        "use": edited(case, "use", months_in_use=(6, 7)),
        "climate": edited(case, "climate", mean_degc=(12.0,) * 12),
        "prices": edited(case, "prices", labour_per_hour=99.0),
        "critical drop": edited(case, "assumptions", critical_drop=0.021),
        "lost day": edited(case, "assumptions", lost_day_hours=7.0),
        "seed": edited(case, "assumptions", seed=case.assumptions.seed + 1),
        "candidate": edited(case, "candidates", internal_resistance_mohm=7.7),
        "price": edited(case, "candidates", price=123.0),
    }


def test_what_need_and_wiring_read_is_in_what_they_are_remembered_by(
    plain_case: Callable[..., Case],
) -> None:
    case = plain_case()
    forget_all()
    before = pipeline.need_of(case)
    assert pipeline.need_of(case.model_copy(deep=True)) is before

    def wire(made: Case, need: pipeline.Need) -> Bank:
        return pipeline.wire_all(made, need, [Arrangement(specify(made.candidates[0]), 1, 2)])[0]

    bank = wire(case, before)
    assert wire(case, before).wiring is bank.wiring
    asked = {"system", "sources", "loads", "use", "climate", "lost day", "seed"}
    wired = {"system", "sources", "prices", "critical drop", "candidate"}
    more = replace(before, current_a=before.current_a + 30.0)
    assert wire(case, more).wiring is not bank.wiring
    for part, made in edits(case).items():
        assert (pipeline.need_of(made) is before) == (part not in asked), part
        bank = wire(case, before)
        again = wire(made, before)
        if part in wired:
            assert again.wiring is not bank.wiring, part
        assert again.arrangement.pack.price == made.candidates[0].price
    with mock.patch.object(pipeline, "file_stamp", return_value="another"):
        assert pipeline.need_of(case) is not before  # the weather file was written anew


def test_parts_of_a_branch_are_judged_anew_where_its_loads_change(
    plain_case: Callable[..., Case],
) -> None:
    """The need is the same: another appliance may be the one that asks most of the bank."""
    fuse = {
        "name": "fuse", "kind": "branch fuse", "branch": FUSE_BLOCK, "fuse_class": "blade",
        "rating_a": 10.0,
    }  # fmt: skip
    case = plain_case(system={"parts": [fuse]})
    forget_all()
    need = pipeline.need_of(case)

    def why(made: Case) -> str:
        arrangement = Arrangement(specify(made.candidates[0]), 1, 1)
        (bank,) = pipeline.wire_all(made, need, [arrangement])
        assert bank.wiring is not None
        return str(bank.wiring.parts[0].reason)

    before = why(case)
    assert "carries 8 A for long; 19 A are needed" in why(edited(case, "loads", power_w=200.0))
    assert why(case) == before
