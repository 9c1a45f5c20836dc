"""Screening: every hard requirement checked on an arrangement, with margin and reason.

A check that fails rules the arrangement out, and says why; it stays in every table. A caution
passes, with something the user has to know or do. Unknown means that the datasheet does not say.
"""

from collections.abc import Iterable, Mapping
from dataclasses import replace

from tco.bank.arrangements import (
    HIGHEST_VOLTAGE_RATIO,
    LOWEST_VOLTAGE_RATIO,
    Arrangement,
    meets_voltage,
)
from tco.bank.bank import Bank
from tco.bank.budget import EnergyBudget, PeakDemand, surge_w
from tco.bank.checks.alternators import check_alternators
from tco.bank.checks.cells import cells_in_series, cells_together, check_cells
from tco.bank.checks.charging import check_currents, check_profiles
from tco.bank.checks.check import REQUIREMENTS, Check, Screening, Verdict, limit_check, plain_check
from tco.bank.checks.cold import check_charging, check_discharging
from tco.bank.checks.gas import check_ventilation
from tco.bank.checks.management import check_management
from tco.bank.checks.space import check_fuse_room, check_space
from tco.bank.checks.surge import check_surge_voltage
from tco.bank.checks.voltages import check_charging_voltage, check_cutoff
from tco.bank.cold import design_temperature_degc
from tco.bank.fit.space import compartments, fit_in_spaces
from tco.bank.wiring.external_management import Wanted, wanted_parts
from tco.bank.wiring.sizing import cable_basis
from tco.case import Case
from tco.case.times import MONTHS
from tco.physics.lead_acid import peukert_capacity_factor
from tco.sentences import degc, kg, says

ONE_PERSON_LIFT_KG = 25.0
"""Mass above which a pack is no lift for one person: the figure of HSE's guidance (INDG143) for a
man, at waist height and close to the body. From memory."""
HATCH_LIFT_KG = 15.0
"""The same through a hatch, leant over it: the figure at waist height and arm's length. From
memory."""
HOIST_KG = 50.0
"""Mass from which two people are not enough either. Common practice: twice what one may lift."""


def required_current_a(case: Case, demand: PeakDemand) -> float:
    """Continuous current the bank must carry, at the inverter's cut-off voltage. [A]"""
    return _required_w(case, demand) / case.system.cutoff_voltage_v


def _required_w(case: Case, demand: PeakDemand) -> float:
    if case.assumptions.current_to_carry == "loads at once":
        return demand.loads_w
    return max(demand.loads_w, demand.inverter_w)


def screen(case: Case, bank: Bank, *, budget: EnergyBudget, demand: PeakDemand) -> Screening:
    """Check every requirement of the case on one bank, but those of its years (`judge_year`)."""
    arrangement, unevenness = bank.arrangement, bank.unevenness
    bend_mm = bank.wiring.circuit.bend_radius_mm if bank.wiring is not None else 0.0
    fit_result = fit_in_spaces(case, arrangement, bend_radius_mm=bend_mm)
    checks = [
        _voltage(case, arrangement),
        *check_charging_voltage(case, arrangement),
        *check_cutoff(case, bank, hardest_a=required_current_a(case, demand)),
        _in_series(arrangement),
        _packs(case, arrangement),
        _energy(case, arrangement, budget),
        check_space(fit_result, spread=bank.spread, system=case.system),
        *check_fuse_room(
            fit_result,
            compartments(case, bend_radius_mm=bend_mm),
            strings=arrangement.parallel,
            busbars=case.system.take_off == "busbars",
        ),
        _mass(case, arrangement),
        _lifting(case, arrangement),
        _continuous(case, arrangement, demand, unevenness),
        _surge(case, arrangement, demand, unevenness),
        *check_surge_voltage(case, bank, demand),
        *_inverter(case, demand),
        *check_currents(case, arrangement, unevenness),
        check_discharging(case, arrangement),
        *check_profiles(case, arrangement),
        *_features(case, arrangement),
        *check_management(arrangement, _external(case, bank)),
        *check_cells(arrangement),
        *check_alternators(case, arrangement),
        *check_ventilation(case, arrangement),
        _protection(case, bank),
    ]
    return Screening(checks=tuple(checks), fit=fit_result)


