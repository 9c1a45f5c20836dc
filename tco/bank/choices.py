"""What is tried: every arrangement of every candidate, and what a ceiling leaves out."""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import count
from typing import Literal

from tco.bank.arrangements import Arrangement, arranged, meets_voltage, packs_in_series
from tco.bank.blocks import (
    MOST_IN_A_GROUP,
    block_dimensions_mm,
    built,
    rows_possible,
    suitable_units,
    variant_of,
)
from tco.bank.budget import EnergyBudget, capacity_needed_wh
from tco.bank.fit.space import fit_in_spaces
from tco.case import Candidate, Case, Pack, specify
from tco.case.candidate import is_bare_cell
from tco.case.management_unit import ManagementUnit
from tco.physics.chemistry import CHEMISTRIES, Chemistry

Ceiling = Literal["max_packs", "max_parallel"]


@dataclass(frozen=True)
class LeftOut:
    """Larger banks of a candidate that were not tried, for a ceiling that is nobody's requirement.

    `ceiling`: `assumptions.max_packs`, or the strings in parallel that are assumed to be allowed
    where the maker states no limit (`max_parallel`). `at`: its number.
    """

    candidate: str
    ceiling: Ceiling
    at: int


@dataclass(frozen=True)
class Tried:
    """The arrangements of a case, and what a ceiling leaves out of them."""

    arrangements: tuple[Arrangement, ...]
    left_out: tuple[LeftOut, ...]


def arrangements(case: Case, budget: EnergyBudget) -> tuple[Arrangement, ...]:
    """Every arrangement of every candidate worth looking at; see `tried`."""
    return tried(case, budget).arrangements


def tried(case: Case, budget: EnergyBudget) -> Tried:
    """Every arrangement of every candidate worth looking at, and what a ceiling leaves out.

    S is the number in series that meets the system voltage; P runs up to the maker's limits on
    strings and on packs together, to `assumptions.max_packs`, and no further than the first bank
    that holds `largest_bank_over_need` times the energy needed. A candidate that cannot meet the
    voltage, the maker's series limit or `max_packs` still gives one arrangement, so that the
    reason can be shown.

    Bare cells are built into blocks (`tco.bank.blocks`) of one cell to a group and of more, with
    every management unit that serves them, each block alone and in strings side by side; the
    ceiling counts blocks, not cells.
    """
    found: list[Arrangement] = []
    left_out: dict[tuple[str, Ceiling], LeftOut] = {}
    for candidate in case.candidates:
        need_wh = _plain_need_wh(case, budget, CHEMISTRIES[candidate.chemistry])
        enough_wh = case.assumptions.largest_bank_over_need * need_wh
        grow = _of_cells if is_bare_cell(candidate) else _of_packs
        for one in grow(case, candidate, enough_wh):
            if isinstance(one, Arrangement):
                found.append(one)
            elif enough_wh > 0.0:
                left_out[one.candidate, one.ceiling] = one
    return Tried(tuple(found), tuple(left_out.values()))


def again(case: Case, arrangement: Arrangement) -> Arrangement:
    """The same arrangement under a case in which prices or claims may have changed.

    Raises
    ------
    LookupError
        Where the case has no candidate of its name, or no management unit of its block's.
    """
    name, block = arrangement.pack.name, arrangement.pack.block
    candidate = next((c for c in case.candidates if c.name == name), None)
    if candidate is None:
        raise LookupError(f"the case has no candidate called {name!r}")
    if block is None:
        return arranged(case, specify(candidate), arrangement.series, arrangement.parallel)
    unit = block.unit
    if unit is not None:
        wanted = unit.name
        unit = next((u for u in case.management_units if u.name == wanted), None)
        if unit is None:
            raise LookupError(f"the case has no management unit called {wanted!r}")
    pack = built(
        candidate, case.prices, series=block.series, parallel=block.parallel, rows=block.rows,
        unit=unit, variant=block.variant,
    )  # fmt: skip
    return arranged(case, pack, arrangement.series, arrangement.parallel)


