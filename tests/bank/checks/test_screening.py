"""Every requirement: one case that passes, one that fails, and the limit itself."""

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from tco.bank.arrangements import Arrangement
from tco.bank.bank import wired
from tco.bank.budget import energy_budget, peak_demand
from tco.bank.charging import chargers_to_replace
from tco.bank.checks.check import REQUIREMENTS, Check, Screening
from tco.bank.checks.screening import judge_year, required_current_a, screen
from tco.bank.choices import arrangements
from tco.bank.cold import design_temperature_degc
from tco.case import Case

Build = Callable[..., Case]


def screening(case: Case, parallel: int = 1) -> Screening:
    budget, demand = energy_budget(case), peak_demand(case)
    arrangement = next(a for a in arrangements(case, budget) if a.parallel == parallel)
    bank = wired(case, arrangement, current_a=required_current_a(case, demand))
    return screen(case, bank, budget=budget, demand=demand)


def check(case: Case, key: str, parallel: int = 1, *, of: str = "") -> Check:
    found = [c for c in screening(case, parallel).checks if (c.key, c.of) == (key, of)]
    assert len(found) == 1, [c.requirement for c in screening(case, parallel).checks]
    return found[0]


def assert_short(found: Check, *words: str) -> None:
    assert found.verdict == "fail"
    assert found.margin is not None
    assert found.margin < 0
    for word in words:
        assert word in found.reason


def heavy(watts: float, **more: Any) -> dict[str, Any]:
    return {"name": "heavy", "power_w": watts, "hours_per_day": 0.1, **more}


# ---------------------------------------------------------------- all of it


def test_the_plain_case_passes_everything(plain_case: Build) -> None:
    result = screening(plain_case())
    assert {c.verdict for c in result.checks} == {"pass"}
    assert result.feasible
    assert result.verified
    assert result.failures() == ()
    assert result.fit is not None
    assert result.fit.fits


def test_unknown_is_feasible_but_not_verified_and_a_caution_is_both(plain_case: Build) -> None:
    unknown = screening(plain_case(candidate={"width_mm": None}))
    assert (unknown.feasible, unknown.verified) == (True, False)
    caution = screening(plain_case(candidate={"mass_kg": 30.0}))
    assert (caution.feasible, caution.verified) == (True, True)
    fail = screening(plain_case(system={"mass_limit_kg": 5.0}))
    assert (fail.feasible, fail.verified) == (False, False)
    assert [c.key for c in fail.failures()] == ["mass"]


def test_requirements_are_named_once(plain_case: Build) -> None:
    assert len(set(REQUIREMENTS.values())) == len(REQUIREMENTS)
    names = [c.requirement for c in screening(plain_case()).checks]
    assert len(names) == len(set(names))


# ---------------------------------------------------------------- voltage and count


def test_voltage(plain_case: Build) -> None:
    good = check(plain_case(), "voltage")
    assert (good.value, good.unit, good.verdict) == (12.8, "V", "pass")
    assert good.margin == pytest.approx(1.11 * 12 - 12.8)
    bad = check(plain_case(candidate={"nominal_voltage_v": 25.6}), "voltage")
    assert_short(bad, "25.6 V", "12 V system", "11.2 to 13.3 V")
    assert bad.margin == pytest.approx(1.11 * 12 - 25.6)


def test_packs_in_series(plain_case: Build) -> None:
    at_48 = {"nominal_voltage_v": 48}
    limit = check(plain_case(system=at_48), "packs_in_series")
    assert (limit.verdict, limit.margin) == ("pass", 0.0)
    bad = check(plain_case(system=at_48, candidate={"max_series": 2}), "packs_in_series")
    assert_short(bad, "needs 4 in series", "2 the maker's limit")
    assert (bad.margin, bad.unit) == (-2.0, "packs")


def test_number_of_packs(plain_case: Build) -> None:
    at_48 = plain_case(system={"nominal_voltage_v": 48}, assumptions={"max_packs": 3})
    assert_short(check(at_48, "number_of_packs"), "needs 4 packs", "3")
    at_36 = plain_case(system={"nominal_voltage_v": 36}, assumptions={"max_packs": 3})
    assert check(at_36, "number_of_packs").margin == 0.0


