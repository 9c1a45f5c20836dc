"""The energy budget: what the loads take from the battery, by month and time of day.

Everything is on the DC side: the inverter's losses and idle draw are in it.
"""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from tco.case import Case, Load, System
from tco.case.times import hours_of_window
from tco.physics.arrays import FloatArray


@dataclass(frozen=True)
class EnergyBudget:
    """Mean power by month (rows, January first) and hour of the day (columns). [W]

    `essential_w` and `other_w` are what is wanted while somebody is there, `away_w` what runs on
    when nobody is (all of it taken as essential). `daily_wh` is the energy of a day with
    somebody there, by month; in months in which the system is laid up, that of the away loads.
    """

    essential_w: FloatArray
    other_w: FloatArray
    away_w: FloatArray
    daily_wh: FloatArray

    @property
    def worst_month(self) -> int:
        """Index (0 to 11) of the month that needs most energy a day."""
        return int(np.argmax(self.daily_wh))


def energy_budget(case: Case) -> EnergyBudget:
    """Energy budget of a case.

    A load's hours are spread evenly over its window, so a cell of the table is the mean power
    over many such days. The inverter idles for the share of the hour in which a load behind it
    runs, all day where it is always on; that draw is essential while an essential load runs.
    """
    essential = _mean_power(case.system, [load for load in case.loads if load.essential])
    other = _mean_power(case.system, [load for load in case.loads if not load.essential])
    away = _mean_power(case.system, [load for load in case.loads if load.also_when_away])
    inverter = case.system.inverter
    if inverter is not None:
        behind = [load for load in case.loads if load.via == "inverter"]
        needed = [load for load in behind if load.essential]
        always = inverter.always_on
        idle = inverter.idle_w * _on_share(behind, always=always)
        essential_idle = inverter.idle_w * _on_share(
            needed, always=always and (bool(needed) or not behind)
        )
        essential = essential + essential_idle
        other = other + (idle - essential_idle)
        unattended = [load for load in behind if load.also_when_away]
        if unattended:
            away = away + inverter.idle_w * _on_share(unattended, always=inverter.always_on)
    daily = (essential + other).sum(axis=1)
    for month in range(12):
        if month + 1 not in case.use.months_in_use:
            daily[month] = away[month].sum()
    return EnergyBudget(essential_w=essential, other_w=other, away_w=away, daily_wh=daily)


def _running_share(load: Load) -> FloatArray:
    """Pieces of a load that run, on average, by month and hour."""
    window = np.array(hours_of_window(load.when))
    by_hour = load.quantity * load.hours_per_day * window / window.sum()
    months = np.zeros(12)
    months[[month - 1 for month in load.months]] = 1.0
    return np.outer(months, by_hour)


def _mean_power(system: System, loads: Iterable[Load]) -> FloatArray:
    power = np.zeros((12, 24))
    for load in loads:
        power += (
            _running_share(load) * load.watts(system.nominal_voltage_v) / _efficiency(system, load)
        )
    return power


def _on_share(loads: Iterable[Load], *, always: bool) -> FloatArray:
    if always:
        return np.ones((12, 24))
    share = np.zeros((12, 24))
    for load in loads:
        share += _running_share(load)
    return np.minimum(share, 1.0)


def _efficiency(system: System, load: Load) -> float:
    if load.via == "dc" or system.inverter is None or load.current_a is not None:
        return 1.0  # a current is given at the battery's side
    return system.inverter.efficiency


@dataclass(frozen=True)
class PeakDemand:
    """The hardest the bank is worked, at its terminals. [W]

    `loads_w` and `loads_surge_w`: the loads that may run at one time, and with the worst of them
    starting. `inverter_w` and `inverter_surge_w`: the inverter at its rating beside the direct
    loads of that hour. `names` are the loads of the hour with most power, `starting` the load
    whose start makes the worst surge. `over_inverter_w` is what the loads behind the inverter want
    beyond its rating. At the inverter's output: `behind_w` the loads (`behind_names`) that may run
    together behind it, `behind_surge_w` with the worst of them starting; neither is cut off at
    the rating. `direct_w`: the direct loads that may run together.
    """

    loads_w: float
    loads_surge_w: float
    inverter_w: float
    inverter_surge_w: float
    names: tuple[str, ...]
    starting: str
    over_inverter_w: float
    behind_w: float = 0.0
    behind_surge_w: float = 0.0
    behind_names: tuple[str, ...] = ()
    direct_w: float = 0.0


def surge_w(case: Case, demand: PeakDemand) -> float:
    """Power of the worst surge at the bank's terminals, in the case's way of counting loads. [W]"""
    if case.assumptions.current_to_carry == "loads at once":
        return demand.loads_surge_w
    return max(demand.loads_surge_w, demand.inverter_surge_w)


