"""Screening: every hard requirement checked on an arrangement, with margin and reason.

A check that fails rules the arrangement out, and says why; it stays in every table. A caution
passes, with something the user has to know or do. Unknown means that the datasheet does not say.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

import numpy as np

from tco.bank.arrangements import (
    HIGHEST_VOLTAGE_RATIO,
    LOWEST_VOLTAGE_RATIO,
    Arrangement,
    meets_voltage,
)
from tco.bank.budget import EnergyBudget, PeakDemand
from tco.bank.fit import FitResult, fit
from tco.bank.fit_models import Box, Compartment
from tco.bank.wiring import CannotWire, Wiring
from tco.case import Case
from tco.case.quantities import MONTHS
from tco.case.system import Orientation
from tco.case.use import Solar
from tco.physics.heat import space_temperature_degc
from tco.physics.lead_acid import peukert_capacity_factor

Verdict = Literal["pass", "caution", "fail", "unknown"]

ONE_PERSON_LIFT_KG = 25.0
"""Mass above which a pack is no lift for one person. From memory, the lower guideline figures
of national lifting guidance are about 25 kg at waist height; less at arm's length."""

CHARGING_OVER_NOMINAL = 1.07
"""Mean charging voltage over nominal (12.8 V of 12 V): common practice, no source."""


@dataclass(frozen=True)
class Check:
    """One requirement. `margin` is in `unit`; above zero there is room, below it is short.

    `value` and `limit` are None where a check has no number.
    """

    requirement: str
    value: float | None
    limit: float | None
    unit: str
    margin: float | None
    verdict: Verdict
    reason: str


@dataclass(frozen=True)
class Screening:
    """All checks of one arrangement, and where its packs would stand (None: not known)."""

    checks: tuple[Check, ...]
    fit: FitResult | None

    @property
    def feasible(self) -> bool:
        """No check fails."""
        return all(check.verdict != "fail" for check in self.checks)

    @property
    def verified(self) -> bool:
        """Feasible, and nothing left unknown."""
        return all(check.verdict in ("pass", "caution") for check in self.checks)

    def failures(self) -> tuple[Check, ...]:
        """The checks that rule the arrangement out."""
        return tuple(check for check in self.checks if check.verdict == "fail")


def required_current_a(case: Case, demand: PeakDemand) -> float:
    """Continuous current the bank must carry, at the inverter's cut-off voltage. [A]"""
    return _required_w(case, demand) / case.system.cutoff_voltage_v


def _required_w(case: Case, demand: PeakDemand) -> float:
    if case.assumptions.current_to_carry == "loads at once":
        return demand.loads_w
    return max(demand.loads_w, demand.inverter_w)


def coldest_warmth(case: Case) -> float:
    """Warmth share of the coldest battery space: packs in it decide for the bank."""
    return min(space.warmth_share for space in case.system.spaces)


def screen(
    case: Case,
    arrangement: Arrangement,
    *,
    budget: EnergyBudget,
    demand: PeakDemand,
    wiring: Wiring | CannotWire,
) -> Screening:
    """Check every requirement of the case on one arrangement."""
    fit_result = _fit(case, arrangement)
    checks = [
        _voltage(case, arrangement),
        _energy(case, arrangement, budget),
        _space(case, arrangement, fit_result),
        _mass(case, arrangement),
        _lifting(arrangement),
        _continuous(case, arrangement, demand),
        _surge(case, arrangement, demand),
        *_charging(case, arrangement),
        _cold(case, arrangement),
        *_profiles(case, arrangement),
        *_features(case, arrangement),
        _protection(wiring),
    ]
    return Screening(checks=tuple(checks), fit=fit_result)


def _limit_check(
    requirement: str,
    value: float,
    limit: float,
    unit: str,
    *,
    at_least: bool,
    good: str,
    bad: str,
) -> Check:
    margin = value - limit if at_least else limit - value
    fails = margin < -1e-9
    return Check(
        requirement, value, limit, unit, margin, "fail" if fails else "pass", bad if fails else good
    )