def test_a_maker_may_limit_all_packs_together(plain_case: Build) -> None:
    """Four in series and four strings each for itself, yet no more than three in one bank."""
    case = plain_case(candidate={"max_packs": 3}, assumptions={"largest_bank_over_need": 20.0})
    layouts = [a.layout for a in arrangements(case, energy_budget(case))]
    assert layouts == ["1S1P", "1S2P", "1S3P"]
    three = check(case, "number_of_packs", 3)
    assert (three.verdict, three.margin) == ("pass", 0.0)
    assert "the maker allows in one bank" in three.reason
    at_48 = plain_case(candidate={"max_packs": 3}, system={"nominal_voltage_v": 48})
    assert_short(check(at_48, "number_of_packs"), "needs 4 packs", "3 the maker allows")
    fewer = plain_case(candidate={"max_packs": 9}, assumptions={"max_packs": 2})
    assert "2 packs you would keep" in check(fewer, "number_of_packs").reason


# ---------------------------------------------------------------- energy


def test_energy_by_hand(plain_case: Build) -> None:
    found = check(plain_case(), "energy")
    # 12.8 V x 100 Ah x 0.9 x 0.7 health; at (15 + 10)/2 degC more than 0.9 of it is there
    assert found.value == pytest.approx(1.28 * 0.9 * 0.7)
    assert found.limit == pytest.approx(0.2)
    assert (found.unit, found.verdict) == ("kWh", "pass")
    # from a load of half the capacity in an hour cold holds back 0.20 x 12.5/25 of it, of so small
    # a one 30 % of that
    whole = check(plain_case(candidate={"usable_depth": 1.0}), "energy")
    assert whole.value == pytest.approx(1.28 * 0.7 * (1.0 - 0.3 * 0.1))


def test_energy_at_the_limit_and_below(plain_case: Build) -> None:
    holds_wh = 1280 * 0.9 * 0.7
    for share, verdict in ((1.0, "pass"), (1.001, "fail")):
        power = holds_wh / 2 / 10 * share
        case = plain_case(loads=[{"name": "l", "power_w": power, "hours_per_day": 10}])
        found = check(case, "energy")
        assert found.verdict == verdict
    assert_short(found, "0.81 kWh", "70% health", "2 days", "need 0.81", "12 degC")


def test_the_worst_month_is_where_most_is_missing_not_where_most_is_used(plain_case: Build) -> None:
    cold = [-25.0] + [15.0] * 11
    case = plain_case(
        climate={"mean_degc": cold, "min_degc": [-30.0] + [10.0] * 11},
        loads=[
            {"name": "winter", "power_w": 27, "hours_per_day": 10, "months": "Jan"},
            {"name": "summer", "power_w": 30, "hours_per_day": 10, "months": "Jul"},
        ],
    )
    assert "in Jan at -28 degC" in check(case, "energy").reason


def test_lead_acid_holds_less_at_a_high_rate(plain_case: Build) -> None:
    gel = {"chemistry": "gel", "nominal_voltage_v": 12.0, "usable_depth": 1.0, "mass_kg": 30.0}
    slow = plain_case(candidate=gel)  # 100 Wh a day: far below the 20-hour rate
    fast = plain_case(candidate=gel, load={"power_w": 1440.0, "hours_per_day": 1.0, "when": "0-24"})
    has_slow = check(slow, "energy").value
    has_fast = check(fast, "energy").value
    assert has_slow is not None
    # no rate factor: 1200 Wh x 0.8 health, 0.88 + 0.12 x 2.5/15 of capacity at 12.5 degC
    assert has_slow == pytest.approx(1.2 * 0.8 * 0.9)
    # 60 W mean is 5 A, the 20-hour rate itself: still no loss; twice that is
    assert has_fast == pytest.approx(has_slow)
    faster = plain_case(
        candidate=gel, load={"power_w": 1440.0, "hours_per_day": 2.0, "when": "0-24"}
    )
    has_faster = check(faster, "energy").value
    assert has_faster == pytest.approx(has_slow * 0.5**0.15)  # gel, exponent 1.15


# ---------------------------------------------------------------- space


def test_space(plain_case: Build) -> None:
    # 330 x 172 x 215 and 5 mm to each side, 30 mm above
    limit = check(plain_case(space={"width_mm": 340, "depth_mm": 182, "height_mm": 245}), "space")
    assert limit.verdict == "pass"
    bad = check(plain_case(space={"height_mm": 240}), "space")
    assert_short(bad, "5 mm")
    assert (bad.margin, bad.unit) == (pytest.approx(-5.0), "mm")