def peak_demand(case: Case) -> PeakDemand:
    """Find the hardest hour: every load whose window and month cover it may run then.

    In months in which the system is laid up only the loads that run `also_when_away` do.
    """
    worst = PeakDemand(0.0, 0.0, 0.0, 0.0, (), "", 0.0)
    windows = [hours_of_window(load.when) for load in case.loads]
    together = {
        tuple(
            n
            for n, (load, window) in enumerate(zip(case.loads, windows, strict=True))
            if month in load.months
            and (month in case.use.months_in_use or load.also_when_away)
            and load.hours_per_day > 0
            and window[hour] > 0
        )
        for month in range(1, 13)
        for hour in range(24)
    }
    for running in sorted(together):
        worst = _harder(worst, _hour_demand(case.system, [case.loads[n] for n in running]))
    return worst


def _hour_demand(system: System, running: list[Load]) -> PeakDemand:
    volts = float(system.nominal_voltage_v)
    inverter = system.inverter
    direct = behind = step_direct = step_behind = 0.0
    start_direct = start_behind = ""
    for load in running:
        watts = load.watts(volts)
        through_inverter = load.via == "inverter" and inverter is not None
        if through_inverter and inverter is not None and load.current_a is not None:
            watts *= inverter.efficiency  # a current is given at the battery's side
        together = watts * (load.at_once or load.quantity)
        step = max((load.surge_w or watts) - watts, 0.0)
        if through_inverter:
            behind += together
            if step > step_behind:
                step_behind, start_behind = step, load.name
        else:
            direct += together
            if step > step_direct:
                step_direct, start_direct = step, load.name
    names = tuple(load.name for load in running)
    if inverter is None:
        return PeakDemand(
            direct, direct + step_direct, 0.0, 0.0, names, start_direct, 0.0, direct_w=direct
        )

    def through(output_w: float) -> float:
        return output_w / inverter.efficiency

    carried = min(behind, inverter.continuous_w)
    surge = min(behind + step_behind, inverter.surge_rating_w)
    one_behind_starts = direct + through(surge)
    one_direct_starts = direct + step_direct + through(carried)
    return PeakDemand(
        loads_w=direct + through(carried),
        loads_surge_w=max(one_behind_starts, one_direct_starts),
        inverter_w=direct + through(inverter.continuous_w),
        inverter_surge_w=direct + through(inverter.surge_rating_w),
        names=names,
        starting=start_behind if one_behind_starts >= one_direct_starts else start_direct,
        over_inverter_w=max(0.0, behind - inverter.continuous_w),
        behind_w=behind,
        behind_surge_w=behind + step_behind,
        behind_names=tuple(load.name for load in running if load.via == "inverter"),
        direct_w=direct,
    )


def _harder(a: PeakDemand, b: PeakDemand) -> PeakDemand:
    """Worst of two hours, each number by itself; names go with the number they explain."""
    return PeakDemand(
        loads_w=max(a.loads_w, b.loads_w),
        loads_surge_w=max(a.loads_surge_w, b.loads_surge_w),
        inverter_w=max(a.inverter_w, b.inverter_w),
        inverter_surge_w=max(a.inverter_surge_w, b.inverter_surge_w),
        names=b.names if b.loads_w > a.loads_w else a.names,
        starting=b.starting if b.loads_surge_w > a.loads_surge_w else a.starting,
        over_inverter_w=max(a.over_inverter_w, b.over_inverter_w),
        behind_w=max(a.behind_w, b.behind_w),
        behind_surge_w=max(a.behind_surge_w, b.behind_surge_w),
        behind_names=b.behind_names if b.behind_w > a.behind_w else a.behind_names,
        direct_w=max(a.direct_w, b.direct_w),
    )


def capacity_needed_wh(
    daily_wh: float,
    *,
    autonomy_days: float,
    usable_depth: float,
    temperature_factor: float = 1.0,
    rate_factor: float = 1.0,
    health: float = 1.0,
) -> float:
    """Nominal capacity that gives the asked autonomy with no charging at all. [Wh]

    energy x autonomy / (depth x temperature factor x rate factor x health): the usual hand
    calculation for stand-alone systems (IEEE 1013 sizes this way; steps from memory).

    Raises
    ------
    ValueError
        When a factor is not above zero.
    """
    product = usable_depth * temperature_factor * rate_factor * health
    if min(usable_depth, temperature_factor, rate_factor, health) <= 0:
        raise ValueError("depth, temperature factor, rate factor and health must be above zero")
    return daily_wh * autonomy_days / product
