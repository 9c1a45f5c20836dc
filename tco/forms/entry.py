"""One thing that can be typed: its field, its words, and its unit as the user has it."""

from dataclasses import dataclass
from typing import Literal

from tco.case.units import unit_of_field

Units = Literal["metric", "imperial"]
Kind = Literal["text", "number", "share", "price", "choice", "yes_no", "months", "words"]

IMPERIAL = {"mm": "in", "kg": "lb", "degc": "degf", "m": "ft"}
"""Unit in which a US user types what is kept in the key's unit."""
NICE = {
    "degc": "°C", "degf": "°F", "w": "W", "wh": "Wh", "kwh": "kWh", "a": "A", "ah": "Ah",
    "v": "V", "mohm": "mΩ", "hours": "h", "deg": "°", "percent": "%",
}  # fmt: skip
"""How a unit is written in a heading, where that differs from its key."""


@dataclass(frozen=True)
class Entry:
    """One thing that can be typed: its field in the model, and its words.

    `unit` overrides the unit read from the field's name (a unit we do not convert, such as
    "h/day"). `none` is what an empty field means, where it is not the default of the model.
    """

    field: str
    label: str
    kind: Kind = "number"
    choices: tuple[str, ...] = ()
    unit: str = ""
    help: str = ""
    none: str = "not set"

    def typed_unit(self, units: Units) -> str:
        """Key of the unit people type this field in: "" where it has none, "percent" a share."""
        if self.kind == "share":
            return "percent"
        if self.kind != "number":
            return ""
        own = unit_of_field(self.field) or ""
        return IMPERIAL.get(own, own) if units == "imperial" else own

    def key(self, units: Units) -> str:
        """Key under which a typed value goes into the case, such as `width_in`."""
        own, typed = unit_of_field(self.field) or "", self.typed_unit(units)
        if typed == own or not typed:
            return self.field
        if self.kind == "share":
            return f"{self.field}_percent"
        return f"{self.field.removesuffix('_' + own)}_{typed}"

    def shown_unit(self, units: Units, currency: str = "") -> str:
        """Unit as it stands in a heading; "" where there is none."""
        if self.kind == "price":
            return f"{currency}{self.unit}"
        typed = self.typed_unit(units)
        return self.unit or NICE.get(typed, typed)

    def heading(self, units: Units, currency: str = "") -> str:
        """Label with its unit in brackets."""
        unit = self.shown_unit(units, currency)
        return f"{self.label} [{unit}]" if unit else self.label


def entry(name: str, label: str, kind: Kind = "number", **more: str | tuple[str, ...]) -> Entry:
    """An entry in one line; `more` are the other attributes of `Entry`."""
    return Entry(name, label, kind, **more)  # type: ignore[arg-type]
