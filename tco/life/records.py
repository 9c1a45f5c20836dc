"""What the hourly kernel works on: an hour, a bank, a result, the tables and the rules."""

from typing import Any, NamedTuple

import numpy as np

from tco.physics.arrays import FloatArray

HOUR = np.dtype(
    [
        ("essential_w", np.float64),
        ("other_w", np.float64),
        ("solar_w", np.float64),
        ("engine_w", np.float64),
        ("shore_w", np.float64),
        ("generator_w", np.float64),
        ("space_degc", np.float64),
        ("month", np.int32),
        ("laid_up", np.int32),
    ],
    align=True,
)
"""What every bank meets in one hour; see `tco.life.conditions.Conditions`."""

OPEN_HOUR = np.dtype(
    [
        ("open_w", np.float64),
        ("spare_w", np.float64),
        ("solar_w", np.float64),
        ("engine_w", np.float64),
        ("shore_w", np.float64),
        ("generator_w", np.float64),
        ("space_degc", np.float64),
        ("ceiling", np.float64),
        ("essential_w", np.float64),
        ("other_w", np.float64),
        ("month", np.int32),
        ("laid_up", np.int32),
    ],
    align=True,
)
"""An hour after solar, engine and shore have served what they can, the same for every bank.

`open_w` is the load still to be served; `solar_w`, `engine_w` and `shore_w` what they have left,
`spare_w` their sum; `ceiling` the state of charge at which charging stops in use.
"""

BANK = np.dtype(
    [
        (name, np.float64)
        for name in (
            "energy_wh",
            "depth",
            "nominal_v",
            "resistance_ohm",
            "discharge_w",
            "charge_w",
            "coulombic",
            "taper_from",
            "self_discharge_per_hour",
            "charge_min_degc",
            "charge_max_degc",
            "discharge_min_degc",
            "discharge_max_degc",
            "heater_w",
            "heat_capacity_wh_per_k",
            "conductance_w_per_k",
            "peukert",
            "rated_current_a",
            "cold_slow_share",
            "cycle_rate_slope",
            "cycle_rate_offset",
            "sulphates",
            "grows_in_store",
        )
    ],
    align=True,
)
"""One bank at one health: what the kernel needs of it. `sulphates` is 1 for lead-acid,
`grows_in_store` 1 where the growth of its resistance is to be summed, else 0."""

RESULT = np.dtype(
    [
        (name, np.float64)
        for name in (
            "needed_wh",
            "delivered_wh",
            "from_bank_wh",
            "unserved_wh",
            "unserved_essential_wh",
            "hours_any_load_short",
            "hours_without_power",
            "unserved_days",
            "longest_gap_hours",
            "solar_wh",
            "engine_wh",
            "shore_wh",
            "generator_wh",
            "solar_lost_wh",
            "solar_locked_out_wh",
            "locked_out_hours",
            "too_cold_hours",
            "heater_wh",
            "laid_up_solar_locked_out_wh",
            "laid_up_locked_out_hours",
            "laid_up_too_cold_hours",
            "laid_up_heater_wh",
            "drained_wh",
            "loss_wh",
            "store_change_wh",
            "full_cycles",
            "days_not_full",
            "calendar_stress",
            "cycle_stress",
            "resistance_growth",
            "mean_c_rate",
            "lowest_charge",
            "mean_charge",
            "coldest_degc",
            "coldest_offered_degc",
            "mean_degc",
        )
    ],
    align=True,
)
"""Totals over all simulated years (extremes and means where the name says so).

`hours_without_power` are those in which essential loads go short, `hours_any_load_short` those in
which any load does. Both are weighted by the share of the energy wanted that is missing: half an
hour in the dark is half an hour. `resistance_growth`: share of the new resistance that time
alone adds in a lithium iron phosphate cell (`tco.life.growth`). `unserved_days`: see `Rules`.
`longest_gap_hours` counts clock hours on end without power.

Locked out are hours in which a bank with room was offered charge and too cold or too hot for it;
`too_cold_hours` are the cold ones of them, and `coldest_offered_degc` how cold the bank was at
worst when it had room and was offered charge: its highest charging temperature if that never came.
These hours, the solar lost by it and the heater's energy are of the months in use; what goes on
while the system is laid up, when hardly anybody misses it, stands apart as `laid_up_*`.
"""

BOUGHT = ("engine_wh", "shore_wh", "generator_wh")
"""Totals of energy that was paid for."""


def bought_wh(totals: Any) -> Any:
    """Energy that was paid for, of totals by the names of RESULT: a number or an array. [Wh]"""
    return sum(totals[name] for name in BOUGHT)


PART = np.dtype(
    [
        ("first", np.int64),
        ("last", np.int64),
        ("charge", np.float64),
        ("degc", np.float64),
        ("generator_on", np.float64),
    ],
    align=True,
)
"""Hours `first` to `last` (excluded) to be run, and how banks begin them: state of charge,
temperature, and 1 where the generator runs. A charge below 0: as the last month of all hours leaves
them, which is run as a warm-up."""


class Tables(NamedTuple):
    """What temperature, state of charge and depth do to a pack; one row per different pack.

    `capacity` (fraction of capacity), `resistance` (factor) and `calendar` (stress per hour) by
    temperature, columns from -60 to +80 degC; `voltage` (open-circuit volts over nominal) and
    `storage` (factor on calendar stress) over state of charge 0..1; `cycle` (stress per full
    cycle equivalent) over depth 0..1.
    """

    capacity: FloatArray
    resistance: FloatArray
    calendar: FloatArray
    voltage: FloatArray
    storage: FloatArray
    cycle: FloatArray


NO_CEILING: FloatArray = np.ones(12)


class Rules(NamedTuple):
    """When the generator runs, as shares of the usable energy, how full a bank may be, and more.

    A day on which essential loads are short for `lost_day_hours` or more is lost, a shorter outage
    takes its share of a day. `storage_charge` is the state of charge of a laid-up bank,
    `storage_charge_lead` of one of lead-acid; `ceiling` the one at which charging stops in each
    month of use. `sulphation`: see `tco.physics.lead_acid.SULPHATION`. `heat_laid_up`: heaters of
    laid-up packs stay on. `surface_share`: conductance of the packs' surface with insulation over
    that without (`tco.physics.heat.insulated_share`).
    """

    generator_start: float
    generator_stop: float
    storage_charge: float
    lost_day_hours: float
    ceiling: FloatArray = NO_CEILING
    storage_charge_lead: float = 1.0
    sulphation: float = 0.0
    heat_laid_up: bool = True
    surface_share: float = 1.0


class Open(NamedTuple):
    """Hours after the sources have served the loads, and the totals of that.

    `hours`: records of `OPEN_HOUR`. `needed_wh` of the loads; `solar_wh`, `engine_wh` and
    `shore_wh` of it served by each.
    """

    hours: Any
    needed_wh: float
    solar_wh: float
    engine_wh: float
    shore_wh: float
