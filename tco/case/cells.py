"""Cells of a candidate table: what is written in them, and writing them."""

import re
import typing
from typing import Any

from tco.case.base import field_kind
from tco.case.candidate import Candidate
from tco.case.units import UnitProblem, parse_price, plain_decimals, to_canonical

YES = frozenset(
    {"yes", "y", "true", "1", "x", "✓", "✔", "✅", "ja", "oui", "built-in", "built in", "included"}
)
NO = frozenset(
    {"no", "n", "false", "0", "✗", "✘", "❌", "nein", "non", "none", "without", "not included"}
)
UNKNOWN = frozenset(
    {"", "?", "-", "–", "—", "n/a", "na", "n.a.", "unknown", "tbc", "tba", "not stated"}
)
"""What stands in a cell where the shop does not say."""

_PIECES = frozenset({"#", "no", "no.", "pc", "pcs", "pieces", "packs", "strings", "units"})
"""What stands after a number of packs or strings."""

_ANY_WAY_UP = ("upright", "on_side", "on_end")
_ORIENTATIONS = {"any": _ANY_WAY_UP, "all": _ANY_WAY_UP, "upright only": ("upright",)}
_BOOLS = frozenset(
    name
    for name, info in Candidate.model_fields.items()
    if bool in (info.annotation, *typing.get_args(info.annotation))
)
_KINDS = {name: field_kind(name, info) for name, info in Candidate.model_fields.items()}


def read_cell(text: str, field: str, unit: str, *, decimal_comma: bool = False) -> Any:
    """Value of a cell for a field of `Candidate`.

    Parameters
    ----------
    text
        The cell, without outer blanks, and not one of `UNKNOWN`.
    unit
        Unit in the heading, "" for the field's own.
    decimal_comma
        The table has semicolons between its cells, so `1.250` is probably twelve hundred and
        fifty; such a cell is asked back.

    Raises
    ------
    UnitProblem
        When the cell cannot be read.
    """
    if field in _BOOLS:
        if text.lower() in YES:
            return True
        if text.lower() in NO:
            return False
        raise UnitProblem("is neither yes nor no", allowed="yes, no, or an empty cell")
    if field == "orientations":
        named = _ORIENTATIONS.get(text.lower())
        parts = re.split(r"[,/;+]|\band\b", text.lower())
        return named or tuple(re.sub(r"[ -]+", "_", part.strip()) for part in parts)
    kind_and_unit = _KINDS[field]
    if kind_and_unit is None:
        return text
    kind, canonical = kind_and_unit
    if kind == "price":
        return parse_price(text)
    if field.endswith("_per_month") and unit.startswith("%"):
        unit = "%"
    if decimal_comma and re.match(r"[+-]?[1-9][0-9]{0,2}\.[0-9]{3}(?![0-9.,])", text):
        point, rest = text[: text.index(".")], text[text.index(".") + 1 :]
        raise UnitProblem(
            f"can mean {point}{rest[:3]} or {point},{rest[:3]}",
            mend=f"Write {point}{rest[:3]} or {point},{plain_decimals(rest[:3])}.",
        )
    if kind == "whole":
        text = _without_pieces(text)
    number = to_canonical(text, canonical, typed_unit=_heading_unit(unit, canonical))
    if kind == "whole":
        if number != int(number):
            raise UnitProblem("is not a whole number")
        return int(number)
    return number


def _without_pieces(text: str) -> str:
    """A number of packs or strings without the word after it: "4 packs", "4S"."""
    match = re.fullmatch(r"([0-9]+)\s*([a-z#]+\.?)", text.lower())
    return match[1] if match is not None and match[2] in _PIECES | {"s", "p"} else text


def _heading_unit(unit: str, canonical: str) -> str:
    return "" if canonical == "#" and unit in _PIECES else unit


def read_size(text: str, unit: str) -> tuple[float, ...]:
    """Width, depth and height of a size in one cell. [mm]

    >>> read_size("10 x 7.5 x 9 in", "")
    (254.0, 190.5, 228.6)

    Raises
    ------
    UnitProblem
        When it is not three numbers with one unit.
    """
    parts = [part.strip() for part in re.split(r"[x×*]", text.lower())]
    if len(parts) != 3 or not all(parts):
        raise UnitProblem(
            "is not a size", allowed="width x depth x height, such as 520 x 269 x 220"
        )
    tail = re.search(r"[a-z\"″]+$", parts[2])
    unit = tail[0] if tail is not None else unit
    return tuple(to_canonical(part, "mm", typed_unit=unit) for part in parts)


def written(value: Any) -> str:
    """A field's value as a cell that `read_cell` turns back into it."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list):
        return "/".join(value)
    if isinstance(value, float):
        # a fourth decimal keeps 499.125 from being read as thousands
        return re.sub(r"(\.[0-9]{3})$", r"\g<1>0", repr(value))
    return str(value)


def quoted(cell: str) -> str:
    """A cell as it stands in the file. (`csv.writer` leaves a lone carriage return unquoted.)"""
    if re.search(r'[",;\t\r\n]|^\s|\s$', cell):
        return '"' + cell.replace('"', '""') + '"'
    return cell
