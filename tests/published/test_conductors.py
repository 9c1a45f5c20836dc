"""Conductors against published tables and worked examples."""

import math

import pytest

from tco.physics.ampacity import ampacity_a, overcurrent_limit_a
from tco.physics.conductor_sizes import (
    AWG_SIZES,
    MM2_SIZES,
    awg_area_mm2,
    awg_diameter_mm,
    find_conductor,
)
from tco.physics.conductors import (
    resistance_ohm,
    smallest_conductor,
    voltage_drop_v,
)

FT = 0.3048
CIRCULAR_MIL_MM2 = math.pi / 4.0 * 0.0254**2

# NFPA 70 (NEC) chapter 9 table 8, stranded uncoated copper, direct current, ohm per 1000 ft at
# 75 degC. As text, because the tolerance is half a unit of the last digit printed.
NEC_OHM_PER_KFT_75C = {
    "18 AWG": "7.95",
    "16 AWG": "4.99",
    "14 AWG": "3.14",
    "12 AWG": "1.98",
    "10 AWG": "1.24",
    "8 AWG": "0.778",
    "6 AWG": "0.491",
    "4 AWG": "0.308",
    "3 AWG": "0.245",
    "2 AWG": "0.194",
    "1 AWG": "0.154",
    "1/0 AWG": "0.122",
    "2/0 AWG": "0.0967",
    "3/0 AWG": "0.0766",
    "4/0 AWG": "0.0608",
}

# IEC 60228 class 5, plain copper, maximum ohm/km at 20 degC.
IEC_OHM_PER_KM_20C = {
    10: "1.91",
    16: "1.21",
    25: "0.780",
    35: "0.554",
    50: "0.386",
    70: "0.272",
    95: "0.206",
    120: "0.161",
}
# The same standard, from memory.
IEC_SMALL_OHM_PER_KM_20C = {1.5: "13.3", 2.5: "7.98", 4: "4.95", 6: "3.30"}

# ASTM B258, nominal diameters, inches (from memory), printed to 0.0001 in.
ASTM_DIAMETER_IN = {
    "18": 0.0403,
    "16": 0.0508,
    "14": 0.0641,
    "12": 0.0808,
    "10": 0.1019,
    "8": 0.1285,
    "6": 0.1620,
    "4": 0.2043,
    "3": 0.2294,
    "2": 0.2576,
    "1": 0.2893,
    "1/0": 0.3249,
    "2/0": 0.3648,
    "3/0": 0.4096,
    "4/0": 0.4600,
    "36": 0.0050,
}

# NEC chapter 9 table 8, area in circular mils (from memory), printed to four digits.
NEC_CIRCULAR_MILS = {
    "18": 1620,
    "16": 2580,
    "14": 4110,
    "12": 6530,
    "10": 10380,
    "8": 16510,
    "6": 26240,
    "4": 41740,
    "3": 52620,
    "2": 66360,
    "1": 83690,
    "1/0": 105600,
    "2/0": 133100,
    "3/0": 167800,
    "4/0": 211600,
}

# ABYC E-11, allowable amperes, 105 degC insulation, outside and inside the engine space.
ABYC_A = {
    "18 AWG": (20, 17),
    "16 AWG": (25, 21),
    "14 AWG": (35, 30),
    "12 AWG": (45, 38),
    "10 AWG": (60, 51),
    "8 AWG": (80, 68),
    "6 AWG": (120, 102),
    "4 AWG": (160, 136),
    "3 AWG": (180, 153),
    "2 AWG": (210, 178),
    "1 AWG": (245, 208),
    "1/0 AWG": (285, 242),
    "2/0 AWG": (330, 280),
    "3/0 AWG": (385, 327),
    "4/0 AWG": (445, 378),
}

# ISO 10133, small craft, single conductors, 105 degC insulation, A (from memory).
ISO_10133_105C_A = {25: 170, 35: 210, 50: 270, 70: 330, 95: 390, 120: 450}


def half_a_digit(printed: str) -> float:
    return 0.5 * 10.0 ** -len(printed.partition(".")[2])