def _voltage(case: Case, arrangement: Arrangement) -> Check:
    bank, system = arrangement.nominal_voltage_v, case.system.nominal_voltage_v
    pack = arrangement.pack
    if not meets_voltage(bank, system):
        reason = (
            f"{arrangement.series} in series give {bank:g} V; a {system} V system takes "
            f"{LOWEST_VOLTAGE_RATIO * system:.1f} to {HIGHEST_VOLTAGE_RATIO * system:.1f} V"
        )
        verdict: Verdict = "fail"
    elif arrangement.series > pack.max_series:
        reason = (
            f"needs {arrangement.series} in series, the maker allows {pack.max_series}"
            if "max_series" not in pack.assumed
            else f"needs {arrangement.series} in series, {pack.max_series} assumed allowed"
        )
        verdict = "fail"
    else:
        reason, verdict = f"{bank:g} V suits a {system} V system", "pass"
    nearest = min(
        max(bank, LOWEST_VOLTAGE_RATIO * system), HIGHEST_VOLTAGE_RATIO * system
    )
    return Check(
        "voltage", bank, float(system), "V", -abs(bank - nearest) if bank != nearest else 0.0,
        verdict, reason,
    )  # fmt: skip


def usable_cold_wh(
    case: Case, arrangement: Arrangement, temperature_degc: float, load_w: float, *, health: float
) -> float:
    """Energy a bank of a given health gives from full at a temperature and a mean load. [Wh]

    Depth x capacity at that temperature x rate factor (Peukert, lead-acid) x health.
    """
    pack = arrangement.pack
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
    cold = float(pack.chemistry.capacity_fraction(temperature_degc))
    return arrangement.usable_wh * cold * rate * health


def design_temperature_degc(case: Case, month: int) -> float:
    """Temperature at which a month's energy is judged: between its mean and mean minimum. [degC]

    A bank takes hours to follow the air, so that it sees neither the night's minimum nor, in a
    cold spell, the monthly mean. Common practice, no source.
    """
    climate, use = case.climate, case.use
    outdoor = (climate.mean_degc[month] + climate.min_degc[month]) / 2.0
    return float(
        space_temperature_degc(
            outdoor,
            living_degc=use.living_degc,
            warmth=coldest_warmth(case),
            occupied=month + 1 in use.months_in_use,
        )
    )


def _energy(case: Case, arrangement: Arrangement, budget: EnergyBudget) -> Check:
    days, health = case.assumptions.autonomy_days, case.assumptions.end_of_life_health
    worst = None
    for month in range(12):
        need = float(budget.daily_wh[month]) * days
        degc = design_temperature_degc(case, month)
        has = usable_cold_wh(
            case, arrangement, degc, float(budget.daily_wh[month]) / 24.0, health=health
        )
        if worst is None or has - need < worst[0] - worst[1]:
            worst = (has, need, month, degc)
    assert worst is not None
    has, need, month, degc = (worst[0] / 1000.0, worst[1] / 1000.0, worst[2], worst[3])
    basis = f"{days:g} days without charging in {MONTHS[month]} at {degc:.0f} degC"
    return _limit_check(
        "energy in the worst month, worn",
        has,
        need,
        "kWh",
        at_least=True,
        good=f"holds {has:.2f} kWh at {health:.0%} health; {basis} need {need:.2f}",
        bad=f"holds only {has:.2f} kWh at {health:.0%} health; {basis} need {need:.2f}",
    )


def _fit(case: Case, arrangement: Arrangement) -> FitResult | None:
    dimensions = arrangement.pack.dimensions_mm
    if dimensions is None:
        return None
    compartments = tuple(
        Compartment(
            name=space.name,
            width_mm=space.width_mm,
            depth_mm=space.depth_mm,
            height_mm=space.height_mm,
            opening_a_mm=space.opening_width_mm,
            opening_b_mm=space.opening_height_mm,
            opening_side=space.opening_side,
            clearance_side_mm=space.clearance_side_mm,
            clearance_between_mm=space.clearance_between_mm,
            clearance_top_mm=space.clearance_top_mm,
            stacking=space.stacking,
        )
        for space in case.system.spaces
    )
    return fit(Box(*dimensions), arrangement.packs, compartments, orientations=_poses(case, arrangement))


