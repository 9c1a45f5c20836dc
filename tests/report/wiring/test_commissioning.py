"""Putting a bank into service: order, figures and settings, for whatever is built."""

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tco.bank.arrangements import Arrangement
from tco.bank.bank import Bank, wired
from tco.case import Case, read_case, specify
from tco.compare import compare
from tco.report.machine import as_data
from tco.report.text import arrangement_text
from tco.report.wiring.commissioning import STAGES, Step, commissioning, commissioning_html
from tco.report.wiring.frames import commissioning_stage

Build = Callable[..., Case]
DEMOS = Path(__file__).parents[3] / "candidates_demo"
SOURCES: dict[str, Any] = {
    "solar": [{"name": "roof", "peak_w": 400.0, "controller_a": 30.0, "adjustable": True}],
    "engine": [
        {"name": "alternator", "rating_a": 60.0, "direct": True, "hours_per_day": 1.0,
         "adjustable": True}
    ],
    "shore": [
        {"name": "mains", "rating_a": 30.0, "nights_per_month": 2, "replacement_price": 200.0}
    ],
}  # fmt: skip
INVERTER = {"continuous_w": 800.0, "cutoff_voltage_v": 10.5}


def bank_of(case: Case, series: int = 1, parallel: int = 1) -> Bank:
    return wired(case, Arrangement(specify(case.candidates[0]), series, parallel), current_a=80.0)


def steps_of(case: Case, series: int = 1, parallel: int = 1) -> tuple[Step, ...]:
    return commissioning(case, bank_of(case, series, parallel))


def full(plain_case: Build, **changes: Any) -> Case:
    system = {"old_bank": {"chemistry": "agm"}, "inverter": INVERTER}
    return plain_case(system=system, sources=SOURCES, **changes)


def said(steps: tuple[Step, ...], stage: str, where: str = "") -> str:
    return " ".join(s.what for s in steps if s.stage == stage and where in s.where)


def test_stages_come_in_their_order(plain_case: Build) -> None:
    """Dead before anybody builds, set before anything charges, measured before it is joined."""
    steps = steps_of(full(plain_case), parallel=2)
    order = list(STAGES)
    places = [order.index(step.stage) for step in steps]
    assert places == sorted(places)
    assert {step.stage for step in steps} == set(STAGES)
    for earlier, later in (("dead", "built"), ("set", "charged"), ("measured", "joined")):
        assert order.index(earlier) < order.index(later)


def test_panels_go_before_the_battery_and_come_back_after_it(plain_case: Build) -> None:
    steps = steps_of(full(plain_case))
    dead = [step.where for step in steps if step.stage == "dead"]
    assert dead.index("roof") < dead.index("the old bank")
    assert "panels off before the battery" in said(steps, "dead", "roof")
    assert "Battery first, panels after it." in said(steps, "charged", "roof")
    assert "panels" not in said(steps, "charged", "alternator")


def test_settings_by_charger_from_the_old_bank_to_the_new(plain_case: Build) -> None:
    """AGM to LFP in 12 V: 6 x 2.40 = 14.4 V becomes 4 x 3.55 = 14.2 V; float 13.6 (6 x 2.27) V
    becomes 13.5 (4 x 3.375) V."""
    steps = [step for step in steps_of(full(plain_case)) if step.stage == "set"]

    def change(where: str, setting: str) -> tuple[str, str]:
        (step,) = (s for s in steps if s.where == where and s.what.startswith(setting))
        return step.before, step.after

    assert change("roof", "absorption voltage") == ("14.4 V", "14.2 V")
    assert change("roof", "float voltage") == ("13.6 V", "13.5 V")
    assert change("alternator", "temperature compensation") == ("on", "off")
    # a new charger was never set to anything
    assert change("what replaces mains", "absorption voltage") == ("", "14.2 V")
    assert "protection before it charges" in said(tuple(steps), "set", "alternator")


def test_without_an_old_bank_nothing_is_said_of_what_was_set(plain_case: Build) -> None:
    assert not any(step.before for step in steps_of(plain_case(sources=SOURCES)))
    same = plain_case(system={"old_bank": {"chemistry": "lfp"}}, sources=SOURCES)
    assert not any(step.before for step in steps_of(same))


def test_packs_are_evened_out_where_there_are_several(plain_case: Build) -> None:
    """Strings 0.053 V apart (0.05 V of 12 V, 12.8 V packs), with the least resistance they may have
    between them, as short circuits are reckoned."""
    case = full(plain_case, candidate={"internal_resistance_mohm": 3.2})
    assert not said(steps_of(case), "even")
    bank = bank_of(case, parallel=2)
    assert bank.wiring is not None
    least_ohm = bank.wiring.circuit.source.string_ohm
    assert least_ohm < 0.0032
    two = said(commissioning(case, bank), "even")
    assert "within 0.05 V" in two
    assert f"up to {0.05 * 12.8 / 12.0 / (2.0 * least_ohm):.0f} A" in two
    series = plain_case(system={"nominal_voltage_v": 24})
    assert "in series that begin unequal" in said(steps_of(series, series=2), "even")
    assert "Why:" not in said(steps_of(series, series=2), "even")


