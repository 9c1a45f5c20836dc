"""An alternator on the bank itself is cautioned about where a pack may disconnect."""

from typing import Any

import pytest

from tco.bank.arrangements import Arrangement
from tco.bank.checks.alternators import check_alternators
from tco.case import specify
from tests.conftest import build_plain_case


@pytest.mark.parametrize(
    ("candidate", "direct", "verdicts"),
    [
        ({}, True, ["caution"]),
        ({}, False, []),
        ({"chemistry": "agm", "nominal_voltage_v": 12.0, "charge_min_degc": -20.0}, True, ["pass"]),
    ],
)
def test_only_a_pack_that_may_disconnect_on_a_direct_alternator(
    candidate: dict[str, Any], direct: bool, verdicts: list[str]
) -> None:
    engine = {"name": "alternator", "rating_a": 50.0, "hours_per_day": 1.0, "direct": direct}
    case = build_plain_case(candidate=candidate, sources={"solar": [], "engine": [engine]})
    found = list(check_alternators(case, Arrangement(specify(case.candidates[0]), 1, 1)))
    assert [check.verdict for check in found] == verdicts
    assert all((check.key, check.of) == ("alternator", "alternator") for check in found)
    if verdicts == ["caution"]:
        assert "DC-DC" in found[0].reason
        assert "overheats" in found[0].reason


LTO = {"chemistry": "lto", "nominal_voltage_v": 11.5, "charge_min_degc": None}


@pytest.mark.parametrize(
    ("candidate", "rating", "asked"),
    [({}, 80.0, "50 A"), ({}, 40.0, "40 A"), ({**LTO, "internal_management": False}, 40.0, "40 A")],
)
def test_what_takes_all_it_gives_overheats_it_even_if_it_never_disconnects(
    candidate: dict[str, Any], rating: float, asked: str
) -> None:
    """The lesser of what the alternator gives and what the bank takes, which is 50 A."""
    engine = {"name": "alternator", "rating_a": rating, "hours_per_day": 1.0, "direct": True}
    case = build_plain_case(candidate=candidate, sources={"solar": [], "engine": [engine]})
    (found,) = check_alternators(case, Arrangement(specify(case.candidates[0]), 1, 1))
    assert found.verdict == "caution"
    assert f"takes all it gives ({asked})" in found.reason
    assert ("destroy it" in found.reason) == (not candidate)
