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