def test_every_awg_size_is_covered_by_the_tables_here() -> None:
    labels = [size.label for size in AWG_SIZES]
    assert labels == list(NEC_OHM_PER_KFT_75C) == list(ABYC_A)
    assert [s.area_mm2 for s in MM2_SIZES] == [*IEC_SMALL_OHM_PER_KM_20C, *IEC_OHM_PER_KM_20C]


@pytest.mark.parametrize(("label", "printed"), NEC_OHM_PER_KFT_75C.items())
def test_nec_table_8_rows_at_75_degc(label: str, printed: str) -> None:
    ohm = resistance_ohm(find_conductor(label), 1000 * FT, conductor_temperature_degc=75.0)
    assert ohm == pytest.approx(float(printed), abs=half_a_digit(printed))


@pytest.mark.parametrize("temperature_degc", [0.0, 20.0, 60.0, 90.0, 105.0])
def test_nec_temperature_formula(temperature_degc: float) -> None:
    """R2 = R1 (1 + 0.00323 (T2 - 75)), under NEC chapter 9 table 8.

    Both coefficients carry three digits, so an error of 0.000005/K over 75 K: 0.04 %.
    """
    size = find_conductor("4 AWG")
    at_75 = resistance_ohm(size, 1.0, conductor_temperature_degc=75.0)
    ours = resistance_ohm(size, 1.0, conductor_temperature_degc=temperature_degc) / at_75
    assert ours == pytest.approx(1 + 0.00323 * (temperature_degc - 75), rel=4e-4)


@pytest.mark.parametrize(
    ("area_mm2", "printed"), (IEC_SMALL_OHM_PER_KM_20C | IEC_OHM_PER_KM_20C).items()
)
def test_iec_60228_rows_at_20_degc(area_mm2: float, printed: str) -> None:
    ohm = resistance_ohm(
        find_conductor(f"{area_mm2:g} mm2"), 1000.0, conductor_temperature_degc=20.0
    )
    assert ohm == pytest.approx(float(printed), abs=half_a_digit(printed))


@pytest.mark.parametrize("size", AWG_SIZES, ids=lambda size: size.label)
def test_awg_resistance_and_area_make_copper(size) -> None:
    """Annealed copper at 20 degC is 17.241 ohm mm2/km (IEC 60028, from memory).

    Stranding adds about 2 % of length (ASTM B8, from memory), more in the smallest sizes; the
    rest is the third digit of the table.
    """
    assert 1.01 < size.resistance_ohm_per_km_20c * size.area_mm2 / 17.241 < 1.04


@pytest.mark.parametrize("size", MM2_SIZES, ids=lambda size: size.label)
def test_iec_maximum_resistance_allows_for_fine_strands(size) -> None:
    """IEC 60228 areas are nominal: the maxima lie some 7 to 17 % above solid copper."""
    assert 1.05 < size.resistance_ohm_per_km_20c * size.area_mm2 / 17.241 < 1.18


@pytest.mark.parametrize(("label", "inches"), ASTM_DIAMETER_IN.items())
def test_astm_b258_diameters(label: str, inches: float) -> None:
    assert awg_diameter_mm(label) / 25.4 == pytest.approx(inches, abs=0.00005)


@pytest.mark.parametrize(("label", "circular_mils"), NEC_CIRCULAR_MILS.items())
def test_circular_mils(label: str, circular_mils: int) -> None:
    """The table squares diameters rounded to 0.1 mil, so 2 d x 0.05 mil of tolerance.

    (6 AWG: 162.0 mil squared is 26 244, printed 26 240.) On top, half of the unit printed: 10,
    or 100 from 1/0 AWG on.
    """
    unit = 100 if circular_mils > 100_000 else 10
    tolerance = 0.1 * math.sqrt(circular_mils) + unit / 2
    found = awg_area_mm2(label) / CIRCULAR_MIL_MM2
    assert found == pytest.approx(circular_mils, abs=tolerance)


@pytest.mark.parametrize(("label", "amperes"), ABYC_A.items())
def test_abyc_allowable_amperage(label: str, amperes: tuple[int, int]) -> None:
    size = find_conductor(label)
    assert (ampacity_a(size), ampacity_a(size, engine_space=True)) == amperes


