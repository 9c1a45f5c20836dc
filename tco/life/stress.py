"""Ageing of a chemistry as tables the hourly kernel can sum, anchored to a datasheet.

Every model is written as loss = (sum of calendar stress)^z + (sum of cycle stress)^z, or the
larger of the two, with one exponent z: 1/2 for Naumann's square roots of time and of full
cycles, 3/4 for Schmalstieg's NMC cells, 1 for the straight lines of lead-acid. Stress then simply
adds up over hours and cycles of any kind:

    calendar stress of an hour = (rate at its temperature and state of charge)^(1/z) x time
    cycle stress of a cycle    = (rate at its depth and current)^(1/z) x full cycle equivalents

Claims: what a sheet states holds for the health it is stated for. What it does not state is the
chemistry's usual value, to the chemistry's own end of life: the same pack quoted to 90, 80 or 70 %
ages alike. Where no years are claimed and the chemistry's calendar law is published as a whole
(Naumann for LFP, Schmalstieg for NMC), it stands as published.

Cold on one footing: Naumann's calendar law is the only one here that was tested below 25 degC (0 to
60 degC, from memory). No cell of another lithium or sodium chemistry is granted more by the cold
than by that law, and none anything below 0 degC. Lead-acid gains nothing below 25 degC.
"""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from tco.case import Pack
from tco.life.hourly import TABLE_COLDEST_DEGC, TABLE_SIZE, TABLE_STEP_K
from tco.physics.ageing import (
    HOURS_PER_YEAR,
    NAUMANN_COLDEST_DEGC,
    NAUMANN_CYCLE_RATE_OFFSET,
    NAUMANN_CYCLE_RATE_SLOPE,
    NAUMANN_WARMEST_DEGC,
    cycles_at_depth,
    naumann_calendar_rate,
    naumann_cycle_rate,
)
from tco.physics.anchoring import anchor_naumann, anchor_power
from tco.physics.arrays import FloatArray
from tco.physics.arrhenius import arrhenius_factor, halving_factor
from tco.physics.chemistry import Chemistry

TABLE_DEGC: FloatArray = TABLE_COLDEST_DEGC + TABLE_STEP_K * np.arange(TABLE_SIZE, dtype=float)
CHARGE_GRID: FloatArray = np.linspace(0.0, 1.0, 41)
DEPTH_GRID: FloatArray = np.linspace(0.0, 1.0, 101)

REFERENCE_CHARGE = 0.5
"""State of charge at which a datasheet's calendar life is taken to hold. Assumption."""


@dataclass(frozen=True)
class Stress:
    """Ageing of one pack as tables; see the module's text.

    `calendar` by temperature (TABLE_DEGC), per hour; `storage` over state of charge
    (CHARGE_GRID), a factor on it; `cycle` over depth (DEPTH_GRID), per full cycle equivalent;
    its factor for the current is (rate_slope x C-rate + rate_offset)^2. `growth_scale`: how much
    faster than in Naumann 2018 resistance grows in storage, 0 where that law does not hold.
    """

    calendar: FloatArray
    storage: FloatArray
    cycle: FloatArray
    rate_slope: float
    rate_offset: float
    exponent: float
    larger_counts: bool
    growth_scale: float = 0.0

    def loss(self, calendar_stress: FloatArray, cycle_stress: FloatArray) -> FloatArray:
        """Fraction of capacity lost after accumulated stresses (arrays of one shape)."""
        calendar, cycle = calendar_stress**self.exponent, cycle_stress**self.exponent
        return np.maximum(calendar, cycle) if self.larger_counts else calendar + cycle


def stress_of(pack: Pack, *, credibility: float) -> Stress:
    """Ageing of a pack, anchored so that its datasheet's cycles, times credibility, come out.

    Raises
    ------
    ValueError
        When the datasheet's figures cannot be anchored (named by the anchor), or its end of life
        is not between 0 and 1.
    """
    if not 0.0 < pack.end_of_life < 1.0:
        raise ValueError(
            f"{pack.name}: end_of_life must be between 0 and 1, got {pack.end_of_life:g}; "
            "a pack that loses nothing says nothing about its life"
        )
    if pack.chemistry.ageing == "naumann":
        return _naumann(pack, credibility)
    return _power(pack, credibility)


class _Claim(NamedTuple):
    """So many cycles of a depth to a health, and so many years to one; no years to be believed in
    part where a law stands as published."""

    rated_cycles: float
    rated_depth: float
    end_of_life: float
    calendar_life_years: float | None
    calendar_end_of_life: float


