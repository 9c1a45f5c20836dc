"""Field types shared by the case models.

A field's unit is the tail of its name, so the types only say the limits.
"""

from typing import Annotated, Any

from pydantic import BeforeValidator, Field, StringConstraints

from tco.case.base import (
    Quantity,
    Unreadable,
    reject_unreadable,
    stated_error,
)
from tco.physics.chemistry import CHEMISTRIES

_Readable = BeforeValidator(reject_unreadable)

# Limits of what can be at all: a slip of a unit or of a nought beyond them would only drown the
# answer. All are common practice, no source; what is possible and odd is doubted, not refused
# (`tco.case.plausibility`).
Number = Annotated[float, Quantity(share=True), _Readable]
Positive = Annotated[float, Quantity(), _Readable, Field(gt=0)]
NonNegative = Annotated[float, Quantity(), _Readable, Field(ge=0)]

Money = Annotated[float, Quantity(money=True), _Readable, Field(ge=0, le=1e10)]
"""The price of a house in a currency of small units."""
SignedMoney = Annotated[float, Quantity(money=True), _Readable, Field(ge=-1e10, le=1e10)]
SpaceSide = Annotated[float, Quantity(), _Readable, Field(ge=1, le=20_000)]
"""A side of a compartment [mm]: 20 m is a hall."""
PackSide = Annotated[float, Quantity(), _Readable, Field(ge=1, le=5_000)]
"""A side of a pack [mm]: 5 m is a container."""
Gap = Annotated[float, Quantity(), _Readable, Field(ge=0, le=5_000)]
"""Free width beside packs [mm]: more is another compartment."""
PackMass = Annotated[float, Quantity(), _Readable, Field(ge=0.01, le=20_000)]
"""From a button cell to a container [kg]."""
Mass = Annotated[float, Quantity(), _Readable, Field(ge=0, le=1e6)]
"""Of many packs together [kg]: a thousand tonnes carry a street, not a house."""
CableLength = Annotated[float, Quantity(), _Readable, Field(ge=0.01, le=1_000)]
"""Of a low voltage that loses its power within some tens of metres [m]."""
Power = Annotated[float, Quantity(), _Readable, Field(ge=0, le=1e7)]
PowerAboveZero = Annotated[float, Quantity(), _Readable, Field(ge=0.01, le=1e7)]
"""Ten megawatts are a power station, a hundredth of a watt is a clock [W]."""
Current = Annotated[float, Quantity(), _Readable, Field(ge=0, le=1e6)]
CurrentAboveZero = Annotated[float, Quantity(), _Readable, Field(ge=0.001, le=1e6)]
"""No conductor of this project carries a thousandth of a million amperes [A]."""
Charge = Annotated[float, Quantity(), _Readable, Field(ge=0.01, le=1e6)]
"""From a button cell to a power station at 12 V [Ah]."""
Cycles = Annotated[float, Quantity(), _Readable, Field(ge=10, le=1e7)]
"""A cycle an hour for a thousand years; what wears out in ten is no pack, but a decimal point."""
Age = Annotated[float, Quantity(), _Readable, Field(ge=0, le=200)]
"""Older than any battery that is still sold or warranted [years]."""
Days = Annotated[float, Quantity(), _Readable, Field(ge=0, le=3_650)]
"""Ten years of waiting [days]."""
Months = Annotated[float, Quantity(), _Readable, Field(ge=0, le=1_200)]
"""A hundred years [months]."""
Minutes = Annotated[float, Quantity(), _Readable, Field(ge=0, le=10_000)]
"""A week of work on one thing [minutes]."""
Fraction = Annotated[float, Quantity(share=True), _Readable, Field(ge=0, le=1)]
ShareAboveZero = Annotated[float, Quantity(share=True), _Readable, Field(ge=0.001, le=1)]
"""A thousandth: less is none."""
Temperature = Annotated[float, Quantity(), _Readable, Field(ge=-60, le=100)]
Rate = Annotated[float, Quantity(share=True), _Readable, Field(gt=-0.5, lt=1)]


def _twelve(value: Any) -> Any:
    value = reject_unreadable(value)
    if isinstance(value, int | float | Unreadable) and not isinstance(value, bool):
        return (value,) * 12
    if isinstance(value, list | tuple) and len(value) != 12:
        raise stated_error(
            f"has {len(value)} entries",
            allowed="one number for every month, or twelve, January first",
        )
    return value


MonthlyFraction = Annotated[tuple[Fraction, ...], Quantity(share=True), BeforeValidator(_twelve)]
_HoursOfDay = Annotated[float, Quantity(), _Readable, Field(ge=0, le=24)]
_DaysOfMonth = Annotated[float, Quantity(), _Readable, Field(ge=0, le=31)]
_LightOfDay = Annotated[float, Quantity(), _Readable, Field(ge=0, le=14)]
"""The brightest day outside the air, at the south pole, has 13.6 kWh/m2 on the flat
(`tco.physics.sun.extraterrestrial_daily_wh_per_m2`)."""
MonthlyHours = Annotated[tuple[_HoursOfDay, ...], Quantity(), BeforeValidator(_twelve)]
MonthlyDays = Annotated[tuple[_DaysOfMonth, ...], Quantity(), BeforeValidator(_twelve)]
MonthlyLight = Annotated[tuple[_LightOfDay, ...], Quantity(), BeforeValidator(_twelve)]
MonthlyTemperature = Annotated[tuple[Temperature, ...], Quantity(), BeforeValidator(_twelve)]

MOST_PIECES = 10_000
"""Of one thing in one system: loads, parts, packs."""
MOST_SEEN = 10_000_000
"""Packs of one model that anybody can have watched."""

LONGEST_TEXT = 20_000


def _trimmed(value: Any) -> Any:
    return value.strip() if isinstance(value, str) else value


_Trimmed = BeforeValidator(_trimmed)
Name = Annotated[str, _Trimmed, StringConstraints(min_length=1, max_length=120)]
Text = Annotated[str, _Trimmed, StringConstraints(max_length=LONGEST_TEXT)]

Currency = Annotated[str, _Trimmed, StringConstraints(min_length=1, max_length=12)]

CHEMISTRY_ALIASES = {
    alias: chemistry.key for chemistry in CHEMISTRIES.values() for alias in chemistry.aliases
}
"""Names shops use for a chemistry, to its key."""


def chemistry_key(text: str) -> str:
    """Key of `CHEMISTRIES` for a name as shops write it; unknown names come back unchanged.

    >>> chemistry_key("LiFePO4"), chemistry_key(" AGM ")
    ('lfp', 'agm')
    """
    key = " ".join(text.lower().split())
    return CHEMISTRY_ALIASES.get(key, key)


def _known_chemistry(value: Any) -> Any:
    if not isinstance(value, str):
        return value
    key = chemistry_key(value)
    if key not in CHEMISTRIES:
        raise stated_error("is not a known chemistry", allowed=", ".join(CHEMISTRIES))
    return key


ChemistryKey = Annotated[str, BeforeValidator(_known_chemistry)]


def _known_profile(value: Any) -> Any:
    if not isinstance(value, str):
        return value
    families = sorted({chemistry.family for chemistry in CHEMISTRIES.values()})
    text = value.strip().lower()
    if text in families:
        return text
    key = chemistry_key(text)
    if key not in CHEMISTRIES:
        raise stated_error(
            "is not a known charge profile", allowed=", ".join((*families, *CHEMISTRIES))
        )
    return key


ProfileKey = Annotated[str, BeforeValidator(_known_profile)]