@pytest.mark.parametrize("size", AWG_SIZES, ids=lambda size: size.label)
def test_abyc_engine_space_takes_fifteen_per_cent(size) -> None:
    """Correction 0.85 for 105 degC insulation (ABYC E-11, from memory); whole amperes printed."""
    inside, outside = ampacity_a(size, engine_space=True), ampacity_a(size)
    assert inside == pytest.approx(0.85 * outside, abs=0.6)


# ABYC E-11, allowable amperes outside engine spaces, 75 degC insulation (from memory).
ABYC_75C_A = {
    "14 AWG": 20, "10 AWG": 40, "8 AWG": 65, "6 AWG": 95, "4 AWG": 125, "2 AWG": 170,
    "1 AWG": 195, "1/0 AWG": 230, "2/0 AWG": 265, "3/0 AWG": 310, "4/0 AWG": 360,
}  # fmt: skip


@pytest.mark.parametrize(("label", "amperes"), ABYC_75C_A.items())
def test_abyc_75_degc_insulation(label: str, amperes: int) -> None:
    """Inside an engine space 0.75 of it is left (ABYC E-11, from memory)."""
    size = find_conductor(label)
    assert ampacity_a(size, insulation_degc=75) == amperes
    inside = ampacity_a(size, insulation_degc=75, engine_space=True)
    assert inside == pytest.approx(0.75 * amperes)


def test_house_wire_of_70_degc_carries_two_thirds_of_marine_cable() -> None:
    """PVC for 70 degC of 50 mm2: about 170 A against 245 at 105 degC (trade figure, memory); never
    bolder than it, and within a tenth."""
    size = find_conductor("50 mm2")
    assert ampacity_a(size, insulation_degc=105) == 245
    assert 0.9 * 170 <= ampacity_a(size, insulation_degc=70) <= 170


@pytest.mark.parametrize(("cool", "warm"), [(60, 75), (75, 90), (60, 105)])
@pytest.mark.parametrize("label", ["6 AWG", "4 AWG", "2 AWG", "1/0 AWG", "2/0 AWG", "4/0 AWG"])
def test_ampacities_go_with_the_root_of_the_rise_allowed(label: str, cool: int, warm: int) -> None:
    """I^2 R is the heat that a rise over the 30 degC around drives off (J. H. Neher, M. H. McGrath,
    Trans. AIEE 76 (1957) 752-772): the table of ABYC E-11 keeps to it within 12 %, copper's greater
    resistance at the higher temperature left out, which takes up to 7 % of that."""
    size = find_conductor(label)
    ratio = ampacity_a(size, insulation_degc=warm) / ampacity_a(size, insulation_degc=cool)
    assert ratio == pytest.approx(math.sqrt((warm - 30) / (cool - 30)), rel=0.12)


# NFPA 70 (NEC) table 310.16, copper, not more than three conductors in a raceway, 30 degC
# around: A at 60 and 75 degC (from memory).
NEC_310_16_A = {
    "14 AWG": (15, 20), "12 AWG": (20, 25), "10 AWG": (30, 35), "8 AWG": (40, 50),
    "6 AWG": (55, 65), "4 AWG": (70, 85), "3 AWG": (85, 100), "2 AWG": (95, 115),
    "1 AWG": (110, 130), "1/0 AWG": (125, 150), "2/0 AWG": (145, 175), "3/0 AWG": (165, 200),
    "4/0 AWG": (195, 230),
}  # fmt: skip


@pytest.mark.parametrize(("label", "amperes"), NEC_310_16_A.items())
def test_nec_table_310_16(label: str, amperes: tuple[int, int]) -> None:
    """Insulation for 90 degC is not used beyond terminals for 75 (NEC 110.14(C), from memory)."""
    size = find_conductor(label)
    ours = [ampacity_a(size, insulation_degc=degc, code="NEC") for degc in (60, 75, 90)]
    assert ours == [amperes[0], amperes[1], amperes[1]]


