"""What copper cable may carry for long, by insulation class and by whose rules, as tables.

Metric sizes take the figure of the largest American size whose cross-section is not greater, and
insulation for which a table has no column that of the class below: both err on the safe side.

Sources: ABYC E-11 (allowable amperage of single conductors, bundles, engine spaces); NFPA 70
(National Electrical Code) table 310.16, 310.15(B)(1), 310.15(C)(1), 402.5, 110.14(C) and 240.4(D).
Of ABYC's table the columns for 105 degC were seen in a reproduction; all else is from memory.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal, get_args

from tco.physics.conductor_sizes import AWG_SIZES, MM2_SIZES, Conductor

InsulationDegc = Literal[60, 70, 75, 80, 90, 105]
"""Highest temperature that the insulation is rated for: PVC of houses 70, marine cable 105."""
INSULATIONS: tuple[InsulationDegc, ...] = get_args(InsulationDegc)

WiringCode = Literal["ABYC E-11", "NEC"]
"""Whose ampacities and overcurrent limits the wiring follows."""

USUAL_INSULATION_DEGC: InsulationDegc = 105
"""Taken for new cable where nothing is stated: battery and marine cable (common practice)."""

UNKNOWN_INSULATION_DEGC: InsulationDegc = 70
"""Taken for a cable that is there and does not say: ordinary PVC. Own choice, on the safe side of
anything but rubber for 60 degC."""

MOST_BUNDLED = 24

# fmt: off
_ABYC_COLUMNS = (60, 75, 80, 90, 105)
_ABYC: Mapping[str, tuple[int, ...]] = {
    "18 AWG": (10, 10, 15, 20, 20),
    "16 AWG": (15, 15, 20, 25, 25),
    "14 AWG": (20, 20, 25, 30, 35),
    "12 AWG": (25, 25, 35, 40, 45),
    "10 AWG": (40, 40, 50, 55, 60),
    "8 AWG": (55, 65, 70, 70, 80),
    "6 AWG": (80, 95, 100, 100, 120),
    "4 AWG": (105, 125, 130, 135, 160),
    "3 AWG": (120, 145, 150, 155, 180),
    "2 AWG": (140, 170, 175, 180, 210),
    "1 AWG": (165, 195, 210, 210, 245),
    "1/0 AWG": (195, 230, 245, 245, 285),
    "2/0 AWG": (225, 265, 285, 285, 330),
    "3/0 AWG": (260, 310, 330, 330, 385),
    "4/0 AWG": (300, 360, 385, 385, 445),
}
_ABYC_105_IN_ENGINE_SPACE: Mapping[str, int] = {
    "18 AWG": 17, "16 AWG": 21, "14 AWG": 30, "12 AWG": 38, "10 AWG": 51, "8 AWG": 68,
    "6 AWG": 102, "4 AWG": 136, "3 AWG": 153, "2 AWG": 178, "1 AWG": 208, "1/0 AWG": 242,
    "2/0 AWG": 280, "3/0 AWG": 327, "4/0 AWG": 378,
}
_ABYC_ENGINE_SPACE: Mapping[int, float] = {60: 0.58, 75: 0.75, 80: 0.78, 90: 0.82, 105: 0.85}
"""ABYC E-11: share of the ampacity left in an engine space, at 50 degC."""

ABYC_BUNDLES: tuple[tuple[int, float], ...] = ((1, 1.0), (3, 0.70), (6, 0.60), (24, 0.50))
"""ABYC E-11: largest number of current-carrying conductors in the bundle, share of the ampacity
left. 3 conductors 0.70, 4 to 6 0.60, 7 to 24 0.50; two are counted as three."""

_NEC_COLUMNS = (60, 75, 90)
_NEC: Mapping[str, tuple[int, ...]] = {
    "18 AWG": (6, 6, 6),  # NEC 402.5
    "16 AWG": (8, 8, 8),  # NEC 402.5
    "14 AWG": (15, 20, 25),
    "12 AWG": (20, 25, 30),
    "10 AWG": (30, 35, 40),
    "8 AWG": (40, 50, 55),
    "6 AWG": (55, 65, 75),
    "4 AWG": (70, 85, 95),
    "3 AWG": (85, 100, 115),
    "2 AWG": (95, 115, 130),
    "1 AWG": (110, 130, 145),
    "1/0 AWG": (125, 150, 170),
    "2/0 AWG": (145, 175, 195),
    "3/0 AWG": (165, 200, 225),
    "4/0 AWG": (195, 230, 260),
}
_NEC_ENGINE_SPACE: Mapping[int, float] = {60: 0.58, 75: 0.75, 90: 0.82}
"""NEC 310.15(B)(1): share left at 46 to 50 degC where the table is for 30."""

NEC_BUNDLES: tuple[tuple[int, float], ...] = (
    (3, 1.0), (6, 0.80), (9, 0.70), (20, 0.50), (24, 0.45),
)
"""NEC 310.15(C)(1): more than three current-carrying conductors together."""

_NEC_TERMINALS_DEGC = 75
"""NEC 110.14(C): terminals are taken as rated for 75 degC, whatever the cable is."""

_NEC_SMALL: Mapping[str, float] = {
    "18 AWG": 7.0, "16 AWG": 10.0, "14 AWG": 15.0, "12 AWG": 20.0, "10 AWG": 30.0,
}
"""NEC 240.4(D): largest overcurrent device of small copper conductors. [A]"""
# fmt: on


@dataclass(frozen=True)
class _Table:
    columns: tuple[int, ...]
    rows: Mapping[str, tuple[int, ...]]
    engine_space: Mapping[int, float]
    bundles: tuple[tuple[int, float], ...]


_TABLES: Mapping[WiringCode, _Table] = {
    "ABYC E-11": _Table(_ABYC_COLUMNS, _ABYC, _ABYC_ENGINE_SPACE, ABYC_BUNDLES),
    "NEC": _Table(_NEC_COLUMNS, _NEC, _NEC_ENGINE_SPACE, NEC_BUNDLES),
}


_AMERICAN: Mapping[str, str] = {
    size.label: [thin.label for thin in AWG_SIZES if thin.area_mm2 <= size.area_mm2][-1]
    for size in (*AWG_SIZES, *MM2_SIZES)
}
"""Label of the American size whose figures a size takes."""


def column_degc(insulation_degc: int, code: WiringCode = "ABYC E-11") -> int:
    """The insulation class whose figures are taken: the highest of the table not above it.

    Raises ValueError for a class that is not in `INSULATIONS`, or for unknown rules.
    """
    if code not in _TABLES:
        raise ValueError(f"code must be one of {get_args(WiringCode)}, got {code!r}")
    if insulation_degc not in INSULATIONS:
        known = ", ".join(map(str, INSULATIONS))
        raise ValueError(
            f"ampacities are known for insulation of {known} degC, got {insulation_degc:g}: take "
            "the class below, or the cable maker's own table"
        )
    return max(degc for degc in _TABLES[code].columns if degc <= insulation_degc)


def bundling_factor(bundled: int, code: WiringCode = "ABYC E-11") -> float:
    """Share of the ampacity left when `bundled` current-carrying conductors lie together.

    `ABYC_BUNDLES` or `NEC_BUNDLES`. Raises ValueError below 1 or above 24.
    """
    if bundled < 1:
        raise ValueError(f"bundled must be 1 (alone) or more, got {bundled}")
    for largest, factor in _TABLES[code].bundles:
        if bundled <= largest:
            return factor
    raise ValueError(
        f"no bundling factor for more than {MOST_BUNDLED} conductors, got {bundled}: split them"
    )


@lru_cache(maxsize=4096)
def ampacity_a(
    conductor: Conductor,
    *,
    engine_space: bool = False,
    bundled: int = 1,
    insulation_degc: int = USUAL_INSULATION_DEGC,
    code: WiringCode = "ABYC E-11",
) -> float:
    """Continuous current in A that one conductor may carry.

    By ABYC E-11: the table's figure for the insulation, times the corrections for engine space and
    bundle. By the NEC: table 310.16 times its corrections, and no more than terminals for 75 degC
    bear. Raises ValueError for insulation or rules that are not known, and for bundles as
    `bundling_factor` does.
    """
    degc = column_degc(insulation_degc, code)
    table, label = _TABLES[code], _AMERICAN[conductor.label]
    single_a = float(table.rows[label][table.columns.index(degc)])
    corrected_a = single_a
    if engine_space:
        corrected_a = single_a * table.engine_space[degc]
        if code == "ABYC E-11" and degc == 105:
            corrected_a = float(_ABYC_105_IN_ENGINE_SPACE[label])  # as printed, rounded
    corrected_a *= bundling_factor(bundled, code)
    if code == "NEC":
        corrected_a = min(corrected_a, table.rows[label][table.columns.index(_NEC_TERMINALS_DEGC)])
    return corrected_a


def overcurrent_limit_a(conductor: Conductor, ampacity: float, code: WiringCode) -> float:
    """Largest fuse for one conductor of a corrected ampacity. [A]

    The ampacity itself (ABYC E-11, NEC 240.4); less for small conductors by NEC 240.4(D).
    """
    if code != "NEC":
        return ampacity
    return min(ampacity, _NEC_SMALL.get(_AMERICAN[conductor.label], ampacity))