def test_space_is_unknown_without_all_dimensions(plain_case: Build) -> None:
    found = check(plain_case(candidate={"height_mm": None}), "space")
    assert (found.verdict, found.value, found.margin) == ("unknown", None, None)
    assert "dimensions" in found.reason


LOW = {"name": "low", "width_mm": 600, "depth_mm": 400, "height_mm": 220}
TALL = {"name": "tall", "width_mm": 345, "depth_mm": 190, "height_mm": 300}
NEED = {"name": "heater", "power_w": 100.0, "hours_per_day": 20.0}


def two_spaces(plain_case: Build, low: list[str], tall: list[str], maker: list[str]) -> Case:
    spaces = [{**LOW, "orientations": low}, {**TALL, "orientations": tall}]
    return plain_case(system={"spaces": spaces}, candidate={"orientations": maker}, loads=[NEED])


def test_each_space_has_its_own_orientations(plain_case: Build) -> None:
    """On its side the pack is 172 high and fits the low space, which upright it does not."""
    both = ["upright", "on_side"]
    lying_below = two_spaces(plain_case, ["upright", "on_side"], ["upright"], both)
    result = screening(lying_below, parallel=2)
    assert result.fit is not None
    assert result.fit.fits
    stands = {(p.compartment, p.orientation) for p in result.fit.layout}
    assert stands == {("low", "on_side"), ("tall", "upright")} or stands == {("low", "on_side")}
    # the tall space allows lying, the low one does not: nothing may lie in the low one
    upright_below = two_spaces(plain_case, ["upright"], both, both)
    result = screening(upright_below, parallel=2)
    assert result.fit is not None
    assert not result.fit.fits
    assert result.fit.fits_at_most == 1
    assert {p.compartment for p in result.fit.layout} == {"tall"}
    assert "1 of 2" in result.fit.reason
    assert_short(check(upright_below, "space", 2), "mm")


def test_packs_divide_over_spaces_of_different_orientations(plain_case: Build) -> None:
    low = {**LOW, "width_mm": 345, "depth_mm": 260, "orientations": ["on_side"]}
    tall = {**TALL, "orientations": ["upright"]}
    case = plain_case(
        system={"spaces": [low, tall]},
        candidate={"orientations": ["upright", "on_side"]},
        loads=[NEED],
    )
    fit = screening(case, parallel=2).fit
    assert fit is not None
    assert fit.fits
    assert sorted((p.compartment, p.orientation) for p in fit.layout) == [
        ("low", "on_side"),
        ("tall", "upright"),
    ]
    assert "one in the low" in fit.reason
    three = screening(case, parallel=3).fit
    assert three is not None
    assert (three.fits, three.fits_at_most, len(three.layout)) == (False, 2, 2)


def test_a_pack_that_must_not_stand_as_the_space_asks_fails(plain_case: Build) -> None:
    found = check(plain_case(candidate={"orientations": ["on_side"]}), "space")
    assert found.verdict == "fail"
    assert "on side only" in found.reason
    silent = check(plain_case(space={"orientations": ["on_side"]}), "space")
    assert silent.verdict == "fail"  # a maker who says nothing means upright


# ---------------------------------------------------------------- mass


def test_mass(plain_case: Build) -> None:
    limit = check(plain_case(system={"mass_limit_kg": 11.0}), "mass")
    assert (limit.verdict, limit.margin, limit.unit) == ("pass", 0.0, "kg")
    assert_short(check(plain_case(system={"mass_limit_kg": 8.0}), "mass"), "11 kg", "3 kg more")
    free = check(plain_case(), "mass")
    assert (free.verdict, free.margin) == ("pass", None)
    assumed = check(plain_case(candidate={"mass_kg": None}), "mass")
    assert "assumed" in assumed.reason


def test_lifting(plain_case: Build) -> None:
    def lift(mass: float, side: str = "front") -> Check:
        case = plain_case(candidate={"mass_kg": mass}, space={"opening_side": side})
        return check(case, "lifting")

    assert lift(25.0).verdict == "pass"
    heavy_pack = lift(26.0)
    assert (heavy_pack.verdict, heavy_pack.margin) == ("caution", -1.0)
    assert "two people" in heavy_pack.reason
    through_a_hatch = lift(16.0, "top")
    assert (lift(15.0, "top").verdict, lift(16.0).verdict) == ("pass", "pass")
    assert (through_a_hatch.verdict, through_a_hatch.margin) == ("caution", -1.0)
    assert "hatch" in through_a_hatch.reason
    assert "use two people or a hoist" in lift(50.0).reason
    hoisted = lift(50.5)
    assert hoisted.verdict == "caution"
    assert "a hoist or crane is a must" in hoisted.reason