def _external(case: Case, bank: Bank) -> tuple[Wanted, ...] | None:
    if bank.wiring is None:
        return None
    return wanted_parts(case, bank.arrangement, bank.wiring.parts)


def _voltage(case: Case, arrangement: Arrangement) -> Check:
    bank, system = arrangement.nominal_voltage_v, case.system.nominal_voltage_v
    low, high = LOWEST_VOLTAGE_RATIO * system, HIGHEST_VOLTAGE_RATIO * system
    if meets_voltage(bank, system):
        reason, verdict = f"{bank:g} V suits a {system} V system", "pass"
    else:
        reason = (
            f"{arrangement.series} in series give {bank:g} V; a {system} V system takes "
            f"{low:.1f} to {high:.1f} V"
        )
        verdict = "fail"
    room_below, room_above = bank - low, high - bank
    return Check(
        "voltage",
        bank,
        low if room_below < room_above else high,
        "V",
        min(room_below, room_above),
        "pass" if verdict == "pass" else "fail",
        reason,
    )


def _in_series(arrangement: Arrangement) -> Check:
    series, most = arrangement.series, arrangement.pack.max_series
    block = arrangement.pack.block
    if block is not None:
        return cells_in_series(block)
    says = "assumed allowed" if "max_series" in arrangement.pack.assumed else "the maker's limit"
    return limit_check(
        "packs_in_series",
        float(series),
        float(most),
        "packs",
        at_least=False,
        good=f"{series} in series; {most} {says}",
        bad=f"needs {series} in series; {most} {says}",
    )


def _packs(case: Case, arrangement: Arrangement) -> Check:
    """Check the number of packs against what the owner would keep and what the maker allows."""
    packs, most = arrangement.packs, case.assumptions.max_packs
    by_maker = arrangement.pack.max_packs
    said = "you would keep at most"
    if by_maker is not None and by_maker < most:
        block = arrangement.pack.block
        if block is not None and block.most_together is not None:
            return cells_together(arrangement, block.most_together)
        most, said = by_maker, "the maker allows in one bank"
    return limit_check(
        "number_of_packs",
        float(packs),
        float(most),
        "packs",
        at_least=False,
        good=f"{packs} of the {most} packs {said}",
        bad=f"needs {packs} packs, more than the {most} {said}",
    )


def usable_cold_wh(
    case: Case, arrangement: Arrangement, temperature_degc: float, load_w: float, *, health: float
) -> float:
    """Energy a bank of a given health gives from full at a temperature and a mean load. [Wh]

    The smaller of its depth, which is of the whole capacity, and of what cold (at the load's rate)
    and current (Peukert, lead-acid) leave of that; times health.
    """
    pack, whole_wh = arrangement.pack, arrangement.energy_wh * health
    rate = 1.0
    if pack.chemistry.peukert_exponent.value > 1.0 and load_w > 0:
        rate = float(
            peukert_capacity_factor(
                load_w / arrangement.nominal_voltage_v / arrangement.parallel,
                capacity_ah=pack.capacity_ah,
                rated_hours=pack.chemistry.rated_hours,
                exponent=pack.chemistry.peukert_exponent.value,
            )
        )
    cold = pack.chemistry.capacity_fraction_at_rate(temperature_degc, load_w / whole_wh)
    return min(arrangement.usable_depth, cold * rate) * whole_wh


def _energy(case: Case, arrangement: Arrangement, budget: EnergyBudget) -> Check:
    days = case.assumptions.autonomy_days
    health = case.assumptions.end_of_life_of(arrangement.pack.chemistry)
    worst = None
    for month in range(12):
        need = float(budget.daily_wh[month]) * days
        at = design_temperature_degc(case, month)
        has = usable_cold_wh(
            case, arrangement, at, float(budget.daily_wh[month]) / 24.0, health=health
        )
        if worst is None or has - need < worst[0] - worst[1]:
            worst = (has, need, month, at)
    assert worst is not None
    has, need, month, coldness = (worst[0] / 1000.0, worst[1] / 1000.0, worst[2], worst[3])
    basis = says(
        f" kWh at {health:.0%} health; {days:g} days without charging in {MONTHS[month]} at ",
        degc(coldness),
        f" need {need:.2f}",
    )
    return limit_check(
        "energy",
        has,
        need,
        "kWh",
        at_least=True,
        good=says(f"holds {has:.2f}", basis),
        bad=says(f"holds only {has:.2f}", basis),
    )


