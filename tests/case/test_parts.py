"""Installed parts as the user states them."""

import tomllib
from typing import Any

import pytest
from pydantic import ValidationError

from tco.case.parts import FUSE_CLASS_NAMES, ExistingPart
from tco.case.toml import case_from_mapping, case_to_toml
from tests.conftest import build_plain_case


def test_what_is_not_known_is_left_out_and_stays_unknown() -> None:
    part = ExistingPart(name="old fuse", kind="main fuse")
    assert (part.rating_a, part.fuse_class, part.size, part.price) == (None,) * 4
    assert (part.quantity, part.sale_price, part.yearly_upkeep) == (1, 0.0, 0.0)


@pytest.mark.parametrize(
    ("field", "value", "says"),
    [
        ("fuse_class", "candle", "class T"),
        ("size", "36 mm2", "35 mm2"),
        ("rating_a", 0.0, "rating_a"),
        ("rating_a", -5.0, "rating_a"),
        ("quantity", 0, "quantity"),
        ("sale_price", -1.0, "sale_price"),
        ("kind", "flux capacitor", "kind"),
        ("name", "", "name"),
    ],
)
def test_what_cannot_be_is_refused_and_names_what_can(field: str, value: object, says: str) -> None:
    data: dict[str, object] = {"name": "it", "kind": "main fuse", field: value}
    with pytest.raises(ValidationError) as caught:
        ExistingPart.model_validate(data)
    assert says in str(caught.value)


@pytest.mark.parametrize("name", FUSE_CLASS_NAMES)
def test_every_class_of_the_tables_can_be_stated(name: str) -> None:
    assert ExistingPart(name="it", kind="main fuse", fuse_class=name).fuse_class == name


ROOF = {"name": "roof", "peak_w": 300.0, "controller_a": 20.0}
WINCH = {"name": "winch", "power_w": 300.0, "hours_per_day": 0.1, "cable_run_m": 4.0}


def refused(part: dict[str, object], **changes: Any) -> str:
    system = {"inverter": {"name": "sine", "continuous_w": 500.0}, **changes.pop("system", {})}
    stated = {"sources": {"solar": [ROOF]}, "loads": [WINCH], **changes}
    with pytest.raises(ValidationError) as caught:
        build_plain_case(system={**system, "parts": [{"name": "it", **part}]}, **stated)
    return str(caught.value)


@pytest.mark.parametrize("branch", ["roof", "winch", "inverter", "sine", "DC fuse block"])
def test_a_part_stands_in_a_branch_by_its_name(branch: str) -> None:
    part = {"name": "it", "kind": "isolator", "branch": branch}
    case = build_plain_case(
        system={"parts": [part], "inverter": {"name": "sine", "continuous_w": 500.0}},
        sources={"solar": [ROOF]},
        loads=[WINCH],
    )
    assert case.system.parts[0].branch == branch
    again = case_from_mapping(tomllib.loads(case_to_toml(case)))
    assert again.system.parts == case.system.parts


def test_an_unknown_branch_is_told_with_those_there_are() -> None:
    words = refused({"kind": "branch fuse", "branch": "attic"})
    assert "'attic', which is no branch of this system" in words
    assert "one of inverter, sine, DC fuse block, winch, roof" in words


def test_without_an_inverter_there_is_no_branch_to_it() -> None:
    words = refused({"kind": "isolator", "branch": "inverter"}, system={"inverter": None})
    assert "'inverter', which is no branch" in words


def test_a_name_of_two_branches_names_neither() -> None:
    words = refused({"kind": "isolator", "branch": "roof"}, sources={"solar": [ROOF, ROOF]})
    assert "the name of more than one branch" in words


@pytest.mark.parametrize(
    ("part", "says"),
    [
        ({"kind": "branch cable"}, "a branch cable stands in a branch"),
        ({"kind": "main fuse", "branch": "roof"}, "which stands in none"),
        ({"kind": "distribution bars", "branch": "roof"}, "which stands in none"),
        ({"kind": "branch cable", "branch": "inverter"}, "the main run leads to the inverter"),
        ({"kind": "branch cable", "branch": "sine"}, "the main run leads to the inverter"),
        ({"kind": "isolator", "branch": "winch", "side": "panel side"}, "no solar controller"),
        ({"kind": "branch cable", "branch": "roof", "side": "panel side"}, "side"),
    ],
)
def test_what_does_not_go_with_a_branch_is_refused(part: dict[str, object], says: str) -> None:
    assert says in refused(part)