# ---------------------------------------------------------------- currents


def test_continuous_current(plain_case: Build) -> None:
    limit = check(plain_case(loads=[heavy(1050.0)]), "continuous_current")  # 100 A at 10.5 V
    assert (limit.verdict, limit.value, limit.unit) == ("pass", 100.0, "A")
    assert limit.limit == pytest.approx(100.0)
    bad = check(plain_case(loads=[heavy(1071.0)]), "continuous_current")
    assert_short(bad, "100 A", "102 A", "10.5 V", "heavy")
    assert bad.margin == pytest.approx(-2.0)
    two = plain_case(loads=[heavy(1071.0, hours_per_day=2.0)])
    assert check(two, "continuous_current", parallel=2).value == pytest.approx(200.0)


INVERTER = {"continuous_w": 900.0, "surge_w": 1600.0, "efficiency": 0.9, "cutoff_voltage_v": 10.0}


def test_continuous_current_at_the_inverters_rating_or_at_its_loads(plain_case: Build) -> None:
    small = heavy(90.0, via="inverter")
    rating = plain_case(system={"inverter": INVERTER}, loads=[small])
    assert check(rating, "continuous_current").limit == pytest.approx(100.0)
    assert "inverter at its rating" in check(rating, "continuous_current").reason
    loads = plain_case(
        system={"inverter": INVERTER},
        loads=[small],
        assumptions={"current_to_carry": "loads at once"},
    )
    assert check(loads, "continuous_current").limit == pytest.approx(10.0)


def test_surge_current(plain_case: Build) -> None:
    limit = check(plain_case(loads=[heavy(500.0, surge_w=2100.0)]), "surge_current")
    assert (limit.verdict, limit.value) == ("pass", 200.0)
    assert limit.margin == pytest.approx(0.0)
    bad = check(plain_case(loads=[heavy(500.0, surge_w=2205.0)]), "surge_current")
    assert_short(bad, "200 A", "210 A", "heavy starting")
    rating = plain_case(system={"inverter": {**INVERTER, "surge_w": 1890.0}}, loads=[])
    found = check(rating, "surge_current")
    assert found.limit == pytest.approx(210.0)
    assert_short(found, "inverter's surge")
    assert "starting" not in check(plain_case(), "surge_current").reason


def test_loads_behind_the_inverter(plain_case: Build) -> None:
    def case(watts: float, surge: float) -> Case:
        return plain_case(
            system={"inverter": INVERTER},
            loads=[
                heavy(500.0, via="inverter", surge_w=surge),
                {"name": "kettle", "power_w": watts, "hours_per_day": 0.1, "via": "inverter"},
            ],
        )

    limit = check(case(400.0, 1200.0), "inverter_load")
    assert (limit.verdict, limit.margin) == ("pass", 0.0)
    over = check(case(450.0, 500.0), "inverter_load")
    assert (over.verdict, over.margin, over.unit) == ("caution", -50.0, "W")
    for word in ("heavy", "kettle", "950 W", "900 W"):
        assert word in over.reason
    assert check(case(400.0, 1200.0), "inverter_start").margin == 0.0
    start = check(case(400.0, 1250.0), "inverter_start")
    assert (start.verdict, start.margin) == ("caution", -50.0)
    none = {c.key for c in screening(plain_case()).checks}
    assert "inverter_load" not in none


# ---------------------------------------------------------------- charging


def shore(amps: float = 30.0, **more: Any) -> dict[str, Any]:
    return {
        "name": "mains",
        "rating_a": amps,
        "nights_per_month": 10,
        "profiles": ["lithium"],
        **more,
    }


def engine(amps: float = 30.0, **more: Any) -> dict[str, Any]:
    return {
        "name": "DC-DC",
        "rating_a": amps,
        "hours_per_day": 1,
        "profiles": ["lithium"],
        **more,
    }