def _poses(case: Case, arrangement: Arrangement) -> tuple[Orientation, ...]:
    """Orientations that both every space and the maker allow (upright where he says nothing)."""
    allowed_by_maker = arrangement.pack.orientations or ("upright",)
    in_spaces = {pose for space in case.system.spaces for pose in space.orientations}
    both = tuple(pose for pose in allowed_by_maker if pose in in_spaces)
    return both or ("upright",)


def _space(case: Case, arrangement: Arrangement, result: FitResult | None) -> Check:
    if result is None:
        return Check(
            "space", None, None, "mm", None, "unknown",
            "the dimensions are not stated; ask for them before buying",
        )  # fmt: skip
    short = result.shortfall_mm
    if result.fits:
        return Check("space", 0.0, 0.0, "mm", 0.0, "pass", result.reason)
    margin = None if short is None else -short
    return Check("space", short, 0.0, "mm", margin, "fail", result.reason)


def _mass(case: Case, arrangement: Arrangement) -> Check:
    mass, limit = arrangement.mass_kg, case.system.mass_limit_kg
    guess = " (mass assumed)" if "mass_kg" in arrangement.pack.assumed else ""
    if limit is None:
        return Check("mass", mass, None, "kg", None, "pass", f"{mass:.0f} kg, no limit set{guess}")
    return _limit_check(
        "mass",
        mass,
        limit,
        "kg",
        at_least=False,
        good=f"{mass:.0f} kg of the {limit:g} kg allowed{guess}",
        bad=f"{mass:.0f} kg is {mass - limit:.0f} kg more than allowed{guess}",
    )


def _lifting(arrangement: Arrangement) -> Check:
    one = arrangement.pack.mass_kg
    margin = ONE_PERSON_LIFT_KG - one
    if margin >= 0:
        reason, verdict = f"{one:.0f} kg a pack", "pass"
    else:
        reason = (
            f"each pack weighs {one:.0f} kg: no lift for one person; use two people or a hoist, "
            "and follow your local lifting guidance"
        )
        verdict = "caution"
    return Check(
        "lifting one pack", one, ONE_PERSON_LIFT_KG, "kg", margin,
        "pass" if verdict == "pass" else "caution", reason,
    )  # fmt: skip


def _continuous(case: Case, arrangement: Arrangement, demand: PeakDemand) -> Check:
    cutoff = case.system.cutoff_voltage_v
    can = arrangement.parallel * arrangement.pack.continuous_discharge_a
    must = required_current_a(case, demand)
    whole = demand.inverter_w > demand.loads_w and (
        case.assumptions.current_to_carry == "inverter rating"
    )
    what = (
        "the inverter at its rating and the direct loads"
        if whole
        else f"loads that may run together ({', '.join(demand.names)})"
    )
    return _limit_check(
        "continuous current",
        can,
        must,
        "A",
        at_least=True,
        good=f"carries {can:.0f} A; {what} draw {must:.0f} A at {cutoff:g} V",
        bad=f"carries only {can:.0f} A; {what} draw {must:.0f} A at {cutoff:g} V",
    )


def _surge(case: Case, arrangement: Arrangement, demand: PeakDemand) -> Check:
    cutoff = case.system.cutoff_voltage_v
    can = arrangement.parallel * arrangement.pack.peak_discharge_a
    rating = case.assumptions.current_to_carry == "inverter rating"
    watts = max(demand.loads_surge_w, demand.inverter_surge_w if rating else 0.0)
    must = watts / cutoff
    whole = rating and demand.inverter_surge_w >= demand.loads_surge_w
    what = "the inverter's surge" if whole else f"{demand.starting or 'the loads'} starting"
    return _limit_check(
        "surge current",
        can,
        must,
        "A",
        at_least=True,
        good=f"peaks at {can:.0f} A; {what} takes {must:.0f} A at {cutoff:g} V",
        bad=f"peaks at only {can:.0f} A; {what} takes {must:.0f} A at {cutoff:g} V",
    )


