"""Sizes of stranded copper cable: area and resistance, as tables.

Two families, American wire gauge and metric cross-sections. What they may carry is in `ampacity`.

Sources:
- NFPA 70 (National Electrical Code), chapter 9, table 8: resistance of stranded uncoated copper.
- IEC 60228, class 5 (flexible), plain copper: maximum resistance at 20 degC.
- ASTM B258: diameters of the American wire gauge.
"""

import math
import re
from dataclasses import dataclass
from typing import Literal

System = Literal["awg", "mm2"]

NEC_TEMPERATURE_COEFFICIENT_PER_K = 0.00323
"""Of copper's resistance, referred to 75 degC: R2 = R1 (1 + 0.00323 (T2 - 75)).

NEC chapter 9 table 8, note.
"""


_METRES_PER_FOOT = 0.3048
_AWG_LABEL = re.compile(r"^(?:(?P<aughts>[1-4])/0|(?P<number>\d{1,2}))(?: ?AWG)?$")

# NEC chapter 9 table 8, stranded uncoated copper, ohm per 1000 ft at 75 degC.
_AWG_ROWS: tuple[tuple[str, float], ...] = (
    ("18", 7.95),
    ("16", 4.99),
    ("14", 3.14),
    ("12", 1.98),
    ("10", 1.24),
    ("8", 0.778),
    ("6", 0.491),
    ("4", 0.308),
    ("3", 0.245),
    ("2", 0.194),
    ("1", 0.154),
    ("1/0", 0.122),
    ("2/0", 0.0967),
    ("3/0", 0.0766),
    ("4/0", 0.0608),
)

# IEC 60228 class 5, plain copper, ohm per km at 20 degC. The four smallest rows from memory.
_MM2_ROWS: tuple[tuple[float, float], ...] = (
    (1.5, 13.3),
    (2.5, 7.98),
    (4.0, 4.95),
    (6.0, 3.30),
    (10.0, 1.91),
    (16.0, 1.21),
    (25.0, 0.780),
    (35.0, 0.554),
    (50.0, 0.386),
    (70.0, 0.272),
    (95.0, 0.206),
    (120.0, 0.161),
)


@dataclass(frozen=True)
class Conductor:
    """One size of stranded copper cable."""

    label: str
    area_mm2: float
    system: System
    resistance_ohm_per_km_20c: float


def awg_number(label: str) -> int:
    """Gauge number n of an American size: "10" or "10 AWG" is 10, "1/0" is 0, "4/0" is -3.

    Raises ValueError for anything that is not a gauge between 40 and 4/0.
    """
    match = _AWG_LABEL.match(label.strip())
    if match is None:
        raise ValueError(f"{label!r} is not an American wire gauge, such as '10' or '2/0 AWG'")
    number = 1 - int(match["aughts"]) if match["aughts"] else int(match["number"])
    if number > 40:
        raise ValueError(f"wire gauge {number} is finer than 40, the finest size known here")
    return number


def awg_diameter_mm(label: str) -> float:
    """Diameter in mm of solid round wire of an American size: 0.127 * 92^((36 - n)/39).

    ASTM B258 (from memory; it gives the tables' digits). Raises ValueError as `awg_number` does.
    """
    return float(0.127 * 92.0 ** ((36 - awg_number(label)) / 39.0))


def awg_area_mm2(label: str) -> float:
    """Copper cross-section in mm2 of an American size, from its ASTM B258 diameter."""
    return math.pi / 4.0 * awg_diameter_mm(label) ** 2


def _awg_sizes() -> tuple[Conductor, ...]:
    to_20c = 1.0 + NEC_TEMPERATURE_COEFFICIENT_PER_K * (20.0 - 75.0)
    return tuple(
        Conductor(
            label=f"{size} AWG",
            area_mm2=awg_area_mm2(size),
            system="awg",
            resistance_ohm_per_km_20c=ohm_per_kft / _METRES_PER_FOOT * to_20c,
        )
        for size, ohm_per_kft in _AWG_ROWS
    )


AWG_SIZES: tuple[Conductor, ...] = _awg_sizes()
"""18 AWG to 4/0 AWG, smallest first: NEC chapter 9 table 8, ASTM B258."""


MM2_SIZES: tuple[Conductor, ...] = tuple(
    Conductor(f"{area_mm2:g} mm2", area_mm2, "mm2", ohm_per_km)
    for area_mm2, ohm_per_km in _MM2_ROWS
)
"""1.5 mm2 to 120 mm2, smallest first: IEC 60228 class 5."""

_BY_LABEL = {size.label: size for size in AWG_SIZES + MM2_SIZES}


def find_conductor(label: str) -> Conductor:
    """Return the conductor labelled so ("2/0 AWG", "35 mm2"); ValueError lists the known ones."""
    if label not in _BY_LABEL:
        raise ValueError(f"no conductor is labelled {label!r}; known: {', '.join(_BY_LABEL)}")
    return _BY_LABEL[label]