def test_figures_are_those_of_the_circuit(plain_case: Build) -> None:
    bank = bank_of(full(plain_case), parallel=2)
    steps, wiring = commissioning(full(plain_case), bank), bank.wiring
    assert wiring is not None
    loaded, joined = said(steps, "loaded"), said(steps, "joined")
    assert f"At {wiring.circuit.current_a:.0f} A" in loaded
    main_ohm = sum(c.ohm for c in wiring.circuit.of_role("main"))
    main_ohm += 0.06 / wiring.main_fuse.rating_a
    assert f"loses about {wiring.circuit.current_a * main_ohm:.2f} V" in loaded
    assert f"may lose {wiring.circuit.main_drop_v:.2f} V" in loaded
    assert f"{50.0 * bank.unevenness:.0f} % in the hardest" in loaded
    assert f"{wiring.main_fuse.rating_a:g} A {wiring.main_fuse.fuse_class.name}" in joined
    (cutoff,) = (step.after for step in steps if step.where == "inverter" and step.after)
    assert cutoff == "10.5 V"


def test_a_display_is_set_where_there_is_one(plain_case: Build) -> None:
    shows = steps_of(full(plain_case, candidate={"charge_display": True}), parallel=2)
    assert "200 Ah" in said(shows, "charged", "charge display")
    none = steps_of(full(plain_case, candidate={"charge_display": False}))
    assert not said(none, "charged", "charge display")


def test_without_chargers_nothing_is_charged_together(plain_case: Build) -> None:
    case = plain_case(sources={"solar": [], "engine": [], "shore": [], "generator": []})
    assert "Together" not in said(steps_of(case), "charged")
    cold = next(iter(compare(case).results)).screening.check("charging_in_the_cold")
    assert (cold.verdict, cold.value) == ("pass", None)
    assert "no source ever charges it" in cold.reason


def test_uneven_strings_take_less_together(plain_case: Build) -> None:
    case = plain_case(system={"take_off": "one end"}, sources=SOURCES)
    bank = bank_of(case, parallel=3)
    assert bank.unevenness > 1.01
    takes = 3.0 * bank.arrangement.pack.continuous_charge_a / bank.unevenness
    assert f"no more than the {takes:.0f} A" in said(commissioning(case, bank), "charged")


def test_no_charger_is_said_to_give_more_than_the_bank_takes(plain_case: Build) -> None:
    case = full(plain_case, candidate={"continuous_charge_a": 20.0})
    assert "up to 20 A" in said(steps_of(case), "charged", "alternator")
    assert "no more than the 20 A" in said(steps_of(case), "charged")


def test_an_external_management_is_switched_on_before_its_contactor_closes(
    plain_case: Build,
) -> None:
    prices = {"external_management_price": 200.0, "contactor_price": 90.0}
    case = full(plain_case, candidate={"internal_management": False}, prices=prices)
    steps = steps_of(case)
    assert "leave its contactor open" in said(steps, "built", "external management")
    order = [step.where or step.what for step in steps if step.stage == "joined"]
    assert order[0] == "external management"
    assert not said(steps_of(full(plain_case)), "joined", "external management")


def test_a_bank_that_cannot_be_wired_has_no_list(plain_case: Build) -> None:
    case = plain_case()
    assert commissioning(case, Bank(bank_of(case).arrangement)) == ()


@pytest.mark.parametrize("demo", ["otterbank", "coldharbour", "larch_hut"])
def test_every_step_is_on_screen_on_paper_in_text_and_in_json(demo: str) -> None:
    case = read_case(DEMOS / f"{demo}.toml")
    comparison = compare(case)
    rows = as_data(comparison)["arrangements"]
    for row, result in list(zip(rows, comparison.results, strict=True))[:4]:
        steps = commissioning(case, result.bank)
        assert [step["stage"] for step in row["commissioning"]] == [s.stage for s in steps]
        text = " ".join(arrangement_text(comparison, result).split())
        page = commissioning_html(case, result.bank)
        shown = [commissioning_stage(steps, stage, case.units) for stage in STAGES]
        on_screen = sum(len(frame) for frame in shown)
        assert on_screen == page.count("☐") == len(re.findall(r"☐", page)) > 20
        for stage, name in STAGES.items():
            assert (f"<h2>{name}" in page) == any(step.stage == stage for step in steps)
        assert "A battery cannot be switched off" in text
        assert "A battery cannot be switched off" in page


def test_names_do_no_harm_on_the_page(plain_case: Build) -> None:
    case = plain_case(candidate={"name": "<b>x</b>"})
    assert "<b>x" not in commissioning_html(case, bank_of(case))
