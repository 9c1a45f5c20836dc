"""Sizes of stranded copper cable: area, resistance and allowable current, as tables.

Two families, American wire gauge and metric cross-sections. Ampacities are the marine ones for
single conductors with 105 degC insulation.

Sources:
- NFPA 70 (National Electrical Code), chapter 9, table 8: resistance of stranded uncoated copper.
- IEC 60228, class 5 (flexible), plain copper: maximum resistance at 20 degC.
- ASTM B258: diameters of the American wire gauge.
- ABYC E-11: allowable amperage.
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

# NEC chapter 9 table 8, stranded uncoated copper, ohm per 1000 ft at 75 degC, and ABYC E-11
# allowable amperes, 105 degC insulation, outside and inside the engine space.
_AWG_ROWS: tuple[tuple[str, float, float, float], ...] = (
    ("18", 7.95, 20.0, 17.0),
    ("16", 4.99, 25.0, 21.0),
    ("14", 3.14, 35.0, 30.0),
    ("12", 1.98, 45.0, 38.0),
    ("10", 1.24, 60.0, 51.0),
    ("8", 0.778, 80.0, 68.0),
    ("6", 0.491, 120.0, 102.0),
    ("4", 0.308, 160.0, 136.0),
    ("3", 0.245, 180.0, 153.0),
    ("2", 0.194, 210.0, 178.0),
    ("1", 0.154, 245.0, 208.0),
    ("1/0", 0.122, 285.0, 242.0),
    ("2/0", 0.0967, 330.0, 280.0),
    ("3/0", 0.0766, 385.0, 327.0),
    ("4/0", 0.0608, 445.0, 378.0),
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
    """One size of stranded copper cable with 105 degC insulation.

    `ampacity_outside_a` and `ampacity_inside_engine_a` are for a single conductor outside and
    inside an engine space (ABYC E-11). For metric sizes they are those of the largest American
    size whose cross-section is not greater, so they err on the safe side.
    """

    label: str
    area_mm2: float
    system: System
    resistance_ohm_per_km_20c: float
    ampacity_outside_a: float
    ampacity_inside_engine_a: float


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
            ampacity_outside_a=outside_a,
            ampacity_inside_engine_a=inside_a,
        )
        for size, ohm_per_kft, outside_a, inside_a in _AWG_ROWS
    )


AWG_SIZES: tuple[Conductor, ...] = _awg_sizes()
"""18 AWG to 4/0 AWG, smallest first: NEC chapter 9 table 8, ABYC E-11, ASTM B258."""


def _mm2_sizes() -> tuple[Conductor, ...]:
    sizes = []
    for area_mm2, ohm_per_km in _MM2_ROWS:
        stand_in = max(
            (c for c in AWG_SIZES if c.area_mm2 <= area_mm2), key=lambda size: size.area_mm2
        )
        sizes.append(
            Conductor(
                label=f"{area_mm2:g} mm2",
                area_mm2=area_mm2,
                system="mm2",
                resistance_ohm_per_km_20c=ohm_per_km,
                ampacity_outside_a=stand_in.ampacity_outside_a,
                ampacity_inside_engine_a=stand_in.ampacity_inside_engine_a,
            )
        )
    return tuple(sizes)


MM2_SIZES: tuple[Conductor, ...] = _mm2_sizes()
"""1.5 mm2 to 120 mm2, smallest first: IEC 60228 class 5; ampacity of the next smaller AWG."""

_BY_LABEL = {size.label: size for size in AWG_SIZES + MM2_SIZES}


def find_conductor(label: str) -> Conductor:
    """Return the conductor labelled so ("2/0 AWG", "35 mm2"); ValueError lists the known ones."""
    if label not in _BY_LABEL:
        raise ValueError(f"no conductor is labelled {label!r}; known: {', '.join(_BY_LABEL)}")
    return _BY_LABEL[label]