def test_charge_current_of_one_charger(plain_case: Build) -> None:
    limit = check(plain_case(sources={"shore": [shore(50.0)]}), "charge_current", of="mains")
    assert (limit.verdict, limit.margin) == ("pass", 0.0)
    bad = check(plain_case(sources={"shore": [shore(60.0)]}), "charge_current", of="mains")
    assert_short(bad, "50 A", "60 A", "mains")
    turned = plain_case(sources={"shore": [shore(60.0, current_adjustable=True)]})
    found = check(turned, "charge_current", of="mains")
    assert (found.verdict, found.margin) == ("caution", -10.0)
    assert "turn its current down to 50 A" in found.reason


def test_solar_pushes_what_panel_and_controller_allow(plain_case: Build) -> None:
    panel = plain_case().sources.solar[0].model_dump()
    watts = plain_case(sources={"solar": [{**panel, "peak_w": 120.0, "controller_a": 60.0}]})
    limit = check(watts, "charge_current", of="panel").limit
    assert limit == pytest.approx(120.0 * 0.85 / (1.07 * 12))
    amps = plain_case(sources={"solar": [{**panel, "peak_w": 2000.0, "controller_a": 60.0}]})
    found = check(amps, "charge_current", of="panel")
    assert (found.limit, found.verdict) == (60.0, "caution")


def test_chargers_that_run_together(plain_case: Build) -> None:
    name = "charge_current_together"
    solar_a = 200.0 * 0.85 / (1.07 * 12)
    one = check(plain_case(sources={"engine": [engine(30.0)], "shore": [shore(20.0)]}), name)
    # sun and engine; the hook-up never runs beside the engine
    assert one.limit == pytest.approx(solar_a + 30.0)
    assert one.verdict == "pass"
    over = check(plain_case(sources={"engine": [engine(40.0)]}), name)
    assert over.verdict == "caution"  # each alone is within the 50 A, the panel can be turned down
    assert over.margin == pytest.approx(50.0 - 40.0 - solar_a)
    assert "DC-DC" in over.reason
    assert "panel" in over.reason
    stuck = plain_case(sources={"engine": [engine(40.0), engine(20.0, name="second")]})
    assert_short(check(stuck, name), "60 A", "cannot be turned down")
    loose = plain_case(
        sources={"engine": [engine(40.0), engine(20.0, name="second", current_adjustable=True)]}
    )
    assert check(loose, name).verdict == "caution"
    assert name not in {c.key for c in screening(plain_case()).checks}


def test_charge_profile(plain_case: Build) -> None:
    lead = shore(profiles=["lead"])
    bad = check(plain_case(sources={"shore": [lead]}), "charge_profile", of="mains")
    assert bad.verdict == "fail"
    assert "lithium" in bad.reason
    priced = plain_case(sources={"shore": [{**lead, "replacement_price": 199.0}]})
    found = check(priced, "charge_profile", of="mains")
    assert (found.verdict, "199" in found.reason) == ("caution", True)
    assert chargers_to_replace(priced, only(priced)) == (("mains", 199.0),)
    adjustable = plain_case(sources={"shore": [{**lead, "adjustable": True}]})
    assert check(adjustable, "charge_profile", of="mains").verdict == "pass"
    by_key = plain_case(sources={"shore": [shore(profiles=["lfp"])]})
    assert check(by_key, "charge_profile", of="mains").verdict == "pass"
    assert chargers_to_replace(by_key, only(by_key)) == ()


def only(case: Case) -> Arrangement:
    return arrangements(case, energy_budget(case))[0]


# ---------------------------------------------------------------- cold


def cold(plain_case: Build, night: float, mean: float = 15.0, **changes: Any) -> Case:
    return plain_case(
        climate={"min_degc": [night] + [10.0] * 11, "mean_degc": [mean] + [15.0] * 11}, **changes
    )


def test_use_in_the_cold(plain_case: Build) -> None:
    name = "use_in_the_cold"
    pack = {"discharge_min_degc": -10.0}
    limit = check(cold(plain_case, -10.0, 0.0, candidate=pack), name)
    assert (limit.verdict, limit.margin, limit.unit) == ("pass", 0.0, "degC")
    nights = check(cold(plain_case, -14.0, -4.0, candidate=pack), name)
    assert (nights.verdict, nights.margin) == ("caution", -4.0)
    bad = check(cold(plain_case, -18.0, -8.0, candidate=pack), name)
    assert_short(bad, "-18.0 degC", "Jan", "-10 degC", "-13.0 degC")


