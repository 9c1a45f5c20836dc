"""Prices of everything but the packs, and the assumptions of the comparison.

The defaults are round planning figures of this project (no source): every one can be typed over.
"""

from collections.abc import Iterable, Iterator
from typing import Literal

from pydantic import Field

from tco.case.base import Clash, Model, cross_check, repeated
from tco.case.quantities import (
    Currency,
    Days,
    Fraction,
    Minutes,
    Money,
    Name,
    NonNegative,
    Number,
    Rate,
    ShareAboveZero,
    SignedMoney,
    Text,
)
from tco.physics.chemistry import Chemistry
from tco.physics.conductor_sizes import AWG_SIZES, MM2_SIZES
from tco.physics.fuse_classes import CHEAPEST_FIRST
from tco.physics.lead_acid import IEEE450_END_OF_LIFE, SULPHATION

COPPER_PRICE_PER_M_MM2 = 0.22
CABLE_BASE_PRICE_PER_M = 0.60
LUG_PRICE_PER_MM2 = 0.035
LUG_BASE_PRICE = 0.60


class ConductorPrice(Model):
    """Price of one conductor size, by the label of `tco.physics.conductors`."""

    size: Name
    price_per_m: Money
    lug_price: Money
    link: Text = ""


class FusePrice(Model):
    """Price of one fuse and of its holder, by class."""

    fuse_class: Name
    fuse_price: Money
    holder_price: Money
    link: Text = ""


DEFAULT_CONDUCTOR_PRICES = tuple(
    ConductorPrice(
        size=conductor.label,
        price_per_m=round(CABLE_BASE_PRICE_PER_M + COPPER_PRICE_PER_M_MM2 * conductor.area_mm2, 2),
        lug_price=round(LUG_BASE_PRICE + LUG_PRICE_PER_MM2 * conductor.area_mm2, 2),
    )
    for conductor in (*MM2_SIZES, *AWG_SIZES)
)

_FUSES = {
    "class J, 50 kA DC": (48.0, 62.0),
    "class T": (32.0, 38.0),
    "gPV": (4.0, 9.0),
    "ANL": (12.0, 18.0),
    "MRBF": (14.0, 16.0),
    "MEGA": (8.0, 14.0),
    "MIDI": (5.0, 9.0),
    "blade": (0.5, 4.0),
}
DEFAULT_FUSE_PRICES = tuple(
    FusePrice(fuse_class=name, fuse_price=_FUSES[name][0], holder_price=_FUSES[name][1])
    for name in (fuse.name for fuse in CHEAPEST_FIRST)
)


class Prices(Model):
    """Money of the case, in one currency; amounts without tax where `tax_rate` is given.

    `pack_price_trend` is the real change of pack prices per year (negative: cheaper).
    Disposal prices are per kg; negative means that the core is paid for. `claim_trouble` is what a
    warranty claim takes in time and trouble; `usual_lead_time_days` how long a new pack takes where
    its candidate does not say. `own_labour`: the work is the owner's own, its hours shown and not
    paid. An hour without power is charged on top of the day without power, not in its place.
    `dangerous_goods_price` is the surcharge for each lithium or sodium pack shipped. For blocks of
    bare cells `cell_link_price` is copper for one terminal, `cell_insulation_price` sheet and cover
    for one cell, `compression_price` a pair of plates with rods for one row; `minutes_per_cell` go
    into measuring, insulating, stacking and bolting one.
    """

    currency: Currency = "€"
    tax_rate: Fraction = 0.0
    conductors: tuple[ConductorPrice, ...] = DEFAULT_CONDUCTOR_PRICES
    fuses: tuple[FusePrice, ...] = DEFAULT_FUSE_PRICES
    busbar_price: Money = 35.0
    external_management_price: Money | None = None
    contactor_price: Money | None = None
    cell_link_price: Money = 0.9
    cell_insulation_price: Money = 1.5
    compression_price: Money = 40.0
    switch_price: Money = 38.0
    monitor_price: Money = 120.0
    alternator_protection_price: Money = 65.0
    labour_per_hour: Money = 55.0
    own_labour: bool = False
    minutes_per_termination: Minutes = 12.0
    minutes_per_pack: Minutes = 30.0
    minutes_per_kg_lifted: Minutes = 0.5
    minutes_per_cell: Minutes = 15.0
    check_minutes_per_termination_year: Minutes = 2.0
    heat_shrink_price: Money = 0.6
    disposal_price_per_kg_lithium: SignedMoney = 1.5
    disposal_price_per_kg_sodium: SignedMoney = 1.5
    disposal_price_per_kg_lead: SignedMoney = -0.5
    discount_rate: Rate = 0.05
    inflation: Rate = 0.02
    pack_price_trend: Rate = -0.03
    day_without_power_price: Money = 40.0
    hour_without_power_price: Money = 0.0
    dangerous_goods_price: Money = 0.0
    claim_trouble: Money = 40.0
    usual_lead_time_days: Days = 10.0

    @property
    def paid_per_hour(self) -> float:
        """Price of an hour of work before tax, zero where it is the owner's own time."""
        return 0.0 if self.own_labour else self.labour_per_hour

    @cross_check
    def _one_price_each_conductor(self) -> Iterator[Clash]:
        yield from _twice("conductors", self.conductors, "size")

    @cross_check
    def _one_price_each_fuse(self) -> Iterator[Clash]:
        yield from _twice("fuses", self.fuses, "fuse_class")