def _mass(case: Case, arrangement: Arrangement) -> Check:
    mass, limit = arrangement.mass_kg, case.system.mass_limit_kg
    guess = " (mass assumed)" if "mass_kg" in arrangement.pack.assumed else ""
    if limit is None:
        reason = says(kg(mass), f", no limit set{guess}")
        return Check("mass", mass, None, "kg", None, "pass", reason)
    return limit_check(
        "mass",
        mass,
        limit,
        "kg",
        at_least=False,
        good=says(kg(mass), " of the ", kg(limit, "g"), f" allowed{guess}"),
        bad=says(kg(mass), " is ", kg(mass - limit), f" more than allowed{guess}"),
    )


def _lifting(case: Case, arrangement: Arrangement) -> Check:
    """Check that one person can set a pack: less where a space opens at the top."""
    one = arrangement.pack.mass_kg
    hatch = any(space.opening_side == "top" for space in case.system.spaces)
    limit = HATCH_LIFT_KG if hatch else ONE_PERSON_LIFT_KG
    way = "through a hatch, at arm's length" if hatch else "at waist height"
    guidance = "follow your local lifting guidance"
    verdict: Verdict = "caution"
    if one <= limit:
        verdict, reason = "pass", says(kg(one), " a pack")
    elif one > HOIST_KG:
        reason = says(
            "each pack weighs ", kg(one), ": a hoist or crane is a must, two people are not "
            f"enough; rated slings on its lifting points, nobody under it, {guidance}",
        )  # fmt: skip
    else:
        reason = says(
            "each pack weighs ", kg(one), ": no lift for one person (",
            kg(limit), f" {way}); use two people or a hoist, and {guidance}",
        )  # fmt: skip
    return Check("lifting", one, limit, "kg", limit - one, verdict, reason)


def _shared(unevenness: float) -> str:
    """What uneven sharing takes away, in words; nothing where strings share equally."""
    if unevenness < 1.005:
        return ""
    return f" (the hardest-worked string carries {unevenness:.2f} times an equal share)"


def _continuous(
    case: Case, arrangement: Arrangement, demand: PeakDemand, unevenness: float
) -> Check:
    cutoff = case.system.cutoff_voltage_v
    can = arrangement.parallel * arrangement.pack.continuous_discharge_a / unevenness
    must = required_current_a(case, demand)
    uneven = _shared(unevenness)
    whole = demand.inverter_w > demand.loads_w and (
        case.assumptions.current_to_carry == "inverter rating"
    )
    what = (
        "the inverter at its rating and the direct loads"
        if whole
        else f"loads that may run together ({', '.join(demand.names) or 'none'})"
    )
    return limit_check(
        "continuous_current",
        can,
        must,
        "A",
        at_least=True,
        good=f"carries {can:.0f} A{uneven}; {what} draw {must:.0f} A at {cutoff:g} V",
        bad=f"carries only {can:.0f} A{uneven}; {what} draw {must:.0f} A at {cutoff:g} V",
    )


def _surge(case: Case, arrangement: Arrangement, demand: PeakDemand, unevenness: float) -> Check:
    cutoff = case.system.cutoff_voltage_v
    can = arrangement.parallel * arrangement.pack.peak_discharge_a / unevenness
    rating = case.assumptions.current_to_carry == "inverter rating"
    must = surge_w(case, demand) / cutoff
    if rating and demand.inverter_surge_w > demand.loads_surge_w:
        what = "the inverter's surge beside the direct loads takes"
    elif demand.starting:
        what = f"{demand.starting} starting beside the others takes"
    else:
        what = "loads that may run together take"
    return limit_check(
        "surge_current",
        can,
        must,
        "A",
        at_least=True,
        good=f"peaks at {can:.0f} A; {what} {must:.0f} A at {cutoff:g} V",
        bad=f"peaks at only {can:.0f} A; {what} {must:.0f} A at {cutoff:g} V",
    )


