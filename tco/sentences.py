"""Sentences that carry quantities: each reader is told them in his own units, and none is parsed.

A `Sentence` is text, in metric units, to whoever takes it as text; `told` renders it for a reader.
Put parts together with `says` and `joined`: an f-string makes plain text, whose units stay.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Self

KG_PER_LB = 0.45359237
MM_PER_IN = 25.4
M_PER_FT = 0.3048
"""Exact by definition (international yard and pound, 1959)."""

_IMPERIAL: dict[str, tuple[str, Callable[[float], float], str]] = {
    "mm": ("in", lambda mm: mm / MM_PER_IN, ",.1f"),
    "m": ("ft", lambda m: m / M_PER_FT, ",.1f"),
    "kg": ("lb", lambda kg: kg / KG_PER_LB, ",.0f"),
    "degC": ("degF", lambda degc: degc * 1.8 + 32.0, ",.1f"),
    "m3/h": ("ft3/min", lambda flow: flow / 60.0 / M_PER_FT**3, ",.2f"),
    "per kg": ("per lb", lambda price: price * KG_PER_LB, ",.2f"),
}
"""What a metric unit becomes, how, and to how many digits it is told."""


def imperial(value: float, unit: str, *, difference: bool = False) -> tuple[float, str]:
    """A value with its unit as a reader with pounds and inches wants it; other units stay.

    `difference` marks a difference of temperatures (a margin), which has no offset.
    """
    if unit not in _IMPERIAL:
        return value, unit
    name, turn, _ = _IMPERIAL[unit]
    return turn(value) - (turn(0.0) if difference else 0.0), name


@dataclass(frozen=True)
class Quantity:
    """A value in the unit the engine has it in, formatted by `digits` for metric readers.

    Those of `_IMPERIAL` are turned for others; `°C` is a degC as some sentences write it. `bare`
    leaves the unit out, where it follows the next number ("20 to 25 degC"). `both` tells a
    metric reader the imperial value as well.
    """

    value: float
    unit: str
    digits: str = ".0f"
    bare: bool = False
    both: bool = False

    def told(self, units: str, *, signs: bool = False) -> str:
        """The number with its unit; `signs`: degrees with their sign, as screens show them."""
        value, unit, digits = self.value, "degC" if self.unit == "°C" else self.unit, self.digits
        other, name = imperial(value, unit)
        if units == "imperial" and name != unit:
            value, unit, digits = other, name, digits if self.both else _IMPERIAL[unit][2]
        text = f"{value:{digits}}" if self.bare else f"{value:{digits}} {unit}"
        if self.both and units != "imperial":
            text += f", {other:{digits}} {name}"
        return text.replace(" deg", " °") if signs else text

    def __str__(self) -> str:
        return self.told("metric", signs=self.unit == "°C")


class Sentence(str):
    """Text made of parts, some of them quantities; as a string it has them in metric units."""

    __slots__ = ("parts",)
    parts: tuple[str | Quantity, ...]

    def __new__(cls, *parts: str | Quantity) -> Self:
        """Text, quantities and other sentences, one after the other."""
        flat: list[str | Quantity] = []
        for part in parts:
            flat += part.parts if isinstance(part, Sentence) else (part,)
        made = super().__new__(cls, "".join(map(str, flat)))
        made.parts = tuple(flat)
        return made

    def __getnewargs__(self) -> tuple[str | Quantity, ...]:  # type: ignore[override]
        return self.parts

    def told(self, units: str, *, signs: bool = False) -> str:
        """The sentence in "metric" or "imperial" units."""
        return "".join(
            part.told(units, signs=signs) if isinstance(part, Quantity) else part
            for part in self.parts
        )


says = Sentence


def joined(between: str, parts: Iterable[str | Quantity]) -> Sentence:
    """Parts with a text between each two of them; empty ones are left out."""
    listed: list[str | Quantity] = []
    for part in parts:
        if part:
            listed += [between, part] if listed else [part]
    return Sentence(*listed)


def begun(text: str) -> str:
    """What is to begin a sentence, with a capital letter."""
    first, *rest = text.parts if isinstance(text, Sentence) else (text,)
    return says(first[:1].upper() + first[1:], *rest) if isinstance(first, str) else text


def told(text: str, units: str, *, signs: bool = False) -> str:
    """What the engine says, in the reader's units; text without quantities as it is."""
    return text.told(units, signs=signs) if isinstance(text, Sentence) else text


def kg(value: float, digits: str = ".0f") -> Quantity:
    """A mass."""
    return Quantity(value, "kg", digits)


def mm(value: float, digits: str = ".0f") -> Quantity:
    """A length of packs and spaces."""
    return Quantity(value, "mm", digits)


def metres(value: float, digits: str = ".1f") -> Quantity:
    """A length of cable."""
    return Quantity(value, "m", digits)


def degc(value: float, digits: str = ".0f") -> Quantity:
    """A temperature."""
    return Quantity(value, "degC", digits)
