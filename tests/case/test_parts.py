"""Installed parts as the user states them."""

import pytest
from pydantic import ValidationError

from tco.case.parts import FUSE_CLASS_NAMES, ExistingPart


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
