"""Words for every room: numbers with their noun, years, and text made safe for markdown."""

import re

from tco.life.health import LONGEST_LIFE_YEARS

_SPECIAL = re.compile(r"([\\`*_{}\[\]<>()#+!|$~^&=-])")
_LINK = re.compile(r"(?<=:)(?=//)|(?<=www)(?=\.)|(?=@)", re.IGNORECASE)
_SHORTCODE = re.compile(r":(?=[\w+/-]+[:\[])")


def literal(text: str) -> str:
    """Text for a markdown widget that shows as it is: no emphasis, HTML, LaTeX, emoji, link.

    A word joiner (which has no width) keeps `:smile:` from becoming a picture and `www.` a link.
    """
    one_line = " ".join(text.split())
    escaped = _LINK.sub("\u2060", _SHORTCODE.sub(":\u2060", one_line))
    return _SPECIAL.sub(r"\\\1", escaped)


def years(life_years: float | None) -> str:
    """A life in words, to the precision it deserves; None is longer than lives are followed."""
    if life_years is None:
        return f"more than {LONGEST_LIFE_YEARS} years"
    if life_years < 1.0:
        months = round(12.0 * life_years)
        return "less than a month" if months < 1 else count(months, "month")
    if life_years < 3.0:
        return f"{life_years:.1f} years"
    return f"{life_years:.0f} years"


def count(number: float, word: str) -> str:
    """A number with its noun: `1 year`, `2 years`, `7.5 years`."""
    return f"{number:g} {word}" if number == 1 else f"{number:g} {word}s"
