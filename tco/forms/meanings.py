"""What a column of a shop's table may be taken for: the fields of a candidate, and their units."""

from dataclasses import dataclass

from tco.case.base import field_kind
from tco.case.candidate import Candidate
from tco.case.units import CONVERSIONS, shown_unit
from tco.forms import labels
from tco.forms.entry import NICE

KEPT = ""
"""The field of a column that is kept as it is, among the other columns of a candidate."""
LEAVE_OUT = "leave out"
"""The field of a column that is not taken."""
SIZE = "size"
"""The field of a column that holds width, depth and height in one cell."""

_LABELS = {
    **{entry.field: entry.label for entry in labels.CANDIDATE},
    SIZE: "Size: w × d × h",
    "rated_depth": "Cycles: at depth",
    "end_of_life": "Cycles: to health",
    "nominal_voltage_v": "Nominal voltage",
    "usable_depth": "Usable share",
    "continuous_discharge_a": "Discharge current",
    "peak_discharge_a": "Peak current",
    "continuous_charge_a": "Charge current",
    "internal_resistance_mohm": "Internal resistance",
    "short_circuit_a": "Short-circuit current",
    KEPT: "keep as it is",
    LEAVE_OUT: "leave out",
}
"""Outside the grid a label stands alone, so that some have to say more than there."""
FIELDS = (*(entry.field for entry in labels.CANDIDATE), SIZE)
"""Fields that a column may be taken for, in the order of the grid."""
PARTS = ("width_mm", "depth_mm", "height_mm")
"""Fields that a size in one cell holds."""


_WORDS = {**NICE, "ohm": "Ω"}


@dataclass(frozen=True)
class Unit:
    """A unit that may be chosen: as it stands in a heading, and its word for people."""

    key: str
    words: str


def meaning_words(field: str) -> str:
    """What the meaning of a column is called where it is chosen.

    >>> meaning_words("mass_kg"), meaning_words("size")
    ('Mass', 'Size: w × d × h')
    """
    return _LABELS.get(field, field.replace("_", " "))


def own_unit(field: str) -> str:
    """Unit that numbers of a field are kept in: "" a share, "#" without one (text, money, pieces).

    >>> own_unit("mass_kg"), own_unit("usable_depth"), own_unit("price"), own_unit("size")
    ('kg', '', '#', 'mm')
    """
    if field == SIZE:
        return "mm"
    info = Candidate.model_fields.get(field)
    kind = field_kind(field, info) if info is not None else None
    return kind[1] if kind is not None else "#"


def units_of(field: str) -> tuple[Unit, ...]:
    """Units that the numbers of a column may be in, one name each; none where the field has none.

    >>> [unit.words for unit in units_of("mass_kg")]
    ['kg', 'g', 'lb', 'oz']
    """
    own = own_unit(field)
    if own == "#":
        return ()
    if own == "":
        return (Unit("", "fraction (0.8)"), Unit("%", "%"))
    found: dict[tuple[float, float], str] = {}
    for key in CONVERSIONS[own]:
        found.setdefault(_measure(own, key), key)
    return tuple(Unit(key, _WORDS.get(key, shown_unit(key))) for key in found.values())


def _measure(own: str, key: str) -> tuple[float, float]:
    """What tells units apart: where their nought and their one lie."""
    convert = CONVERSIONS[own][key]
    return convert(0.0), convert(1.0)


def chosen_unit(field: str, unit: str) -> str:
    """The unit of a heading by the name that `units_of` has for it; a stranger stays as it is.

    >>> chosen_unit("mass_kg", "Lbs"), chosen_unit("mass_kg", ""), chosen_unit("mass_kg", "stone")
    ('lb', 'kg', 'stone')
    """
    own, plain = own_unit(field), unit.lower().strip()
    if own == "#":
        return ""
    if field.endswith("_per_month") and plain.startswith("%"):
        return "%"
    if not plain:
        return own
    if plain not in CONVERSIONS[own]:
        return unit
    same = _measure(own, plain)
    return next(known.key for known in units_of(field) if _measure(own, known.key) == same)


def unit_words(field: str, unit: str) -> str:
    """A chosen unit for people; "" where the field has none."""
    return next((known.words for known in units_of(field) if known.key == unit), unit)


def fits(field: str, unit: str) -> bool:
    """Whether numbers of a field can be in a unit."""
    units = units_of(field)
    return not units or any(known.key == chosen_unit(field, unit) for known in units)
