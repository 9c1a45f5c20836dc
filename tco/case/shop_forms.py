"""What shops write in place of a plain number: "≥ 6000", "4000-6000", "4000 @ 80 %", "12V100Ah".

`read_shop_form` reads such a text and says in a sentence what was taken of it. A plain quantity is
left to the ordinary reader (`tco.case.units`), and so is what can be read in two ways ("~1,250"),
which is asked back. What is only half understood is not read at all.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from tco.case.units import UnitProblem, parse_price, to_canonical, unit_of_field

MORE_IS_BETTER = frozenset(
    {
        "capacity_ah", "usable_depth", "continuous_discharge_a", "peak_discharge_a",
        "continuous_charge_a", "rated_cycles", "rated_depth", "end_of_life",
        "calendar_life_years", "max_series", "max_parallel", "max_packs",
        "warranty_years",
    }
)  # fmt: skip
"""Of a range the lower end is taken."""
LESS_IS_BETTER = frozenset(
    {
        "width_mm", "depth_mm", "height_mm", "mass_kg", "internal_resistance_mohm", "heater_w",
        "short_circuit_a",
        "self_discharge_per_month", "lead_time_days", "price", "freight_price",
    }
)  # fmt: skip
"""Of a range the higher end is taken."""
LONGEST = 80
"""A longer text is prose."""
WIDEST_RANGE = 50.0
"""Ends that differ by more than this factor are no range but, say, a month and a year."""

_SHARES = frozenset({"usable_depth", "rated_depth", "end_of_life", "self_discharge_per_month"})
_WHOLE = frozenset({"max_series", "max_parallel", "max_packs"})
_PIECES = r"(?:packs?|strings?|pcs|pieces|units?|s|p)?"

_BLANKS = str.maketrans(
    dict.fromkeys("\xa0\u2009\u202f\t\r\n", " ") | {"\u2212": "-", "‑": "-", "％": "%"}
)
_DIGITS = r"[0-9](?:[0-9.,'’ ]*[0-9])?"
_UNIT = r"(?:[^\W\d_]|[%°℃℉\"″/ .])*"
_BETWEEN = r"\s*(?:-|–|—|~|\.\.\.?|…|\bto\b|\bbis\b)\s*"
_RANGE = re.compile(
    rf"([+-]?{_DIGITS})\s*({_UNIT}?){_BETWEEN}([+-]?{_DIGITS})\s*({_UNIT})", re.IGNORECASE
)
_LETTERS = r"[^\W\d_]|[°℃℉\"″]"
_TWO_UNITS = re.compile(
    rf"([+-]?{_DIGITS}\s*(?:{_LETTERS})+)\s*[(/]\s*([+-]?{_DIGITS}\s*(?:{_LETTERS})+)\)?",
    re.IGNORECASE,
)
_ROUNDED = 0.03
"""How far the same quantity in two units may be apart, both being rounded."""
_BEFORE = re.compile(
    r"(?P<least>≥|>=|=>|>|min(?:imum|\.|\b)|mind\.|at least|more than|over|from\b|ab\b)"
    r"|(?P<most>≤|<=|=<|<|max(?:imum|\.|\b)|at most|up to|bis zu)"
    r"|(?P<about>[~≈]|approx(?:imately|\.|\b)|circa|ca\.?(?=[\s0-9])|about|around|typ(?:ical|\.|\b))",
    re.IGNORECASE,
)
_AFTER = re.compile(
    r"\s*(?:(?P<least>\+|or more|or better|\(?min(?:imum|\.)?\)?)"
    r"|(?P<most>or less|\(?max(?:imum|\.)?\)?)"
    r"|(?P<about>\(?approx(?:imately|\.)?\)?|\(?typ(?:ical|\.)?\)?))",
    re.IGNORECASE,
)
_MEANT = {
    "least": "the least that is promised",
    "most": "the most that is promised",
    "about": "about so much, it says",
}
_TAX = r"VAT|GST|sales tax|tax(?:es)?|MwSt\.?|USt\.?|TVA|BTW|IVA|moms"
_SENDING = r"shipping|delivery|freight|postage|P&P|Versand"
_WITH = r"incl?\.?|inkl\.?|including|with|ex\.?|excl\.?|exkl\.?|excluding|without|plus|zzgl\.?|\+"
_DROPPED = re.compile(
    rf"[\s,(\[]*((?:{_WITH})\s*(?:[0-9]+(?:[.,][0-9]+)?\s*%\s*)?(?:{_TAX}|{_SENDING}))[)\]]?",
    re.IGNORECASE,
)
_VOLTS = r"([0-9]+(?:[.,][0-9]+)?)\s*v(?:dc|olts?)?\b"
_AMPERE_HOURS = r"([0-9]+(?:[.,][0-9]+)?)\s*ah\b"
_WATT_HOURS = r"(?:[\s,;(/]*[0-9]+(?:[.,][0-9]+)?\s*k?wh\)?)?"
_PACK = re.compile(
    rf"{_VOLTS.removesuffix(chr(92) + 'b')}[\s/,;x-]*{_AMPERE_HOURS}{_WATT_HOURS}"
    rf"|{_AMPERE_HOURS}[\s/,;@x-]*{_VOLTS}{_WATT_HOURS}",
    re.IGNORECASE,
)

_SHARE = r"([0-9]{1,3}(?:[.,][0-9]+)?)\s*%"
_OF_DEPTH = r"(?:dod|d\.o\.d\.?|depth of discharge|depth|discharged?)"
_OF_HEALTH = (
    r"(?:eol|soh|end of life|health|retention"
    r"|(?:of )?(?:the )?(?:remaining |residual |retained |initial |original |rated |nominal )?"
    r"capacity(?: retention| remaining| left)?)"
)
_CONDITIONS = tuple(
    (kind, re.compile(pattern, re.IGNORECASE))
    for kind, pattern in (
        ("depth", rf"(?:to )?{_SHARE}\s*{_OF_DEPTH}"),
        ("depth", rf"{_OF_DEPTH}\s*[:=]?\s*(?:of )?{_SHARE}"),
        ("health", rf"(?:to |until |till |down to |bis )?{_SHARE}\s*{_OF_HEALTH}"),
        ("health", rf"(?:to )?{_OF_HEALTH}\s*[:=]?\s*(?:of )?{_SHARE}"),
        ("health", rf"(?:to|until|till|down to|bis) {_SHARE}"),
        ("depth", rf"{_SHARE}"),
        ("dropped", r"([+-]?[0-9]+(?:[.,][0-9]+)?\s*(?:°\s*[cf]|℃|deg ?[cf])(?![a-z]))"),
        ("dropped", r"([0-9]+(?:[.,][0-9]+)?\s*c(?:/[0-9]+(?:[.,][0-9]+)?\s*c)?(?![a-z]))"),
        ("between", r"(?:cycles?|cycle life|zyklen|times|and|und|with|at|bei|@|[\s,;:()|/])"),
    )
)


@dataclass(frozen=True)
class ShopForm:
    """What was read: values by field in canonical units, and a sentence on what was taken."""

    values: Mapping[str, float]
    said: str


def read_shop_form(field: str, text: str, *, typed_unit: str = "") -> ShopForm | None:
    """Read what a shop wrote for a field of a candidate.

    Parameters
    ----------
    field
        Name of the field the text was typed in, such as "rated_cycles".
    text
        What stands there.
    typed_unit
        Unit of a number without one (that of a heading), "" for the field's own.

    Returns
    -------
    ShopForm
        With the field's own value among others that the text states. None where the text is a
        plain value, can be read in two ways, or cannot be read.

    Examples
    --------
    >>> read_shop_form("rated_cycles", "4000 @ 80 %").values
    mappingproxy({'rated_cycles': 4000.0, 'rated_depth': 0.8})
    >>> read_shop_form("mass_kg", "10–15 kg").said
    "15 kg of '10–15 kg': the cautious end"
    """
    plain = " ".join(text.translate(_BLANKS).split())
    unit = _unit_of(field)
    if field.endswith("_per_month") and typed_unit.startswith("%"):
        typed_unit = "%"
    if (
        len(plain) > LONGEST
        or unit is None
        or not re.search(r"[0-9]", plain)
        or _is_plain(field, plain, unit, typed_unit)
    ):
        return None
    try:
        if _is_price(field):
            return _price(field, plain)
        for read in (_pack, _cycles, _in_two_units, _temperatures, _amount):
            form = read(field, plain, typed_unit)
            if form is not None:
                return form
    except UnitProblem:
        return None
    return None


def without_word(text: str) -> str:
    """A number without a word on how far it holds; any other text comes back as it is.

    >>> without_word("max. 100 A"), without_word("~100"), without_word("100 A")
    ('100 A', '100', '100 A')
    """
    plain = " ".join(text.translate(_BLANKS).split())
    rest, meant = _split_word(plain) if len(plain) <= LONGEST else (plain, "")
    return rest if meant else text


def _split_word(text: str) -> tuple[str, str]:
    """A text without the word before or after its number, and what that word means."""
    before = _BEFORE.match(text)
    if before is not None:
        return text[before.end() :].strip(), _MEANT[before.lastgroup or ""]
    after = re.search(rf"(?:{_AFTER.pattern})$", text, re.IGNORECASE)
    if after is None:  # "4000+ cycles"
        after = re.search(r"(?<=[0-9])(?P<least>\+)(?=\s*[^\W\d_])", text)
    if after is None:
        return text, ""
    return (text[: after.start()] + text[after.end() :]).strip(), _MEANT[after.lastgroup or ""]


def means_thousands(field: str, text: str, *, money: bool = False) -> bool:
    """Whether a number begins with one mark before three digits that are thousands by its field.

    Money for a thing has at most two decimals, and rated cycles are whole; money per kWh or metre
    may have three.

    >>> means_thousands("price", "1.590 €"), means_thousands("rated_cycles", "6,000+")
    (True, True)
    >>> means_thousands("capacity_ah", "1.250"), means_thousands("price", "0.125")
    (False, False)
    """
    if not (field == "rated_cycles" or ((money or _is_price(field)) and "_per_" not in field)):
        return False
    return re.match(r"[^0-9]*[1-9][0-9]{0,2}[.,][0-9]{3}(?![0-9.,]*[0-9])", text) is not None


def _unit_of(field: str) -> str | None:
    """Canonical unit of a field that holds one quantity, None of any other."""
    if _is_price(field) or field in _WHOLE:
        return "#"
    return unit_of_field(field) or ("" if field in _SHARES else None)


def _is_price(field: str) -> bool:
    return "price" in field or field.startswith("labour")


def _is_plain(field: str, text: str, unit: str, typed_unit: str) -> bool:
    """Whether the ordinary reader takes the text, or asks which of two numbers is meant."""
    try:
        if _is_price(field):
            parse_price(text)
        else:
            to_canonical(text, unit, typed_unit=typed_unit)
    except UnitProblem as problem:
        return problem.what.startswith("can mean") and field != "rated_cycles"
    return True


def _form(values: Mapping[str, float], said: str) -> ShopForm:
    return ShopForm(MappingProxyType(dict(values)), said)


def _read(field: str, text: str, typed_unit: str) -> float:
    """One quantity; cycles are whole, so that three digits after a mark are thousands."""
    if field == "rated_cycles":
        text = re.sub(r"^([1-9][0-9]{0,2})[.,]([0-9]{3})(?![0-9.,])", r"\1\2", text)
        text = re.sub(r"\s*(?:cycles?|cycle life|zyklen)$", "", text, flags=re.IGNORECASE)
    if field in _WHOLE:
        text = re.sub(rf"^([0-9]+)\s*{_PIECES}$", r"\1", text, flags=re.IGNORECASE)
        typed_unit = ""
    if field == "self_discharge_per_month":
        text = re.sub(r"\s*(?:/|per|a|pro)\s*(?:month|mo|monat)\.?$", "", text, flags=re.IGNORECASE)
    number = to_canonical(text, _unit_of(field) or "", typed_unit=typed_unit)
    if field in _WHOLE and number != int(number):
        raise UnitProblem("is not a whole number")
    return number


def _amount(field: str, text: str, typed_unit: str) -> ShopForm | None:
    """One quantity with a word before or after it, or a range of which one end is taken."""
    found = _plain_or_range(field, text, typed_unit)
    if found is None:
        return None
    number, taken, why = found
    return _form({field: number}, f"{taken} of {text!r}: {why}")


def _plain_or_range(field: str, text: str, typed_unit: str) -> tuple[float, str, str] | None:
    """A number, the piece of the text that it was read from, and why that one."""
    rest, meant = _split_word(text)
    ends = _ends(field, rest, typed_unit)
    if ends is not None:
        return ends
    if not meant and field not in ("rated_cycles", "self_discharge_per_month"):
        return None
    number = _read(field, rest, typed_unit)
    return number, rest, meant or "as cycles and months are counted"


def _ends(field: str, text: str, typed_unit: str) -> tuple[float, str, str] | None:
    """The cautious end of a range, None where the text is none or the field has no such end."""
    match = _RANGE.fullmatch(text)
    if match is None or field not in MORE_IS_BETTER | LESS_IS_BETTER:
        return None
    first, first_unit, second, second_unit = (part.strip() for part in match.groups())
    if re.match(r"0[0-9]", first) or re.match(r"0[0-9]|[+-]", second):
        return None  # a date, or a sign where none belongs
    texts = [f"{first} {first_unit or second_unit}".strip(), f"{second} {second_unit}".strip()]
    low, high = (_read(field, piece, typed_unit) for piece in texts)
    if not 0.0 < low < high <= WIDEST_RANGE * low:
        return None
    if field in MORE_IS_BETTER:
        return low, texts[0], "the cautious end"
    return high, texts[1], "the cautious end"


def _in_two_units(field: str, text: str, typed_unit: str) -> ShopForm | None:
    """One quantity stated in two units ("20 kg (44 lb)"); nothing where the two disagree."""
    unit = _unit_of(field) or ""
    match = _TWO_UNITS.fullmatch(text)
    if match is None or unit not in ("mm", "kg", "degc"):
        return None
    first, second = (part.strip() for part in match.groups())
    one, other = (to_canonical(part, unit) for part in (first, second))
    apart = 1.0 if unit == "degc" else _ROUNDED * abs(one)
    if abs(one - other) > apart:
        return None
    return _form({field: one}, f"{first} of {text!r}, which says it in two units")


def _temperatures(field: str, text: str, typed_unit: str) -> ShopForm | None:
    """Both limits of a span of temperatures, whichever of the two it was typed in."""
    match = _RANGE.fullmatch(text)
    if match is None or not re.search(r"_(min|max)_degc$", field):
        return None
    first, first_unit, second, second_unit = (part.strip() for part in match.groups())
    limits = [
        to_canonical(f"{number} {unit}".strip(), "degc", typed_unit=typed_unit)
        for number, unit in ((first, first_unit or second_unit), (second, second_unit))
    ]
    if limits[0] >= limits[1]:
        return None
    lowest, highest = (re.sub(r"_(min|max)_degc$", f"_{end}_degc", field) for end in ("min", "max"))
    values = {lowest: limits[0], highest: limits[1]}
    return _form(values, f"{first} and {second} of {text!r}: the lower and the upper limit")


def _pack(field: str, text: str, typed_unit: str) -> ShopForm | None:
    """Volts and ampere-hours in one cell, whichever of the two it was typed in."""
    if field not in ("nominal_voltage_v", "capacity_ah"):
        return None
    match = _PACK.fullmatch(text)
    if match is None:
        return None
    volts, hours = match[1] or match[4], match[2] or match[3]
    values = {
        "nominal_voltage_v": to_canonical(f"{volts} v", "v"),
        "capacity_ah": to_canonical(f"{hours} ah", "ah"),
    }
    return _form(values, f"{volts} V and {hours} Ah of {text!r}")


def _cycles(field: str, text: str, typed_unit: str) -> ShopForm | None:
    """Cycles with the depth they hold for, the health they end at, or both."""
    if field != "rated_cycles":
        return None
    head = re.match(
        rf"(?:(?:{_BEFORE.pattern})\s*)?{_DIGITS}(?:\s*cycles?)?(?:{_BETWEEN}{_DIGITS}"
        rf"(?![0-9.,]*\s*%))?(?!\s*(?:%|[0-9]))\+?",
        text,
        re.IGNORECASE,
    )
    if head is None:
        return None
    claim = head[0].strip()
    stated, dropped = _conditions(text[head.end() :])
    if stated is None or not (stated or dropped):
        return None
    try:
        values = {"rated_cycles": _read(field, claim, typed_unit)}
        taken = f"{_with_word(claim)} of {text!r}"
    except UnitProblem:
        found = _plain_or_range(field, claim, typed_unit)
        if found is None:
            return None
        values = {"rated_cycles": found[0]}
        taken = f"{_with_word(found[1])} of {text!r} ({found[2]})"
    if "depth" in stated:
        values["rated_depth"] = stated["depth"]
        taken += f", and the depth of {100 * stated['depth']:g} % they hold for"
    if "health" in stated:
        values["end_of_life"] = stated["health"]
        taken += f", and the health of {100 * stated['health']:g} % they end at"
    if dropped:
        taken += f"; not taken: {', '.join(dropped)}"
    return _form(values, taken)


def _with_word(claim: str) -> str:
    return claim if re.search(r"cycles?$", claim, re.IGNORECASE) else f"{claim} cycles"


def _conditions(text: str) -> tuple[dict[str, float] | None, list[str]]:
    """Depth and health that a claim holds for, None where a word of it is not understood."""
    stated: dict[str, float] = {}
    dropped: list[str] = []
    while text:
        found = next(
            ((kind, match) for kind, p in _CONDITIONS if (match := p.match(text)) is not None),
            None,
        )
        if found is None:
            return None, []
        kind, match = found
        text = text[match.end() :]
        if kind == "dropped":
            dropped.append(match[1])
        elif kind != "between":
            share = to_canonical(f"{match[1]} %", "")
            if kind in stated or not 0.0 < share <= (1.0 if kind == "depth" else 0.99):
                return None, []
            stated[kind] = share
    return stated, dropped


def _price(field: str, text: str) -> ShopForm | None:
    """An amount of money with words on tax or freight, or a range of amounts."""
    rest = text
    dropped: list[str] = []
    while (match := re.search(rf"(?:{_DROPPED.pattern})$", rest, re.IGNORECASE)) is not None:
        dropped.insert(0, match[1])
        rest = rest[: match.start()].strip()
    rest, meant = _split_word(rest)
    pieces = re.split(rf"(?<=[0-9€$£])(?:{_BETWEEN})(?=[^\W\d_]{{0,3}}\s*[€$£]?\s*[0-9])", rest)
    if len(pieces) == 2:
        low, high = map(parse_price, pieces)
        if not 0.0 < low < high <= WIDEST_RANGE * low:
            return None
        amount, taken, meant = high, pieces[1], "the cautious end"
    else:
        amount, taken = parse_price(rest), rest
        if not meant and not dropped:
            return None
    said = f"{taken} of {text!r}" + (f": {meant}" if meant else "")
    if dropped:
        said += f"; not taken: {', '.join(map(repr, dropped))}"
    return _form({field: amount}, said)