def test_a_winter_in_which_nothing_draws_does_not_matter_for_use(plain_case: Build) -> None:
    pack, use = {"discharge_min_degc": -10.0}, {"months_in_use": "Apr-Sep"}
    idle = cold(plain_case, -18.0, -8.0, candidate=pack, use=use)
    assert check(idle, "use_in_the_cold").verdict == "pass"
    alarm = cold(plain_case, -18.0, -8.0, candidate=pack, use=use, load={"also_when_away": True})
    assert check(alarm, "use_in_the_cold").verdict == "fail"


def test_design_temperature_lies_between_mean_and_mean_minimum(plain_case: Build) -> None:
    assert design_temperature_degc(cold(plain_case, -6.0, 2.0), 0) == pytest.approx(-2.0)


# ---------------------------------------------------------------- features, wiring


@pytest.mark.parametrize(
    "field", ["cell_voltages_visible", "charge_display", "low_temperature_cutoff"]
)
def test_required_features(plain_case: Build, field: str) -> None:
    required = {"required": {field: True}}
    for stated, verdict in ((True, "pass"), (False, "fail"), (None, "unknown")):
        found = check(plain_case(system=required, candidate={field: stated}), field)
        assert found.verdict == verdict
    assert field not in {c.key for c in screening(plain_case()).checks}


def test_lead_acid_needs_no_low_temperature_cutoff(plain_case: Build) -> None:
    case = plain_case(
        system={"required": {"low_temperature_cutoff": True}},
        candidate={
            "chemistry": "agm",
            "nominal_voltage_v": 12.0,
            "mass_kg": 30.0,
            "low_temperature_cutoff": None,
        },
    )
    assert check(case, "low_temperature_cutoff").verdict == "pass"


def test_cables_and_fuses(plain_case: Build) -> None:
    found = check(plain_case(), "wiring")
    assert found.verdict == "pass"
    assert found.margin is not None
    assert found.value is not None
    assert found.limit is not None
    assert found.margin == pytest.approx(found.value - found.limit) != 0.0
    far = check(plain_case(system={"cable_run_m": 80.0}, loads=[heavy(1000.0)]), "wiring")
    assert far.verdict == "fail"
    assert "main run" in far.reason
    assert "shorten the run" in far.reason


# ---------------------------------------------------------------- the simulated year


YEAR = {
    "longest_gap_hours": 7.0,
    "coldest_offered_degc": 9.0,
    "too_cold_hours": 0.0,
    "laid_up_too_cold_hours": 0.0,
}


def judged(plain_case: Build, hours: float, tolerated: float, locked: float = 0.0) -> Check:
    case = plain_case(assumptions={"tolerated_hours_without_power": tolerated})
    year = {**YEAR, "hours_without_power": hours, "locked_out_hours": locked}
    one = arrangements(case, energy_budget(case))[0]
    after = judge_year(case, Screening((), None), one, year, coldest_space_degc=5.0)
    return after.check("hours_without_power")


def test_the_simulated_year_has_the_last_word(plain_case: Build) -> None:
    at_limit = judged(plain_case, 48.0, 48.0)
    assert (at_limit.verdict, at_limit.margin) == ("pass", 0.0)
    assert_short(judged(plain_case, 60.0, 48.0), "60 h", "7 h on end", "48 h are tolerated")
    assert "no essential load" in judged(plain_case, 0.0, 0.0).reason
    locked = judged(plain_case, 0.0, 0.0, locked=12.0)
    assert "locked out by cold or heat in 12 h" in locked.reason


def test_less_than_an_hour_is_not_nothing(plain_case: Build) -> None:
    found = judged(plain_case, 0.4, 0.0)
    assert_short(found, "0.4 h")
    assert "no essential load" not in found.reason


def test_judging_the_year_keeps_the_other_checks_in_their_order(plain_case: Build) -> None:
    case = plain_case()
    before = screening(case)
    year = {**YEAR, "hours_without_power": 0.0, "locked_out_hours": 0.0}
    one = arrangements(case, energy_budget(case))[0]
    after = judge_year(case, before, one, year, coldest_space_degc=5.0)
    added = {"charging_in_the_cold", "hours_without_power"}
    assert tuple(check for check in after.checks if check.key not in added) == before.checks
    assert {check.key for check in after.checks} == added | {c.key for c in before.checks}
    places = [list(REQUIREMENTS).index(check.key) for check in after.checks]
    assert places == sorted(places)
    assert after == replace(before, checks=after.checks)