def _twice(field: str, rows: Iterable[Model], key: str) -> Iterator[Clash]:
    for place, first, _ in repeated(rows, key):
        yield Clash(field, f"is priced already in row {first + 1}", "Keep one row.", (place, key))


class Assumptions(Model):
    """What the comparison assumes; all of it visible and changeable.

    `credibility` is the share of the datasheet's cycles and years that is believed. A bank is
    replaced when its health reaches `end_of_life_health` (lead-acid `lead_end_of_life_health`, by
    IEEE Std 450 and 1188: see `end_of_life_of`), at the age of `longest_life_years` at the
    latest (boards, relays and seals end then, whatever the cells; from memory, few banks have been
    in use for so long), or when the hours in which essential loads go short in a year pass
    `tolerated_hours_without_power` and going on costs more than replacing
    (`tco.life.health`). `horizon_years` may end within a year. `spare_packs` are bought with the
    bank and lie on the shelf for the first failure. `rewired_share` of the wiring is renewed when
    the bank is replaced: 0 where all of it is used again, 1 where all is bought and made anew. A
    day on which essential loads are short for `lost_day_hours` costs the price of a day without
    power, a shorter outage its share of it. `sulphation`: lead-acid that is never charged full ages
    faster by this share (`tco.physics.lead_acid.SULPHATION`).
    `surge_seconds`: how long a load takes to start, or an inverter gives its surge; fuses have to
    bear it. `clearness_spread` narrows the spread of dull and clear days (1.0: as published by
    Bendt 1981); three measured years shipped with pvlib show 0.6 to 0.8 of it.
    """

    horizon_years: Number = Field(default=10, ge=1, le=40)
    autonomy_days: NonNegative = Field(default=2.0, le=366)
    end_of_life_health: ShareAboveZero = Field(default=0.7, le=0.95)
    lead_end_of_life_health: ShareAboveZero = Field(default=IEEE450_END_OF_LIFE, le=0.95)
    credibility: ShareAboveZero = 0.8
    longest_life_years: Number = Field(default=20.0, ge=5, le=40)
    spare_packs: int = Field(default=0, ge=0, le=8)
    rewired_share: Fraction = 0.0
    max_packs: int = Field(default=8, ge=1, le=32)
    largest_bank_over_need: Number = Field(default=3.0, ge=1.0, le=20.0)
    current_to_carry: Literal["inverter rating", "loads at once"] = "inverter rating"
    critical_drop: ShareAboveZero = 0.03
    surge_seconds: Number = Field(default=5.0, ge=0, le=60)
    tolerated_hours_without_power: NonNegative = Field(default=48.0, le=8760)
    lost_day_hours: Number = Field(default=4.0, ge=1.0, le=24.0)
    sulphation: Number = Field(default=SULPHATION, ge=0, le=5)
    resale_share: Fraction = 0.4
    clearness_spread: Fraction = 0.8
    weather_years: int = Field(default=3, ge=1, le=20)
    seed: int = Field(default=1, ge=0, le=2**31 - 1)

    def end_of_life_of(self, chemistry: Chemistry) -> float:
        """Health at which a bank of a chemistry is replaced."""
        return self.lead_end_of_life_health if chemistry.ieee450 else self.end_of_life_health