def _claim_of(pack: Pack) -> _Claim:
    """What a sheet claims; the chemistry's usual values, to its own end, for what it does not."""
    usual = pack.chemistry
    cycles = pack.rated_cycles, pack.rated_depth, pack.end_of_life
    if "rated_cycles" in pack.assumed:
        cycles = usual.rated_cycles.value, usual.rated_depth.value, usual.end_of_life.value
    if "calendar_life_years" not in pack.assumed:
        return _Claim(*cycles, pack.calendar_life_years, pack.end_of_life)
    years = None if usual.calendar_life_published else usual.calendar_life_years.value
    return _Claim(*cycles, years, usual.end_of_life.value)


def _naumann(pack: Pack, credibility: float) -> Stress:
    claim = _claim_of(pack)
    anchor = anchor_naumann(
        **claim._asdict(), credibility=credibility, calendar_soc=REFERENCE_CHARGE
    )
    held = np.clip(TABLE_DEGC, NAUMANN_COLDEST_DEGC, NAUMANN_WARMEST_DEGC)
    by_degc = anchor.calendar_scale * naumann_calendar_rate(held, REFERENCE_CHARGE)
    # the paper's rate is (slope C + offset) x (depth term); the current's factor is applied by
    # the kernel, so the table holds the depth term alone
    at_one_c = NAUMANN_CYCLE_RATE_SLOPE + NAUMANN_CYCLE_RATE_OFFSET
    depth_term = naumann_cycle_rate(1.0, DEPTH_GRID) / at_one_c
    return Stress(
        calendar=by_degc**2 * 3600.0,
        storage=pack.chemistry.calendar_rate_by_charge(CHARGE_GRID) ** 2,
        cycle=(anchor.cycle_scale * depth_term) ** 2,
        rate_slope=NAUMANN_CYCLE_RATE_SLOPE,
        rate_offset=NAUMANN_CYCLE_RATE_OFFSET,
        exponent=0.5,
        larger_counts=False,
        # a cell that by its datasheet ages faster than Naumann's is taken to grow its resistance
        # as much faster, one that claims to age more slowly not to be spared. Our choice.
        growth_scale=max(1.0, anchor.calendar_scale**2),
    )


def _power(pack: Pack, credibility: float) -> Stress:
    chemistry = pack.chemistry
    z, claim = chemistry.loss_exponent, _claim_of(pack)
    lost_in_years = 1.0 - claim.calendar_end_of_life
    if chemistry.ageing == "shorter":
        # each limit alone ends the life
        calendar = lost_in_years / (pack.calendar_life_years * credibility)
        cycle = (1.0 - claim.end_of_life) / (claim.rated_cycles * credibility)
    else:
        first_year = lost_in_years / pack.calendar_life_years**z
        first_cycle = (1.0 - claim.end_of_life) / claim.rated_cycles**z
        anchor = anchor_power(
            **claim._asdict(),
            cycle_loss_per_cycle=first_cycle,
            calendar_loss_per_year=first_year,
            exponent=z,
            credibility=credibility,
        )
        calendar = anchor.calendar_scale * first_year
        cycle = anchor.cycle_scale * first_cycle
    depth = np.maximum(DEPTH_GRID, 1e-3)
    cycles = cycles_at_depth(
        depth,
        reference_cycles=1.0,
        reference_depth=claim.rated_depth,
        exponent=chemistry.cycle_exponent,
    )
    return Stress(
        calendar=calendar ** (1.0 / z) * _speed_of_time(chemistry) / HOURS_PER_YEAR,
        storage=chemistry.calendar_rate_by_charge(CHARGE_GRID) ** (1.0 / z),
        cycle=cycle ** (1.0 / z) / (cycles * depth),
        rate_slope=0.0,
        rate_offset=1.0,
        exponent=z,
        larger_counts=chemistry.ageing == "shorter",
    )


def _speed_of_time(chemistry: Chemistry) -> FloatArray:
    """How much faster than at 25 degC calendar time runs, by TABLE_DEGC; see the module's text."""
    if chemistry.calendar_activation_j_per_mol is None:
        assert chemistry.calendar_halving_k is not None
        halving = halving_factor(TABLE_DEGC, halving_interval_k=chemistry.calendar_halving_k)
        return np.maximum(halving, 1.0)  # trade tables start at 25 degC
    own = arrhenius_factor(
        TABLE_DEGC, activation_energy_j_per_mol=chemistry.calendar_activation_j_per_mol
    )
    held = np.clip(TABLE_DEGC, NAUMANN_COLDEST_DEGC, 25.0)
    tested = (naumann_calendar_rate(held, 0.5) / naumann_calendar_rate(25.0, 0.5)) ** 2
    return np.asarray(np.where(TABLE_DEGC < 25.0, np.maximum(own, tested), own))