def charger_current_a(case: Case, charger: object) -> float:
    """Current one source can push into the bank. [A]"""
    if isinstance(charger, Solar):
        volts = case.system.nominal_voltage_v * CHARGING_OVER_NOMINAL
        return min(charger.controller_a, charger.peak_w * charger.efficiency / volts)
    return float(charger.rating_a)  # type: ignore[attr-defined]


def _charging(case: Case, arrangement: Arrangement) -> Iterable[Check]:
    can = arrangement.parallel * arrangement.pack.continuous_charge_a
    for charger in case.sources.chargers():
        must = charger_current_a(case, charger)
        check = _limit_check(
            f"charge current, {charger.name}",
            can,
            must,
            "A",
            at_least=True,
            good=f"the bank takes {can:.0f} A; at most {must:.0f} A come from {charger.name}",
            bad=f"the bank takes only {can:.0f} A; up to {must:.0f} A come from {charger.name}",
        )
        if check.verdict == "fail" and (charger.current_adjustable or isinstance(charger, Solar)):
            check = Check(
                check.requirement, can, must, "A", check.margin, "caution",
                f"{check.reason}; turn its current down to {can:.0f} A",
            )  # fmt: skip
        yield check


def coldest_charging_degc(case: Case) -> tuple[float, int]:
    """Coldest mean daily minimum in the battery's space in months of use, and the month (0..11).

    With nobody there for part of the month the living space is taken as unheated.
    """
    coldest, at = np.inf, 0
    for month in (m - 1 for m in case.use.months_in_use):
        degc = float(
            space_temperature_degc(
                case.climate.min_degc[month],
                living_degc=case.use.living_degc,
                warmth=coldest_warmth(case),
                occupied=case.use.days_away_per_month[month] == 0,
            )
        )
        if degc < coldest:
            coldest, at = degc, month
    return coldest, at


def _cold(case: Case, arrangement: Arrangement) -> Check:
    pack = arrangement.pack
    coldest, month = coldest_charging_degc(case)
    limit = pack.charge_min_degc
    margin = coldest - limit
    where = f"the space falls to {coldest:.1f} degC on a usual night in {MONTHS[month]}"
    verdict: Verdict
    if margin >= 0:
        verdict, reason = "pass", f"{where}; the maker allows charging from {limit:g} degC"
    elif pack.heater_w > 0:
        verdict, reason = (
            "pass",
            f"{where}, below the maker's {limit:g} degC for charging; its heater "
            f"({pack.heater_w:g} W a pack) warms it first",
        )
    elif pack.low_temperature_cutoff:
        verdict, reason = (
            "caution",
            f"{where}; the pack refuses charge below {limit:g} degC, so cold hours of charging "
            "are lost",
        )
    else:
        verdict, reason = (
            "fail",
            f"{where}, below the maker's {limit:g} degC for charging, and the pack has neither "
            "heater nor low-temperature cut-off: charging it then can damage it and is a hazard; "
            "keep to the maker's limit",
        )
    return Check("charging in the cold", coldest, limit, "degC", margin, verdict, reason)


def charger_suits(charger: object, arrangement: Arrangement) -> bool:
    """Whether a charger has a profile for the chemistry, or can be set to one."""
    chemistry = arrangement.pack.chemistry
    profiles = {str(p).lower() for p in charger.profiles}  # type: ignore[attr-defined]
    return bool(
        charger.adjustable  # type: ignore[attr-defined]
        or chemistry.key in profiles
        or chemistry.family in profiles
    )


