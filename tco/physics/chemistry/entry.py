"""What the entry of a chemistry says; everything the tool knows of a chemistry hangs on it.

Everything a candidate may state for itself is a `Datum` with its source, so that a value taken
from an entry can be shown as *assumed* with the reason beside it.

Sources named below
-------------------
Prada2013 : open-circuit curve of the LFP set in the PyBaMM library (Afshar 2017,
    arXiv 1709.03970; Chen 2020, J. Electrochem. Soc. 167, 080534). Another published set differs
    by 0.21 V at 10 % and under 0.07 V from 20 to 90 %.
TM 10-6140 : US Army TM 10-6140-200-14, capacity of lead-acid at 32 degF and 0 degF.
Schmalstieg 2014 : calendar ageing of an NMC cell, `tco.physics.ageing.schmalstieg_calendar_rate`.
Naumann 2018 : calendar ageing of an LFP cell, `tco.physics.ageing.naumann_calendar_rate`.
trade : common practice, no source.
memory : from memory; illustrative, and every one of them can be overridden by the candidate.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

import numpy as np

from tco.physics.ageing import naumann_calendar_rate, schmalstieg_calendar_rate
from tco.physics.arrays import FloatArray
from tco.physics.arrhenius import arrhenius_resistance
from tco.physics.cold_rate import fraction_at_share, share_held_back
from tco.physics.ventilation import Cells

Family = Literal["lithium", "sodium", "lead"]
FAMILY_NAMES: Mapping[Family, str] = {
    "lithium": "lithium",
    "sodium": "sodium-ion",
    "lead": "lead-acid",
}
"""What a family is called in a sentence."""

TRADE = "common practice, no source"
MEMORY = "from memory, illustrative"


@dataclass(frozen=True)
class Datum:
    """A default value and where it comes from."""

    value: float
    source: str


COLD_SLOW_SHARE = Datum(
    0.3, "judgement: at C/20 and slower most of the capacity is there in the cold; no source read"
)
"""See `tco.physics.cold_rate`."""


@dataclass(frozen=True)
class Chemistry:
    """Behaviour and datasheet defaults of one cell chemistry.

    Attributes
    ----------
    key, name, family
        Short key used in files, the trade's name, and the family, by which charge profiles, prices
        of disposal and failure rates are named.
    aliases
        Names shops use for it, in small letters, beside the key.
    colour, mark
        Of its points in charts; colours of Okabe and Ito, see `tco.report`. Vega names the marks.
    cell_management
        Whether its cells must be watched one by one: packs bring a management board, which takes
        the pack off its system when something is wrong.
    cold_charge_cutoff
        Whether charging it below its limit must be barred.
    plates_when_cold
        Whether metal plates out in it when charged in the cold, which harms it for good.
    temperature_compensation
        Whether its charging voltage is to fall as it warms.
    sulphates
        Whether it hardens where it stands part charged: stored full, worn by missed full charges.
    gassing
        How it gives off hydrogen in use: "vented" or "valve-regulated" (`tco.physics.ventilation`),
        or "none".
    dangerous_goods
        Whether packs are shipped as dangerous goods.
    names_system_voltage
        Whether system voltages are those of so many of its cells (24 of lead-acid are 48 V). Else
        the charging voltage says how many packs in series suit a system.
    ieee485
        Whether capacity tests are corrected for temperature by the table of IEEE Std 485, else by
        `capacity_by_temperature`.
    ieee450
        Whether IEEE Std 450 and 1188 end the service of its batteries, at 80 % of the capacity.
    second_model
        "wang": Wang 2011, tested on it, stands beside the main model of ageing; "no": none does.
    cell_voltage_v
        Nominal volts of one cell.
    open_circuit_v
        Open-circuit volts of one cell at 0, 10, ... 100 % state of charge, 25 degC.
    capacity_by_temperature
        Pairs (degC, fraction of the 25 degC capacity), ascending.
    cold_slow_share
        Share of the capacity lost in the cold that a small load loses too, see
        `tco.physics.cold_rate`.
    resistance_ohm_ah
        Direct-current resistance of one cell times its capacity, with its share of the pack's
        connections and management board, at 25 degC and mid charge. [ohm Ah]
    fault_ohm_ah
        The least that one cell with its links may have, times its capacity, at 25 degC: for
        short-circuit currents, where the value above would be the wrong side of caution.
    hard_fault
        Whether a fuse on packs of unknown resistance is to be of the classes that interrupt most.
    charge_transfer_share, charge_transfer_j_per_mol, ohmic_j_per_mol
        How resistance rises in the cold: the share that follows charge transfer, and both
        activation energies.
    taper_from_soc
        State of charge above which the charge current falls in a straight line to zero at full.
    peukert_exponent, rated_hours
        1.0 where the rate effect is carried by resistance alone.
    calendar_activation_j_per_mol, calendar_halving_k
        How temperature speeds up calendar *time*, one of the two (Naumann's own for LFP): a law
        k t^z whose k follows an activation energy E has E / z here.
    calendar_life_years, calendar_life_published
        Years in store to `end_of_life` at 25 degC and half charge; whether they are what the law
        of `ages_when_full` was published with, which then is believed whole, or only usual.
    cycle_exponent
        Exponent p of N(D) = N_ref (D / D_ref)^-p.
    ageing
        "naumann": Naumann 2018 and 2020, square root of time and of full cycles, losses added.
        "power": both losses as the power z of time and of cycles, added.
        "shorter": both in a straight line, the larger of the two counts (Spiers 1996).
    loss_exponent
        z, the power of time (and of cycles) that a loss follows.
    ages_when_full
        How the rate of calendar ageing depends on the state of charge: "naumann" as he measured
        on LFP, "schmalstieg" as he did on NMC, by open-circuit volts, "no" not at all.
    absorption_v, float_v
        Charging volts per cell, for the charge-profile check.
    specific_energy_wh_per_kg, energy_wh_per_l
        Usual energy by mass and by outside volume of whole packs.
    highest_rate_c, deepest_depth
        Continuous discharge and usable depth above which a claim is doubted; None: no depth is.
    """

    key: str
    name: str
    family: Family
    aliases: tuple[str, ...]
    colour: str
    mark: str
    cell_management: bool
    cold_charge_cutoff: bool
    plates_when_cold: bool
    temperature_compensation: bool
    sulphates: bool
    gassing: Cells | Literal["none"]
    dangerous_goods: bool
    names_system_voltage: bool
    ieee485: bool
    ieee450: bool
    second_model: Literal["wang", "no"]
    cell_voltage_v: float
    open_circuit_v: tuple[float, ...]
    capacity_by_temperature: tuple[tuple[float, float], ...]
    capacity_source: str
    cold_slow_share: Datum
    resistance_ohm_ah: Datum
    fault_ohm_ah: Datum
    hard_fault: bool
    charge_transfer_share: float
    charge_transfer_j_per_mol: float
    ohmic_j_per_mol: float
    coulombic_efficiency: Datum
    taper_from_soc: float
    peukert_exponent: Datum
    rated_hours: float
    usable_depth: Datum
    discharge_rate_c: Datum
    peak_rate_c: Datum
    charge_rate_c: Datum
    charge_min_degc: Datum
    charge_max_degc: Datum
    discharge_min_degc: Datum
    discharge_max_degc: Datum
    self_discharge_per_month: Datum
    rated_cycles: Datum
    rated_depth: Datum
    end_of_life: Datum
    calendar_life_years: Datum
    calendar_life_published: bool
    ageing: Literal["naumann", "power", "shorter"]
    loss_exponent: float
    ages_when_full: Literal["naumann", "schmalstieg", "no"]
    cycle_exponent: float
    calendar_activation_j_per_mol: float | None
    calendar_halving_k: float | None
    absorption_v: float
    float_v: float
    specific_energy_wh_per_kg: Datum
    energy_wh_per_l: Datum
    highest_rate_c: Datum
    deepest_depth: Datum | None
    specific_heat_j_per_kg_k: Datum
    max_series_voltage_v: Datum
    max_parallel: Datum

    @property
    def family_name(self) -> str:
        """What its family is called in a sentence."""
        return FAMILY_NAMES[self.family]

    def capacity_fraction_at_rate(self, temperature_degc: float, rate_c: float) -> float:
        """The same where a load draws a share of the capacity in an hour. [1/h]"""
        fraction = float(self.capacity_fraction(temperature_degc))
        share = share_held_back(rate_c, self.cold_slow_share.value)
        return fraction_at_share(fraction, share)

    def capacity_fraction(self, temperature_degc: float | FloatArray) -> float | FloatArray:
        """Fraction of the 25 degC capacity that a strong load can draw at a temperature.

        Straight lines between the points of `capacity_by_temperature`, held beyond its ends.
        """
        degc, fraction = zip(*self.capacity_by_temperature, strict=True)
        out = np.interp(temperature_degc, degc, fraction)
        return float(out) if np.ndim(temperature_degc) == 0 else out

    def resistance_factor(self, temperature_degc: float | FloatArray) -> float | FloatArray:
        """Direct-current resistance at a temperature, relative to 25 degC.

        Two Arrhenius terms: charge transfer (35 to 40 kJ/mol for LFP: Kashkooli 2017; Chen 2020)
        and the ohmic part (about 17 kJ/mol for the electrolyte).
        """
        transfer, ohmic = (
            arrhenius_resistance(temperature_degc, activation_energy_j_per_mol=energy)
            for energy in (self.charge_transfer_j_per_mol, self.ohmic_j_per_mol)
        )
        share = self.charge_transfer_share
        out = share * transfer + (1.0 - share) * ohmic
        return float(out) if np.ndim(temperature_degc) == 0 else out

    def calendar_rate_by_charge(self, charge: FloatArray) -> FloatArray:
        """Rate of calendar ageing at states of charge 0 to 1, relative to half charge, 25 degC."""
        if self.ages_when_full == "no":
            return np.ones_like(charge)
        if self.ages_when_full == "naumann":
            rate = naumann_calendar_rate(25.0, charge)
            return np.asarray(rate / naumann_calendar_rate(25.0, 0.5))
        places = np.linspace(0.0, 1.0, len(self.open_circuit_v))
        volts = np.interp(np.append(charge, 0.5), places, self.open_circuit_v)
        by_volts = schmalstieg_calendar_rate(25.0, volts)
        return np.asarray(by_volts[:-1] / by_volts[-1])
