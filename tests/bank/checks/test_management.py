"""Lithium whose cells nothing watches is ruled out; an external management counts where it can act.

The rule: cells of lithium need a management that can disconnect them (makers' instructions; IEC
62619, from memory). `common practice, no source` for one unit a string.
"""

from collections.abc import Callable
from typing import Any

import pytest

from tco.bank.arrangements import Arrangement
from tco.bank.bank import Bank, wired
from tco.bank.budget import energy_budget, peak_demand
from tco.bank.checks.check import Check
from tco.bank.checks.screening import required_current_a, screen
from tco.case import Case, specify
from tco.report.wiring.diagram import wiring_diagram

PlainCase = Callable[..., Case]
BARE = {"internal_management": False}
UNIT = {"name": "Cell watch", "kind": "external management"}
CONTACTOR = {"name": "Contactor", "kind": "contactor", "rating_a": 500.0}
PRICED = {"external_management_price": 120.0, "contactor_price": 90.0}
DIRECT = {
    "engine": [{"name": "Alternator", "direct": True, "rating_a": 60.0, "hours_per_day": 1.0}]
}


def bank_of(case: Case, parallel: int = 1) -> Bank:
    amps = required_current_a(case, peak_demand(case))
    return wired(case, Arrangement(specify(case.candidates[0]), 1, parallel), current_a=amps)


def checks(case: Case, bank: Bank) -> dict[str, Check]:
    found = screen(case, bank, budget=energy_budget(case), demand=peak_demand(case))
    return {check.key: check for check in found.checks}


def management(case: Case, parallel: int = 1) -> Check:
    return checks(case, bank_of(case, parallel))["cell_management"]


def test_cells_that_nothing_watches_are_ruled_out(plain_case: PlainCase) -> None:
    check = management(plain_case(candidate=BARE))
    assert check.verdict == "fail"
    assert "1 × external management and 1 × contactor lacking" in check.reason


@pytest.mark.parametrize("parts", [[UNIT], [CONTACTOR]])
def test_half_of_it_does_not_do(plain_case: PlainCase, parts: list[dict[str, Any]]) -> None:
    assert management(plain_case(candidate=BARE, system={"parts": parts})).verdict == "fail"


def test_what_is_installed_counts(plain_case: PlainCase) -> None:
    case = plain_case(candidate=BARE, system={"parts": [UNIT, CONTACTOR]})
    bank = bank_of(case)
    check = checks(case, bank)["cell_management"]
    assert check.verdict == "caution"
    assert "in the wiring bill" not in check.reason
    assert "before the first charge" in check.reason
    assert bank.wiring is not None
    assert not [
        line for line in bank.wiring.bill if line.part in ("external management", "contactor")
    ]


def test_each_string_has_a_unit_of_its_own(plain_case: PlainCase) -> None:
    case = plain_case(candidate=BARE, system={"parts": [UNIT, CONTACTOR]})
    assert management(case, parallel=2).verdict == "fail"
    two = plain_case(candidate=BARE, system={"parts": [{**UNIT, "quantity": 2}, CONTACTOR]})
    assert management(two, parallel=2).verdict == "caution"


def test_a_contactor_too_weak_is_not_there(plain_case: PlainCase) -> None:
    weak = {**CONTACTOR, "rating_a": 5.0}
    assert management(plain_case(candidate=BARE, system={"parts": [UNIT, weak]})).verdict == "fail"
    anew = {**weak, "price": 75.0}
    case = plain_case(candidate=BARE, system={"parts": [UNIT, anew]})
    bank = bank_of(case)
    assert checks(case, bank)["cell_management"].verdict == "caution"
    assert bank.wiring is not None
    assert [(line.part, line.cost) for line in bank.wiring.bill if line.part == "contactor"] == [
        ("contactor", 75.0)
    ]


def test_what_is_bought_is_in_the_bill_and_the_drawing(plain_case: PlainCase) -> None:
    case = plain_case(candidate=BARE, prices=PRICED)
    bank = bank_of(case, parallel=2)
    check = checks(case, bank)["cell_management"]
    assert check.verdict == "caution"
    assert "2 × external management and 1 × contactor in the wiring bill" in check.reason
    assert bank.wiring is not None
    bought = {line.part: (line.quantity, line.unit_price) for line in bank.wiring.bill}
    assert bought["external management"] == (2, 120.0)
    assert bought["contactor"] == (1, 90.0)
    keys = [cable.key for cable in bank.wiring.circuit.of_role("main")]
    assert keys[:3] == ["main + to fuse", "main + to contactor", "main + from contactor"]
    drawn = wiring_diagram(case, bank.arrangement, bank.wiring.circuit, bill=bank.wiring.bill)
    assert ">contactor<" in drawn


def test_packs_with_their_own_pass_and_need_no_contactor(plain_case: PlainCase) -> None:
    case = plain_case(prices=PRICED)
    bank = bank_of(case)
    assert checks(case, bank)["cell_management"].verdict == "pass"
    assert bank.wiring is not None
    assert not [device for device in bank.wiring.circuit.devices if device.kind == "contactor"]


def test_lead_is_not_asked(plain_case: PlainCase) -> None:
    lead = {"chemistry": "agm", "nominal_voltage_v": 12.0, "mass_kg": 30.0}
    case = plain_case(candidate=lead)
    assert "cell_management" not in checks(case, bank_of(case))


@pytest.mark.parametrize(
    ("candidate", "prices", "exposed"),
    [
        ({}, {}, True),
        (BARE, PRICED, True),
        (BARE, {}, False),  # nothing can disconnect it; it is ruled out for that
    ],
)
def test_an_alternator_is_protected_from_what_can_disconnect(
    plain_case: PlainCase, candidate: dict[str, Any], prices: dict[str, Any], exposed: bool
) -> None:
    case = plain_case(candidate=candidate, prices=prices, sources=DIRECT)
    bank = bank_of(case)
    check = checks(case, bank)["alternator"]
    assert check.verdict == "caution"  # lithium works it at its limit whatever disconnects
    assert ("the jump in voltage" in check.reason) is exposed
    assert bank.wiring is not None
    protected = [line for line in bank.wiring.bill if line.part == "alternator protection"]
    assert bool(protected) is exposed
