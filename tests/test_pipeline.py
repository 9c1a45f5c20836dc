"""What a stage remembers is what it would give anew, whatever of the case is changed."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any
from unittest import mock

from tco import pipeline
from tco.case import Case, CaseError, read_case
from tco.compare import Comparison, compare
from tco.life import runs
from tco.memo import Memo

DEMO = Path(__file__).parents[1] / "candidates_demo"
WHOLE = {"system", "loads", "sources", "use", "climate"}
"""Sections that are in the keys of the stages as they are."""

ELSEWHERE = {"weather_file", "candidates_file"}
"""Names of files: another one needs to be there."""

STATED = (0.5, 0.03, 2, 40.0, 300.0, -3.0, True, False, "2027-01-01", "evening", [1, 2, 3])
"""Tried, one after the other, where a field is empty, until one is allowed."""


@contextmanager
def nothing_remembered() -> Iterator[None]:
    with (
        mock.patch.object(pipeline, "_NEEDS", Memo(0)),
        mock.patch.object(pipeline, "_WIRINGS", Memo(0)),
        mock.patch.object(runs, "_REMEMBERED", runs._Remembered()),
    ):
        yield


def small(name: str) -> Case:
    """A demo case with two candidates, one weather year and few packs."""
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
    return case.model_copy(update={"assumptions": assumptions, "candidates": kept, **about})


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