def _inverter(case: Case, demand: PeakDemand) -> Iterable[Check]:
    """Whether the inverter carries what stands behind it: true of every arrangement alike."""
    inverter = case.system.inverter
    if inverter is None:
        return
    names = ", ".join(demand.behind_names)
    for key, value, limit, what in (
        ("inverter_load", demand.behind_w, inverter.continuous_w, "may run together"),
        (
            "inverter_start",
            demand.behind_surge_w,
            inverter.surge_rating_w,
            "may run together, one of them starting",
        ),
    ):
        numbers = f"{value:.0f} W {what} ({names or 'none'}); the inverter carries {limit:.0f} W"
        yield limit_check(
            key,
            value,
            limit,
            "W",
            at_least=False,
            good=numbers,
            bad=f"{numbers}: do not run them all at once, or it switches off",
            short="caution",
        )


_FEATURES = ("cell_voltages_visible", "charge_display", "low_temperature_cutoff")
"""Fields of a pack that a case may require, which are the keys of their checks."""


def _features(case: Case, arrangement: Arrangement) -> Iterable[Check]:
    pack = arrangement.pack
    for field in _FEATURES:
        words = REQUIREMENTS[field]
        if not getattr(case.system.required, field):
            continue
        if field == "low_temperature_cutoff" and not pack.chemistry.cold_charge_cutoff:
            yield plain_check(field, "pass", f"{pack.chemistry.family_name} needs none")
            continue
        has = bool(getattr(pack, field))
        verdict: Verdict = "pass" if has else "unknown" if field in pack.assumed else "fail"
        reason = {
            "pass": f"has {words}",
            "unknown": f"{words} required, the datasheet does not mention it",
            "fail": f"{words} required, the pack has none",
        }[verdict]
        yield plain_check(field, verdict, reason)


def _protection(case: Case, bank: Bank) -> Check:
    if bank.wiring is None:
        return Check("wiring", None, None, "A", None, "fail", bank.why_not)
    fuse, short = bank.wiring.main_fuse, bank.wiring.short_circuit_a
    return Check(
        "wiring",
        fuse.interrupt_a,
        short,
        "A",
        fuse.interrupt_a - short,
        "pass",
        says(
            f"main fuse {fuse.name} interrupts "
            f"{fuse.interrupt_a:,.0f} A; a dead short could draw {short:,.0f} A (",
            bank.wiring.circuit.source.words,
            "); ",
            cable_basis(case),
        ),
    )


def judge_year(
    case: Case,
    screening: Screening,
    arrangement: Arrangement,
    year: Mapping[str, float],
    *,
    coldest_space_degc: float,
) -> Screening:
    """Add what the simulated years say of a new bank, in the order of `REQUIREMENTS`.

    `year`: totals of a mean year, by the names of `tco.life.records.RESULT`. `coldest_space_degc`:
    of the battery's space while a source offers power.
    """
    cold = check_charging(case, arrangement, year, coldest_space_degc=coldest_space_degc)
    added = (cold, _power(case, year))
    order = list(REQUIREMENTS)
    checks = sorted((*screening.checks, *added), key=lambda check: order.index(check.key))
    return replace(screening, checks=tuple(checks))


def _power(case: Case, year: Mapping[str, float]) -> Check:
    """The hand calculation does not have the last word.

    Fails where a new bank leaves essential loads without power for more than the tolerated hours
    of a mean year.
    """
    hours, locked_out = year["hours_without_power"], year["locked_out_hours"]
    tolerated = case.assumptions.tolerated_hours_without_power
    cold = (
        f"; charging was locked out by cold or heat in {locked_out:.0f} h"
        if locked_out >= 1.0
        else ""
    )
    if hours <= 0.0:
        words = f"no essential load goes short in a simulated year{cold}"
    else:
        words = (
            f"essential loads go short in {hours:.{0 if hours >= 10.0 else 1}f} h of a simulated "
            f"year, at worst {year['longest_gap_hours']:.0f} h on end{cold}"
        )
    return limit_check(
        "hours_without_power",
        hours,
        tolerated,
        "h/year",
        at_least=False,
        good=words,
        bad=f"{words}; {tolerated:g} h are tolerated",
    )
