"""Each doubt is raised by its claim, and by nothing else."""

from typing import Any

import pytest

from tco.case import Candidate, Prices
from tco.case.plausibility import double_price_doubts, doubts, price_doubts

SOUND: dict[str, Any] = {
    "name": "A", "chemistry": "lfp", "nominal_voltage_v": 12.8, "capacity_ah": 100, "price": 400,
    "width_mm": 330, "depth_mm": 172, "height_mm": 215, "mass_kg": 11.5, "usable_depth": 0.9,
    "continuous_discharge_a": 100, "rated_cycles": 3000, "rated_depth": 0.8,
    "low_temperature_cutoff": True,
}  # fmt: skip


def candidate(**changes: Any) -> Candidate:
    return Candidate.model_validate(SOUND | changes)


def test_a_sound_pack_raises_none() -> None:
    assert doubts(candidate()) == ()


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"mass_kg": 6}, "213 Wh/kg is far above the usual 115"),
        ({"mass_kg": 25}, "51 Wh/kg is far below"),
        ({"height_mm": 60}, "Wh/L is far above"),
        ({"height_mm": 700}, "Wh/L is far below"),
        ({"rated_cycles": 8000}, "8000 cycles at 80 % depth is more than 2 times the 2500"),
        ({"rated_depth": None}, "without the depth"),
        ({"usable_depth": 1.0}, "leaves nothing in hand"),
        ({"continuous_discharge_a": 400}, "4.0 C, above the 3 C"),
        ({"low_temperature_cutoff": None}, "mentions no low-temperature"),
        ({"low_temperature_cutoff": False}, "has no low-temperature"),
        ({"charge_min_degc": -20}, "without a heater"),
        ({"short_circuit_a": 500}, "threshold at which a board trips"),
    ],
)
def test_one_doubt_each(changes: dict[str, Any], words: str) -> None:
    (doubt,) = doubts(candidate(**changes))
    assert words in doubt


@pytest.mark.parametrize("amps", [1_500, 12_000])
def test_a_short_circuit_current_of_thousands_of_amperes_is_believed(amps: float) -> None:
    assert doubts(candidate(short_circuit_a=amps)) == ()


def test_inches_typed_as_millimetres() -> None:
    found = doubts(candidate(width_mm=1300, depth_mm=17, height_mm=550))
    assert sum("in another unit" in doubt for doubt in found) == 2


def test_lead_drawn_deep_and_no_talk_of_cold_charging() -> None:
    agm = {"chemistry": "agm", "nominal_voltage_v": 12, "mass_kg": 31, "rated_cycles": 500}
    usual = {"rated_depth": 0.5, "continuous_discharge_a": 50, "low_temperature_cutoff": None}
    assert doubts(candidate(**agm, **usual, height_mm=240, usable_depth=0.5)) == ()
    (doubt,) = doubts(candidate(**agm, **usual, height_mm=240, usable_depth=0.9))
    assert "shortens its life" in doubt


def test_a_heater_or_titanate_may_charge_in_the_cold() -> None:
    assert doubts(candidate(charge_min_degc=-20, heater_w=50)) == ()


def test_prices_are_weighed_against_the_others_of_the_family() -> None:
    packs = [candidate(name=f"P{n}", price=p) for n, p in enumerate((400, 420, 390, 150, 1000))]
    lead = candidate(name="L", chemistry="agm", price=20, mass_kg=34)
    found = price_doubts([*packs, lead])
    assert set(found) == {"P3", "P4"}
    assert "117 per kWh is far below the 320" in found["P3"]  # 150 / 1.28 and 410 / 1.28 kWh
    assert price_doubts(packs[:3]) == {}


@pytest.mark.parametrize(("a_day", "an_hour"), [(65.0, 0.0), (0.0, 8.0), (0.0, 0.0)])
def test_one_price_of_being_dark_raises_no_doubt(a_day: float, an_hour: float) -> None:
    prices = Prices(day_without_power_price=a_day, hour_without_power_price=an_hour)
    assert double_price_doubts(prices) == ()


def test_two_prices_of_being_dark_add_up() -> None:
    (said,) = double_price_doubts(
        Prices(day_without_power_price=65.0, hour_without_power_price=8.0)
    )
    assert "a whole dark day costs 257.00" in said  # 65 + 24 x 8
