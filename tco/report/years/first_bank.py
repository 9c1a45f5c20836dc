"""The first bank while it is in service: its years, and what it has left when it is replaced."""

import numpy as np

from tco.life.health import Life
from tco.physics.arrays import FloatArray


def replaced_in_year(life: Life) -> float | None:
    """When the first bank is replaced; None where that is not within the horizon. [years]"""
    return life.replacements[0].year if life.replacements else None


def last_year(life: Life) -> float:
    """The end of the first bank's service: its replacement, else the horizon. [years]"""
    year = replaced_in_year(life)
    return float(life.ends[-1]) if year is None else year


def at_its_end(series: FloatArray, life: Life) -> float:
    """A quantity of the first bank at the end of its service, straight between the years' ends.

    `series`, shape (years,), is 1 for a new bank, as health and growth of resistance are.
    """
    years = np.concatenate([[0.0], life.ends])
    return float(np.interp(last_year(life), years, np.concatenate([[1.0], series])))


def when_words(life: Life) -> str:
    """When its service ends: "after 10 years", "when it is replaced in year 20.0"."""
    year = replaced_in_year(life)
    if year is not None:
        return f"when it is replaced in year {year:.1f}"
    end = last_year(life)
    return f"after {end:g} year{'s' * (end != 1)}"


def health_by_year(life: Life) -> list[str]:
    """Health at the end of each year of service, and when it is replaced."""
    end, year = last_year(life), replaced_in_year(life)
    said = [
        f"{at:g}: {health:.0%}"
        for at, health in zip(life.ends, life.health, strict=True)
        if at < end or (at == end and year is None)
    ]
    if year is not None:
        said.append(f"replaced in year {year:.1f} at {at_its_end(life.health, life):.0%}")
    return said


def resistance_sentence(life: Life) -> str:
    """How far its resistance has grown by the end of its service."""
    growth = at_its_end(life.resistance_growth, life)
    return f"Resistance of the first bank {when_words(life)}: {growth:.2f} times that of a new one."