def test_nec_corrections_begin_at_the_90_degc_column() -> None:
    """NEC 310.15(B), from memory: insulation for 90 degC is corrected from its own column: 2 AWG
    130 A, six conductors 0.80, 50 degC around 0.82."""
    size = find_conductor("2 AWG")
    amps = ampacity_a(size, insulation_degc=90, code="NEC", bundled=6, engine_space=True)
    assert amps == pytest.approx(130 * 0.80 * 0.82)


@pytest.mark.parametrize(
    ("label", "most_a"), [("14 AWG", 15), ("12 AWG", 20), ("10 AWG", 30), ("2.5 mm2", 15),
                          ("4 mm2", 20), ("6 mm2", 30), ("8 AWG", 50)]
)  # fmt: skip
def test_nec_240_4_d_small_conductors(label: str, most_a: int) -> None:
    """Copper 14 AWG 15 A, 12 AWG 20 A, 10 AWG 30 A (NEC 240.4(D), from memory), whatever they carry
    otherwise; 8 AWG is not small: 50 A at 75 degC. ABYC E-11 knows no such limit."""
    size = find_conductor(label)
    carries = ampacity_a(size, insulation_degc=105, code="NEC")
    assert overcurrent_limit_a(size, carries, "NEC") == most_a
    marine = ampacity_a(size, insulation_degc=105)
    assert overcurrent_limit_a(size, marine, "ABYC E-11") == marine > most_a


@pytest.mark.parametrize(
    ("bundled", "factor"), [(1, 1.0), (3, 0.7), (4, 0.6), (6, 0.6), (7, 0.5), (24, 0.5)]
)
def test_abyc_bundling(bundled: int, factor: float) -> None:
    """ABYC E-11, from memory."""
    assert ampacity_a(find_conductor("2/0 AWG"), bundled=bundled) == pytest.approx(330 * factor)


@pytest.mark.parametrize(("area_mm2", "iso_a"), ISO_10133_105C_A.items())
def test_metric_ampacity_is_not_bolder_than_iso_10133(area_mm2: int, iso_a: int) -> None:
    """Never above ISO 10133 and, one AWG step below at most, not under 85 % of it."""
    ours = ampacity_a(find_conductor(f"{area_mm2} mm2"))
    assert 0.85 * iso_a <= ours <= iso_a


@pytest.mark.parametrize(("fraction", "gauge"), [(0.03, "10 AWG"), (0.10, "16 AWG")])
def test_worked_example_by_resistance(fraction: float, gauge: str) -> None:
    """A marine supplier's handbook: 10 A, 21 ft round trip, 12 V."""
    choice = smallest_conductor(
        current_a=10.0,
        one_way_length_m=10.5 * FT,
        nominal_voltage_v=12.0,
        allowed_drop_fraction=fraction,
        system="awg",
        minimum_area_mm2=0.0,
    )
    assert choice.conductor.label == gauge
    assert choice.governed_by == "voltage drop"
    assert choice.runs == 1


@pytest.mark.parametrize("size", AWG_SIZES, ids=lambda size: size.label)
def test_the_drop_agrees_with_the_circular_mil_formula(size) -> None:
    """E = K I L / CM (ABYC E-11), within 3 %, at the 30 degC of ABYC's tables.

    K = 10.75 is 10.371 ohm circular mil per foot (annealed copper, 20 degC) times 1.0365, that is
    9 K of warmth or less warmth and some stranding; the table's stranding of 2 % comes on top.
    """
    drop = voltage_drop_v(10.0, 10.0 * FT, size, conductor_temperature_degc=30.0)
    circular_mils = size.area_mm2 / CIRCULAR_MIL_MM2
    assert 10.75 * 10.0 * 20.0 / circular_mils == pytest.approx(drop, rel=0.03)


def test_a_hot_cable_drops_a_sixth_more_than_the_formula_says() -> None:
    """Copper from 30 to 75 degC: (1 + 0.00393 x 55) / (1 + 0.00393 x 10) = 1.170."""
    size = find_conductor("2 AWG")
    hot = voltage_drop_v(100.0, 3.0, size)
    cool = voltage_drop_v(100.0, 3.0, size, conductor_temperature_degc=30.0)
    assert hot / cool == pytest.approx(1.170, abs=0.0005)
