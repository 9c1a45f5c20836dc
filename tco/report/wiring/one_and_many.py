"""One large pack beside several small: what each layout costs to wire, and what it gives.

Fewer packs have fewer joints, less resistance and heat, and less work. Several in parallel go on
with one dead, are lighter to lift, and need a smaller spare. Both stand in one row, so that
neither side is left out.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from tco.bank.wiring.sharing import loosened, with_string_out
from tco.bank.wiring.sharing_study import LOOSE_OHM
from tco.compare import Comparison
from tco.money.bank_failures import failure_effects, share_left
from tco.result import Result

RARE_PER_YEAR = 1e-6
"""Failure rate at which days per failure are taken, so that no two failures meet. Own choice."""


@dataclass(frozen=True)
class LayoutRow:
    """One layout. What the wiring says is None where it cannot be wired.

    `resistance_milliohm`, `heat_w`: cables, joints and fuses, heat at the current the case asks
    of every bank. `wiring_cost`: parts and labour without tax, `labour_hours` in it.
    `check_minutes_per_year`: torque and heat of every connection. `loose_joint_w`: heat in the
    joint that gets hottest when it has come loose (1 milliohm more).

    `share_left`: energy left with one pack dead. `dark_days_per_failure`: days with no power at
    all until the pack is there, `partial_days_per_failure` with part of it. `usable_a_string_out`:
    current that may be drawn with one string out, and whether that carries the case's current.
    `spare_price`: one pack, without tax. `failures_per_year`: of all packs together, expected.
    """

    label: str
    layout: str
    packs: int
    energy_kwh: float
    connections: int | None
    resistance_milliohm: float | None
    heat_w: float | None
    wiring_cost: float | None
    labour_hours: float | None
    check_minutes_per_year: float | None
    loose_joint_w: float | None
    heaviest_lift_kg: float
    share_left: float
    dark_days_per_failure: float
    partial_days_per_failure: float
    usable_a_string_out: float | None
    carries_on_string_out: bool | None
    spare_price: float
    failures_per_year: float


def layouts_side_by_side(
    comparison: Comparison, results: Sequence[Result]
) -> tuple[LayoutRow, ...]:
    """One row for each result, in their order."""
    return tuple(_row(comparison, result) for result in results)


def _row(comparison: Comparison, result: Result) -> LayoutRow:
    arrangement, wiring, case = result.arrangement, result.wiring, comparison.case
    pack, load_a = arrangement.pack, comparison.required_current_a
    effects = failure_effects(
        arrangement.series,
        arrangement.parallel,
        rate_per_pack_year=RARE_PER_YEAR,
        repair_days=_wait_days(comparison, result),
    )
    usable_a: float | None = None
    loose_w: float | None = None
    if wiring is not None:
        network = wiring.circuit.network
        loose_w = loosened(network, load_a, LOOSE_OHM).heat_w
        usable_a = 0.0
        if arrangement.parallel > 1:
            limits = wiring.circuit.limits(pack.continuous_discharge_a)
            usable_a = with_string_out(network, load_a, limits).usable_a
    minutes = case.prices.check_minutes_per_termination_year
    return LayoutRow(
        label=arrangement.label,
        layout=arrangement.layout,
        packs=arrangement.packs,
        energy_kwh=arrangement.energy_wh / 1000.0,
        connections=None if wiring is None else wiring.connections,
        resistance_milliohm=None if wiring is None else 1000.0 * wiring.resistance_ohm,
        heat_w=None if wiring is None else wiring.resistance_ohm * load_a**2,
        wiring_cost=None if wiring is None else wiring.cost,
        labour_hours=None if wiring is None else wiring.labour_hours,
        check_minutes_per_year=None if wiring is None else wiring.connections * minutes,
        loose_joint_w=loose_w,
        heaviest_lift_kg=pack.mass_kg,
        share_left=share_left(arrangement.series, arrangement.parallel),
        dark_days_per_failure=float(effects.dark_days_per_year / effects.failures_per_year),
        partial_days_per_failure=float(effects.partial_days_per_year / effects.failures_per_year),
        usable_a_string_out=usable_a,
        carries_on_string_out=None if usable_a is None else usable_a >= load_a * (1.0 - 1e-9),
        spare_price=pack.price,
        failures_per_year=result.failures.expected(0),
    )


def _wait_days(comparison: Comparison, result: Result) -> float:
    """Days until a new pack is there."""
    name = result.arrangement.pack.name
    stated = next((c.lead_time_days for c in comparison.case.candidates if c.name == name), None)
    return comparison.case.prices.usual_lead_time_days if stated is None else stated
