"""`python -m tco health`: what it prints, and what it refuses."""

import json

import pytest

from tco.__main__ import main
from tests.screens.helpers import ROOT

CASE, LOG = (
    str(ROOT / "candidates_demo" / name) for name in ("otterbank.toml", "otterbank_log.csv")
)


def test_log_is_judged(capsys):
    assert main(["health", LOG, CASE, "--today", "2025-10-01"]) == 0
    out, err = capsys.readouterr()
    assert out.startswith("Fell 24/230")
    assert err == ""
    assert main(["health", LOG, CASE, "--today", "2025-10-01", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["kind"] == "promise"


def test_command_tells_problems_of_both_files(capsys, tmp_path):
    assert main(["health", str(tmp_path / "no.csv"), str(tmp_path / "no.toml")]) == 1
    out, err = capsys.readouterr()
    assert out == ""
    assert "no.csv" in err
    assert "no.toml" in err


@pytest.mark.parametrize(
    "wrong",
    [("--today", "soon"), ("--strings", "0"), ("--needed-health", "2"), ("--bought", "3/4/2025")],
)
def test_command_refuses_wrong_arguments(wrong, capsys):
    assert main(["health", LOG, CASE, *wrong]) == 2
    assert wrong[0] in capsys.readouterr().err
