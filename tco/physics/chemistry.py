"""Battery chemistries: what a datasheet leaves out, and how each behaves with cold and use.

One `Chemistry` per entry of `CHEMISTRIES`. Everything a candidate may state for itself is a
`Datum` with its source, so that a value taken from here can be shown as *assumed* with the
reason beside it. To add a chemistry, add an entry; nothing else lists them.

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
from types import MappingProxyType
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from tco.physics.ageing import (
    SCHMALSTIEG_ENERGY_J_PER_MOL,
    SCHMALSTIEG_TIME_EXPONENT,
    naumann_calendar_rate,
    schmalstieg_calendar_rate,
)
from tco.physics.arrhenius import GAS_CONSTANT_J_PER_MOL_K

Family = Literal["lithium", "sodium", "lead"]

TRADE = "common practice, no source"
MEMORY = "from memory, illustrative"


@dataclass(frozen=True)
class Datum:
    """A default value and where it comes from."""

    value: float
    source: str


@dataclass(frozen=True)
class Chemistry:
    """Behaviour and datasheet defaults of one cell chemistry.

    Attributes
    ----------
    key, name, family
        Short key used in files, the trade's name, and the family that decides charging.
    cell_voltage_v
        Nominal volts of one cell.
    open_circuit_v
        Open-circuit volts of one cell at 0, 10, ... 100 % state of charge, 25 degC.
    capacity_by_temperature
        Pairs (degC, fraction of the 25 degC capacity), ascending.
    resistance_ohm_ah
        Direct-current resistance of one cell times its capacity, with its share of the pack's
        connections and management board, at 25 degC and mid charge. [ohm Ah]
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
    cycle_exponent
        Exponent p of N(D) = N_ref (D / D_ref)^-p.
    ageing
        "naumann": Naumann 2018 and 2020, square root of time and of full cycles, losses added.
        "power": both losses as the power z of time and of cycles, added.
        "shorter": both in a straight line, the larger of the two counts (Spiers 1996).
    loss_exponent
        z, the power of time (and of cycles) that a loss follows.
    ages_when_full
        How the rate of calendar ageing depends on the state of charge: "lfp" as Naumann measured,
        "nmc" as Schmalstieg did, by open-circuit volts, "no" not at all.
    absorption_v, float_v
        Charging volts per cell, for the charge-profile check.
    """

    key: str
    name: str
    family: Family
    cell_voltage_v: float
    open_circuit_v: tuple[float, ...]
    capacity_by_temperature: tuple[tuple[float, float], ...]
    capacity_source: str
    resistance_ohm_ah: Datum
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
    ageing: Literal["naumann", "power", "shorter"]
    loss_exponent: float
    ages_when_full: Literal["lfp", "nmc", "no"]
    cycle_exponent: float
    calendar_activation_j_per_mol: float | None
    calendar_halving_k: float | None
    absorption_v: float
    float_v: float
    specific_energy_wh_per_kg: Datum
    specific_heat_j_per_kg_k: Datum
    max_series_voltage_v: Datum
    max_parallel: Datum

    def capacity_fraction(
        self, temperature_degc: float | NDArray[np.float64]
    ) -> float | NDArray[np.float64]:
        """Fraction of the 25 degC capacity that can be drawn at a temperature.

        Straight lines between the points of `capacity_by_temperature`, held beyond its ends.
        """
        degc, fraction = zip(*self.capacity_by_temperature, strict=True)
        out = np.interp(temperature_degc, degc, fraction)
        return float(out) if np.ndim(temperature_degc) == 0 else out

    def resistance_factor(
        self, temperature_degc: float | NDArray[np.float64]
    ) -> float | NDArray[np.float64]:
        """Direct-current resistance at a temperature, relative to 25 degC.

        Two Arrhenius terms: charge transfer (35 to 40 kJ/mol for LFP: Kashkooli 2017; Chen 2020)
        and the ohmic part (about 17 kJ/mol for the electrolyte).
        """
        inverse = 1.0 / (np.asarray(temperature_degc) + 273.15) - 1.0 / 298.15
        transfer = np.exp(self.charge_transfer_j_per_mol / GAS_CONSTANT_J_PER_MOL_K * inverse)
        ohmic = np.exp(self.ohmic_j_per_mol / GAS_CONSTANT_J_PER_MOL_K * inverse)
        share = self.charge_transfer_share
        out = share * transfer + (1.0 - share) * ohmic
        return float(out) if np.ndim(temperature_degc) == 0 else out

    def calendar_rate_by_charge(self, charge: NDArray[np.float64]) -> NDArray[np.float64]:
        """Rate of calendar ageing at states of charge 0 to 1, relative to half charge, 25 degC."""
        if self.ages_when_full == "no":
            return np.ones_like(charge)
        if self.ages_when_full == "lfp":
            rate = naumann_calendar_rate(25.0, charge)
            return np.asarray(rate / naumann_calendar_rate(25.0, 0.5))
        places = np.linspace(0.0, 1.0, len(self.open_circuit_v))
        volts = np.interp(np.append(charge, 0.5), places, self.open_circuit_v)
        by_volts = schmalstieg_calendar_rate(25.0, volts)
        return np.asarray(by_volts[:-1] / by_volts[-1])


_LEAD_COLD = ((-30.0, 0.15), (-17.8, 0.40), (0.0, 0.75), (10.0, 0.88), (25.0, 1.0), (40.0, 1.05))
_LEAD_COLD_SOURCE = "US Army TM 10-6140-200-14 at 0 and -17.8 degC; between and beyond, memory"

_LFP = Chemistry(
    key="lfp",
    name="lithium iron phosphate",
    family="lithium",
    cell_voltage_v=3.2,
    # 10, 20, 50, 80, 90, 100 %: Prada2013; 0 % the usual cut-off; the rest on straight lines.
    open_circuit_v=(2.50, 2.978, 3.169, 3.201, 3.234, 3.266, 3.281, 3.295, 3.310, 3.314, 3.600),
    capacity_by_temperature=((-30.0, 0.30), (-20.0, 0.44), (-10.0, 0.66), (0.0, 0.80), (25.0, 1.0)),
    capacity_source="a maker's 10 Ah cell at 0, -10 and -20 degC, low quality; -30 degC memory",
    resistance_ohm_ah=Datum(0.25, MEMORY + "; cells, links and board of a 100 Ah pack"),
    charge_transfer_share=0.4,
    charge_transfer_j_per_mol=37_000.0,
    ohmic_j_per_mol=17_000.0,
    coulombic_efficiency=Datum(0.995, MEMORY),
    taper_from_soc=0.95,
    peukert_exponent=Datum(1.0, "rate effect carried by resistance"),
    rated_hours=5.0,
    usable_depth=Datum(0.9, TRADE),
    discharge_rate_c=Datum(0.5, TRADE + "; cautious"),
    peak_rate_c=Datum(1.0, TRADE + "; cautious"),
    charge_rate_c=Datum(0.5, TRADE),
    charge_min_degc=Datum(0.0, "makers commonly state 0 degC; the maker's limit, no law of nature"),
    charge_max_degc=Datum(50.0, TRADE),
    discharge_min_degc=Datum(-20.0, TRADE),
    discharge_max_degc=Datum(60.0, TRADE),
    self_discharge_per_month=Datum(0.025, TRADE + "; 2 to 3 %"),
    rated_cycles=Datum(2500.0, MEMORY),
    rated_depth=Datum(0.8, TRADE),
    end_of_life=Datum(0.8, TRADE),
    calendar_life_years=Datum(12.0, MEMORY),
    ageing="naumann",
    loss_exponent=0.5,
    ages_when_full="lfp",
    cycle_exponent=1.0,
    calendar_activation_j_per_mol=None,
    calendar_halving_k=None,
    absorption_v=3.55,
    float_v=3.375,
    specific_energy_wh_per_kg=Datum(115.0, TRADE),
    specific_heat_j_per_kg_k=Datum(1050.0, "1000 to 1130 J/(kg K) published for LFP cells"),
    max_series_voltage_v=Datum(48.0, TRADE),
    max_parallel=Datum(4.0, TRADE),
)

_NMC = Chemistry(
    key="nmc",
    name="lithium nickel manganese cobalt",
    family="lithium",
    cell_voltage_v=3.65,
    open_circuit_v=(3.00, 3.42, 3.52, 3.58, 3.63, 3.70, 3.78, 3.87, 3.96, 4.06, 4.18),
    capacity_by_temperature=((-30.0, 0.40), (-20.0, 0.60), (-10.0, 0.75), (0.0, 0.87), (25.0, 1.0)),
    capacity_source=MEMORY,
    resistance_ohm_ah=Datum(0.20, MEMORY),
    charge_transfer_share=0.4,
    charge_transfer_j_per_mol=37_000.0,
    ohmic_j_per_mol=17_000.0,
    coulombic_efficiency=Datum(0.995, MEMORY),
    taper_from_soc=0.85,
    peukert_exponent=Datum(1.0, "rate effect carried by resistance"),
    rated_hours=5.0,
    usable_depth=Datum(0.85, TRADE),
    discharge_rate_c=Datum(0.5, TRADE + "; cautious"),
    peak_rate_c=Datum(1.0, TRADE + "; cautious"),
    charge_rate_c=Datum(0.5, TRADE),
    charge_min_degc=Datum(0.0, "makers commonly state 0 degC"),
    charge_max_degc=Datum(45.0, TRADE),
    discharge_min_degc=Datum(-20.0, TRADE),
    discharge_max_degc=Datum(60.0, TRADE),
    self_discharge_per_month=Datum(0.025, TRADE),
    rated_cycles=Datum(1500.0, MEMORY),
    rated_depth=Datum(0.8, TRADE),
    end_of_life=Datum(0.8, TRADE),
    calendar_life_years=Datum(10.0, MEMORY),
    ageing="power",
    loss_exponent=SCHMALSTIEG_TIME_EXPONENT,  # of cycles too: our choice, one power for both
    ages_when_full="nmc",
    cycle_exponent=1.5,
    calendar_activation_j_per_mol=SCHMALSTIEG_ENERGY_J_PER_MOL / SCHMALSTIEG_TIME_EXPONENT,
    calendar_halving_k=None,
    absorption_v=4.10,
    float_v=4.00,
    specific_energy_wh_per_kg=Datum(150.0, TRADE),
    specific_heat_j_per_kg_k=Datum(1000.0, MEMORY),
    max_series_voltage_v=Datum(48.0, TRADE),
    max_parallel=Datum(4.0, TRADE),
)

_LTO = Chemistry(
    key="lto",
    name="lithium titanate",
    family="lithium",
    cell_voltage_v=2.3,
    open_circuit_v=(1.80, 2.10, 2.17, 2.21, 2.24, 2.27, 2.31, 2.36, 2.42, 2.50, 2.70),
    capacity_by_temperature=((-30.0, 0.70), (-20.0, 0.80), (0.0, 0.92), (25.0, 1.0)),
    capacity_source=MEMORY,
    resistance_ohm_ah=Datum(0.06, MEMORY),
    charge_transfer_share=0.3,
    charge_transfer_j_per_mol=30_000.0,
    ohmic_j_per_mol=15_000.0,
    coulombic_efficiency=Datum(0.995, MEMORY),
    taper_from_soc=0.95,
    peukert_exponent=Datum(1.0, "rate effect carried by resistance"),
    rated_hours=1.0,
    usable_depth=Datum(0.9, TRADE),
    discharge_rate_c=Datum(2.0, TRADE),
    peak_rate_c=Datum(4.0, TRADE),
    charge_rate_c=Datum(2.0, TRADE),
    charge_min_degc=Datum(-30.0, MEMORY),
    charge_max_degc=Datum(55.0, TRADE),
    discharge_min_degc=Datum(-30.0, TRADE),
    discharge_max_degc=Datum(60.0, TRADE),
    self_discharge_per_month=Datum(0.03, MEMORY),
    rated_cycles=Datum(10_000.0, MEMORY),
    rated_depth=Datum(0.8, TRADE),
    end_of_life=Datum(0.8, TRADE),
    calendar_life_years=Datum(15.0, MEMORY),
    ageing="power",
    loss_exponent=0.5,  # as lithium iron phosphate: none of its own is known to us
    # none known to us; at the 1.5 V of its negative electrode no film grows as in others (memory)
    ages_when_full="no",
    cycle_exponent=1.2,
    calendar_activation_j_per_mol=45_000.0,  # from memory
    calendar_halving_k=None,
    absorption_v=2.65,
    float_v=2.50,
    specific_energy_wh_per_kg=Datum(65.0, TRADE),
    specific_heat_j_per_kg_k=Datum(1000.0, MEMORY),
    max_series_voltage_v=Datum(48.0, TRADE),
    max_parallel=Datum(4.0, TRADE),
)

_SODIUM = Chemistry(
    key="sodium-ion",
    name="sodium-ion",
    family="sodium",
    cell_voltage_v=3.0,
    open_circuit_v=(1.80, 2.40, 2.63, 2.78, 2.90, 3.01, 3.12, 3.24, 3.37, 3.52, 3.90),
    capacity_by_temperature=((-40.0, 0.60), (-20.0, 0.85), (0.0, 0.93), (25.0, 1.0)),
    capacity_source=MEMORY,
    resistance_ohm_ah=Datum(0.35, MEMORY),
    charge_transfer_share=0.35,
    charge_transfer_j_per_mol=30_000.0,
    ohmic_j_per_mol=15_000.0,
    coulombic_efficiency=Datum(0.99, MEMORY),
    taper_from_soc=0.92,
    peukert_exponent=Datum(1.0, "rate effect carried by resistance"),
    rated_hours=5.0,
    usable_depth=Datum(0.9, TRADE),
    discharge_rate_c=Datum(0.5, TRADE + "; cautious"),
    peak_rate_c=Datum(1.0, TRADE + "; cautious"),
    charge_rate_c=Datum(0.5, TRADE),
    charge_min_degc=Datum(-10.0, MEMORY),
    charge_max_degc=Datum(50.0, TRADE),
    discharge_min_degc=Datum(-30.0, MEMORY),
    discharge_max_degc=Datum(60.0, TRADE),
    self_discharge_per_month=Datum(0.03, MEMORY),
    rated_cycles=Datum(2500.0, MEMORY),
    rated_depth=Datum(0.8, TRADE),
    end_of_life=Datum(0.8, TRADE),
    calendar_life_years=Datum(12.0, MEMORY),
    ageing="power",
    loss_exponent=0.5,  # as lithium iron phosphate: none of its own is known to us
    # none known to us; hard carbon grows a film as graphite does (memory), so it is taken to age
    # when full as lithium iron phosphate does, and gains nothing by our not knowing
    ages_when_full="lfp",
    cycle_exponent=1.2,
    calendar_activation_j_per_mol=45_000.0,  # from memory
    calendar_halving_k=None,
    absorption_v=3.85,
    float_v=3.60,
    specific_energy_wh_per_kg=Datum(95.0, TRADE),
    specific_heat_j_per_kg_k=Datum(1000.0, MEMORY),
    max_series_voltage_v=Datum(48.0, TRADE),
    max_parallel=Datum(4.0, TRADE),
)


def _lead(
    key: str,
    name: str,
    *,
    peukert: float,
    cycles: float,
    calendar_years: float,
    self_discharge: float,
    absorption_v: float,
    float_v: float,
    resistance_ohm_ah: float,
    specific_energy: float,
) -> Chemistry:
    return Chemistry(
        key=key,
        name=name,
        family="lead",
        cell_voltage_v=2.0,
        open_circuit_v=(1.89, 1.93, 1.96, 1.98, 2.00, 2.03, 2.05, 2.07, 2.09, 2.11, 2.13),
        capacity_by_temperature=_LEAD_COLD,
        capacity_source=_LEAD_COLD_SOURCE,
        resistance_ohm_ah=Datum(resistance_ohm_ah, MEMORY),
        charge_transfer_share=0.3,
        charge_transfer_j_per_mol=25_000.0,
        ohmic_j_per_mol=12_000.0,
        coulombic_efficiency=Datum(0.85, TRADE + "; 85 % of the ampere-hours"),
        taper_from_soc=0.80,
        peukert_exponent=Datum(peukert, TRADE),
        rated_hours=20.0,
        usable_depth=Datum(0.5, TRADE),
        discharge_rate_c=Datum(0.5, TRADE),
        peak_rate_c=Datum(2.0, TRADE),
        charge_rate_c=Datum(0.2, TRADE),
        charge_min_degc=Datum(-20.0, TRADE),
        charge_max_degc=Datum(50.0, TRADE),
        discharge_min_degc=Datum(-30.0, TRADE),
        discharge_max_degc=Datum(50.0, TRADE),
        self_discharge_per_month=Datum(self_discharge, TRADE + "; lead-acid 4 to 6 %"),
        rated_cycles=Datum(cycles, TRADE),
        rated_depth=Datum(0.5, TRADE),
        end_of_life=Datum(0.8, TRADE),
        calendar_life_years=Datum(calendar_years, TRADE),
        ageing="shorter",
        loss_exponent=1.0,
        ages_when_full="no",
        cycle_exponent=1.3,
        calendar_activation_j_per_mol=None,
        calendar_halving_k=8.0,  # IEEE 450 and 1188 practice; trade handbook: 10, 5, 2.5 years
        absorption_v=absorption_v,
        float_v=float_v,
        specific_energy_wh_per_kg=Datum(specific_energy, TRADE),
        specific_heat_j_per_kg_k=Datum(1025.0, "estimate, 990 to 1060 J/(kg K)"),
        max_series_voltage_v=Datum(48.0, TRADE),
        max_parallel=Datum(4.0, TRADE),
    )


_AGM = _lead(
    "agm",
    "absorbed glass mat lead-acid",
    peukert=1.10,
    cycles=600.0,
    calendar_years=7.0,
    self_discharge=0.03,
    absorption_v=2.40,
    float_v=2.27,
    resistance_ohm_ah=0.09,
    specific_energy=38.0,
)
_GEL = _lead(
    "gel",
    "gel lead-acid",
    peukert=1.15,
    cycles=800.0,
    calendar_years=9.0,
    self_discharge=0.03,
    absorption_v=2.35,
    float_v=2.25,
    resistance_ohm_ah=0.12,
    specific_energy=36.0,
)
_FLOODED = _lead(
    "flooded",
    "flooded lead-acid",
    peukert=1.25,
    cycles=500.0,
    calendar_years=6.0,
    self_discharge=0.06,
    absorption_v=2.45,
    float_v=2.23,
    resistance_ohm_ah=0.12,
    specific_energy=34.0,
)

CHEMISTRIES: Mapping[str, Chemistry] = MappingProxyType(
    {c.key: c for c in (_LFP, _NMC, _LTO, _SODIUM, _AGM, _GEL, _FLOODED)}
)
"""Every chemistry the tool knows, by key."""
