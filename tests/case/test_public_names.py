"""The names `tco.case` offers are these, and the models keep their habits."""

import pydantic
import pytest

import tco.case
from tco.case.base import Model
from tco.case.quantities import CHEMISTRY_ALIASES, chemistry_key
from tco.physics.chemistry import CHEMISTRIES


def test_the_public_names() -> None:
    assert set(tco.case.__all__) == {
        "Assumptions", "Candidate", "Case", "CaseError", "Climate", "Inverter", "Load", "Pack",
        "Prices", "Problem", "Sources", "Space", "System", "Use", "candidates_to_csv",
        "case_from_mapping", "case_to_toml", "doubts", "parse_candidates", "parse_rows",
        "price_doubts", "read_candidates", "read_case", "specify", "write_candidates",
        "write_case",
    }  # fmt: skip
    assert all(hasattr(tco.case, name) for name in tco.case.__all__)


def test_models_are_frozen_and_take_no_strangers() -> None:
    use = tco.case.Use()
    with pytest.raises(pydantic.ValidationError, match="frozen"):
        use.living_degc = 3.0  # type: ignore[misc]
    with pytest.raises(pydantic.ValidationError, match="extra"):
        tco.case.Use.model_validate({"colour": "red"})
    assert all(model.model_config["frozen"] for model in Model.__subclasses__())


def test_aliases_lead_to_chemistries() -> None:
    assert set(CHEMISTRY_ALIASES.values()) <= set(CHEMISTRIES)
    assert not set(CHEMISTRY_ALIASES) & set(CHEMISTRIES)
    assert chemistry_key("  Lithium  Iron\nPhosphate ") == "lfp"
    assert chemistry_key("unobtainium") == "unobtainium"