def chargers_to_replace(
    case: Case, arrangement: Arrangement
) -> tuple[tuple[str, float], ...]:
    """Name and replacement price of each charger that has no profile for the pack."""
    return tuple(
        (charger.name, charger.replacement_price)
        for charger in case.sources.chargers()
        if charger.replacement_price is not None and not charger_suits(charger, arrangement)
    )


def _profiles(case: Case, arrangement: Arrangement) -> Iterable[Check]:
    chemistry = arrangement.pack.chemistry
    volts = arrangement.pack.cells_in_series * arrangement.series * chemistry.absorption_v
    for charger in case.sources.chargers():
        if charger_suits(charger, arrangement):
            verdict: Verdict = "pass"
            reason = f"{charger.name} can charge {chemistry.key} (about {volts:.1f} V)"
            if charger.adjustable and chemistry.family not in charger.profiles:
                reason += "; set it by the maker's figures"
        elif charger.replacement_price is not None:
            verdict = "caution"
            reason = (
                f"{charger.name} has no {chemistry.family} profile: it is replaced, "
                f"{case.prices.currency}{charger.replacement_price:,.0f} in the ledger"
            )
        else:
            verdict = "fail"
            reason = (
                f"{charger.name} has no {chemistry.family} profile (has "
                f"{', '.join(charger.profiles)}) and no replacement price is given"
            )
        yield Check(f"charge profile, {charger.name}", None, None, "", None, verdict, reason)


_FEATURES = (
    ("cell_voltages_visible", "per-cell voltages"),
    ("charge_display", "state-of-charge display"),
    ("low_temperature_cutoff", "low-temperature cut-off"),
)


def _features(case: Case, arrangement: Arrangement) -> Iterable[Check]:
    pack = arrangement.pack
    for field, words in _FEATURES:
        if not getattr(case.system.required, field):
            continue
        if field == "low_temperature_cutoff" and pack.chemistry.family == "lead":
            yield Check(words, None, None, "", None, "pass", "lead-acid needs none")
            continue
        has = bool(getattr(pack, field))
        verdict: Verdict = "pass" if has else "unknown" if field in pack.assumed else "fail"
        reason = {
            "pass": f"has {words}",
            "unknown": f"{words} required, the datasheet does not mention it",
            "fail": f"{words} required, the pack has none",
        }[verdict]
        yield Check(words, None, None, "", None, verdict, reason)


def _protection(wiring: Wiring | CannotWire) -> Check:
    if isinstance(wiring, CannotWire):
        return Check("cables and fuses", None, None, "A", None, "fail", str(wiring))
    fuse, short = wiring.main_fuse, wiring.short_circuit_a
    return Check(
        "cables and fuses",
        fuse.interrupt_a,
        short,
        "A",
        fuse.interrupt_a - short,
        "pass",
        f"main fuse {fuse.fuse_class.name} {fuse.rating_a:g} A interrupts "
        f"{fuse.interrupt_a:,.0f} A; a dead short could draw {short:,.0f} A",
    )



def judge_year(
    screening: Screening,
    *,
    hours_without_power: float,
    longest_gap_hours: float,
    locked_out_hours: float,
    tolerated_hours: float,
) -> Screening:
    """Add what the simulated year says: the hand calculation does not have the last word.

    Fails where a new bank leaves essential loads without power for more than the tolerated hours
    of a mean year.
    """
    cold = (
        f"; charging was locked out by cold or heat in {locked_out_hours:.0f} h"
        if locked_out_hours >= 1.0
        else ""
    )
    if hours_without_power < 1.0:
        words = f"no essential load goes short in a simulated year{cold}"
    else:
        words = (
            f"essential loads go short in {hours_without_power:.0f} h of a simulated year, "
            f"at worst {longest_gap_hours:.0f} h on end{cold}"
        )
    check = _limit_check(
        "hours without power, simulated",
        hours_without_power,
        tolerated_hours,
        "h/year",
        at_least=False,
        good=words,
        bad=f"{words}; {tolerated_hours:g} h are tolerated",
    )
    return Screening(checks=(*screening.checks, check), fit=screening.fit)