def _of_packs(
    case: Case, candidate: Candidate, enough_wh: float
) -> Iterator[Arrangement | LeftOut]:
    pack = specify(candidate)
    series = packs_in_series(pack, case.system.nominal_voltage_v)
    buildable = series <= pack.max_series and meets_voltage(
        series * pack.nominal_voltage_v, case.system.nominal_voltage_v
    )
    if not buildable:
        yield arranged(case, pack, series, 1)
        return
    most = min(_strings_allowed(pack, series), case.assumptions.max_packs // series)
    for parallel in count(1):
        arrangement = arranged(case, pack, series, parallel)
        yield arrangement
        if 0.0 < enough_wh <= arrangement.usable_wh:
            return
        if parallel >= most:
            yield from _ceiling(case, arrangement)
            return


def _of_cells(
    case: Case, candidate: Candidate, enough_wh: float
) -> Iterator[Arrangement | LeftOut]:
    cell = specify(candidate)
    series = packs_in_series(cell, case.system.nominal_voltage_v)
    stated = candidate.max_parallel
    largest = MOST_IN_A_GROUP if stated is None else min(stated, MOST_IN_A_GROUP)
    if candidate.max_packs is not None:
        largest = min(largest, max(1, candidate.max_packs // series))
    units = suitable_units(case, cell, series)
    for unit in units:
        variant = variant_of(unit, len(units))
        for group in range(1, largest + 1):
            for last in _blocks(case, candidate, series, group, unit, variant):
                yield last
                if 0.0 < enough_wh <= last.usable_wh:
                    break
            else:
                if group == largest:
                    yield from _ceiling(case, last)
                continue
            if last.packs == 1:  # a larger group makes a larger block still
                break


def _ceiling(case: Case, last: Arrangement) -> Iterator[LeftOut]:
    """What keeps a larger bank than the last one from being tried, where it could still pass."""
    pack, mass_limit, most = last.pack, case.system.mass_limit_kg, case.assumptions.max_packs
    too_heavy = mass_limit is not None and last.mass_kg >= mass_limit
    if too_heavy or not _may_fit(case, last):
        return
    allowed = _strings_allowed(pack, last.series)
    if most // last.series < allowed:
        yield LeftOut(pack.name, "max_packs", most)
    elif "max_parallel" in pack.assumed and allowed == pack.max_parallel:
        at = pack.max_parallel if pack.block is None else pack.max_parallel * pack.block.parallel
        yield LeftOut(pack.name, "max_parallel", at)


def _strings_allowed(pack: Pack, series: int) -> int:
    """Strings side by side that the maker's limits, on strings and on packs together, allow."""
    together = pack.max_packs
    return pack.max_parallel if together is None else min(pack.max_parallel, together // series)


def _blocks(
    case: Case,
    candidate: Candidate,
    series: int,
    group: int,
    unit: ManagementUnit | None,
    variant: str,
) -> Iterator[Arrangement]:
    """One block, then strings of it; blocks whose cells stand alike are one pack."""
    packs: dict[int, Pack] = {}

    def block(rows: int) -> Pack:
        if rows not in packs:
            packs[rows] = built(
                candidate, case.prices, series=series, parallel=group, rows=rows, unit=unit,
                variant=variant,
            )  # fmt: skip
        return packs[rows]

    ways = _tightest_first(candidate, series, group)
    most = min(_strings_allowed(block(ways[0]), 1), case.assumptions.max_packs)
    for strings in range(1, max(1, most) + 1):
        tries = (arranged(case, block(rows), 1, strings) for rows in ways)
        fitting = (one for one in tries if _may_fit(case, one))
        yield next(fitting, arranged(case, block(ways[0]), 1, strings))


def _may_fit(case: Case, arrangement: Arrangement) -> bool:
    fit = fit_in_spaces(case, arrangement)
    return fit is None or fit.fits


def _tightest_first(candidate: Candidate, series: int, group: int) -> tuple[int, ...]:
    """Numbers of rows, that of the block of least volume first, of equals the squarest."""
    cell_mm = specify(candidate).dimensions_mm
    possible, cells = rows_possible(series), series * group
    if cell_mm is None:
        return possible[:1]

    def room(rows: int) -> tuple[float, float]:
        width, depth, height = block_dimensions_mm(cell_mm, cells=cells, rows=rows)
        return width * depth * height, abs(width - depth)

    return tuple(sorted(possible, key=room))


def _plain_need_wh(case: Case, budget: EnergyBudget, chemistry: Chemistry) -> float:
    """Usable energy, new, for the asked autonomy in the worst month when worn. [Wh]"""
    return capacity_needed_wh(
        float(budget.daily_wh.max()),
        autonomy_days=max(case.assumptions.autonomy_days, 1.0),
        usable_depth=1.0,
        health=case.assumptions.end_of_life_of(chemistry),
    )
