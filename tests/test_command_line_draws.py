"""`compare` with draws as people run it: the same bytes again, the fields other programs read."""

import json
import os
import re
import subprocess
import sys
from functools import cache
from pathlib import Path
from typing import Any

import pytest

import tco.__main__ as command_line
from tco import compare, read_case
from tco.__main__ import MOST_DRAWS, main
from tco.case import Case
from tco.weighing import convergence

ROOT = Path(__file__).resolve().parent.parent
SMALL = ROOT / "candidates_demo" / "coldharbour.toml"
HEADING = "name,chemistry,nominal_voltage_v,capacity_ah,price\n"


def of_main(capsys: pytest.CaptureFixture[str], *arguments: str | Path) -> tuple[int, str, str]:
    status = main(["compare", *map(str, arguments)])
    out, err = capsys.readouterr()
    return status, out, err


def in_one_line(text: str) -> str:
    return " ".join(text.split())


@cache
def in_a_process(hashing: str) -> bytes:
    """What 300 draws with seed 4 print, in a process with hashes of its own."""
    done = subprocess.run(
        [sys.executable, "-m", "tco", "compare", SMALL, "--json", "--draws", "300", "--seed", "4"],
        cwd=ROOT, capture_output=True, check=True, env={**os.environ, "PYTHONHASHSEED": hashing},
    )  # fmt: skip
    assert done.stderr == b""
    return done.stdout


@pytest.fixture(scope="module")
def data() -> dict[str, Any]:
    return json.loads(in_a_process("1"), parse_constant=pytest.fail)


def test_each_arrangement_has_its_uncertainty(data: dict[str, Any]) -> None:
    passing = [row for row in data["arrangements"] if row["feasible"]]
    assert len(passing) > 5
    for row in data["arrangements"]:
        u = row["uncertainty"]
        assert {
            "p10", "p50", "p90", "standard_error", "probability_cheapest", "expected_regret",
        } <= set(u)  # fmt: skip
        assert u["p10"] <= u["p50"] <= u["p90"]
        assert u["standard_error"] > 0
        rate = row["failures_per_pack_year"]
        assert set(rate) == {"class_prior", "prior", "posterior", "p10", "p90"}
        assert 0 < rate["p10"] < rate["posterior"] < rate["p90"]
    assert sum(row["uncertainty"]["probability_cheapest"] for row in passing) == pytest.approx(1.0)
    assert all(row["uncertainty"]["expected_regret"] >= 0 for row in passing)


def test_the_figures_are_those_of_the_draws_themselves(data: dict[str, Any]) -> None:
    comparison = compare(read_case(SMALL), draws=300, seed=4)
    for row, result in zip(data["arrangements"], comparison.results, strict=True):
        ordered = sorted(result.costs)
        # the middle of 300: between the 150th and the 151st
        assert row["uncertainty"]["p50"] == pytest.approx((ordered[149] + ordered[150]) / 2)
        assert row["uncertainty"]["mean"] == pytest.approx(sum(ordered) / 300)


@pytest.mark.parametrize("kind", ["one_or_many", "cheap_or_premium"])
def test_both_arguments_are_there(data: dict[str, Any], kind: str) -> None:
    argument = data["arguments"][kind]
    labels = {row["label"]: row for row in data["arrangements"]}
    left, right = labels[argument["left"]], labels[argument["right"]]
    assert left["feasible"]
    assert right["feasible"]
    assert argument["left"] in argument["answer"]
    assert argument["right"] in argument["answer"]
    difference = argument["difference"]
    assert difference["p10"] <= difference["p50"] <= difference["p90"]
    assert difference["mean"] == pytest.approx(
        left["uncertainty"]["mean"] - right["uncertainty"]["mean"]
    )
    assert len(argument["break_even"]) == 7
    for row in argument["break_even"]:
        assert {"of", "at", "unit", "sentence"} <= set(row)
        assert row["sentence"]
        low, high = row["range"]
        assert low <= row["now"] <= high
        if row["at"] is None:
            assert row["crossings"] == []
            assert row["sentence"].startswith("No break-even on")
        else:
            assert row["at"] in row["crossings"]
            assert low <= row["at"] <= high
            assert {row["cheaper_below"], row["cheaper_above"]} == {left["label"], right["label"]}


def test_how_well_the_draws_know_it(data: dict[str, Any]) -> None:
    known = data["convergence"]
    assert known["draws"] == 300
    least = min(
        (row for row in data["arrangements"] if row["feasible"]),
        key=lambda row: row["uncertainty"]["mean"],
    )
    assert known["best"] == least["label"]
    assert known["standard_error"] == pytest.approx(least["uncertainty"]["standard_error"])
    assert known["difference_standard_error"] > 0


def test_the_same_seed_gives_the_same_bytes_and_another_does_not(
    capsys: pytest.CaptureFixture[str],
) -> None:
    """In processes of their own, since hashing and threads differ between them."""
    first = in_a_process("1")
    assert in_a_process("2") == first
    other = of_main(capsys, SMALL, "--json", "--draws", "300", "--seed", "5")[1]
    assert other.encode() != first


def test_without_a_seed_the_cases_own_counts(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    seeds = []

    def seen(case: Case, **more: Any) -> Any:
        seeds.append(case.assumptions.seed if more["seed"] is None else more["seed"])
        return compare(case, **{**more, "draws": 0})

    monkeypatch.setattr(command_line, "compare", seen)
    for given in ((), ("--seed", "99")):
        of_main(capsys, SMALL, "--draws", "9", "--why", "1", *given)
    own = read_case(SMALL).assumptions.seed
    assert seeds == [own, 99]
    case = read_case(SMALL)
    a, b = (compare(case, draws=9, seed=seed) for seed in (None, own))
    assert (a.results[0].costs == b.results[0].costs).all()


def test_without_draws_nothing_is_said_of_them(capsys: pytest.CaptureFixture[str]) -> None:
    data = json.loads(of_main(capsys, SMALL, "--json")[1])
    assert data["arguments"] is None
    assert data["convergence"] is None
    assert all(row["uncertainty"] is None for row in data["arrangements"])
    assert not re.search(r"\bdraws\b", data["answer"])


def test_the_text_tells_draws_error_and_what_would_change_it(
    capsys: pytest.CaptureFixture[str],
) -> None:
    status, out, _ = of_main(capsys, SMALL, "--draws", "400", "--show", "3")
    assert status == 0
    assert max(len(line) for line in out.splitlines()) <= 100
    text = in_one_line(out)
    assert "In 400 draws of everything uncertain, total cost in $:" in text
    assert re.search(
        r"The least mean, that of .*, is \$[\d,]+, known to ±\$[\d.]+ \(standard", text
    )
    assert "One large pack or several small ones?" in text
    assert "Cheap or premium?" in text
    assert "stays ahead until" in text
    assert "No break-even" in text


def test_the_answer_says_what_the_draws_say_in_text_and_json(
    data: dict[str, Any], capsys: pytest.CaptureFixture[str]
) -> None:
    best = data["arrangements"][0]
    assert best["label"] == data["convergence"]["best"]
    assert "300 draws of everything uncertain bear that out: it costs least" in data["answer"]
    assert f"cheapest in {best['uncertainty']['probability_cheapest']:.0%} of" in data["answer"]
    text = in_one_line(of_main(capsys, SMALL, "--draws", "300", "--seed", "4")[1])
    assert text.startswith(in_one_line(data["answer"]))


def test_one_draw_has_no_standard_error(capsys: pytest.CaptureFixture[str]) -> None:
    status, out, _ = of_main(capsys, SMALL, "--draws", "1")
    assert status == 0
    assert "In 1 draw of everything uncertain" in out
    assert "One draw says nothing of how far the next may be from it." in out
    assert not re.search(r"\b(inf|nan)\b", out)
    data = json.loads(of_main(capsys, SMALL, "--draws", "1", "--json")[1])
    assert data["arrangements"][0]["uncertainty"]["standard_error"] is None
    assert data["arguments"]["one_or_many"]["difference"]["standard_error"] is None


@pytest.mark.parametrize("form", [(), ("--json",)])
@pytest.mark.parametrize("rows", ["", "Tiny 10,lfp,12.8,10,90\n"])
@pytest.mark.parametrize("number", [("--draws", "20"), ("--settle", "0.01")])
def test_nothing_to_choose(
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    rows: str,
    form: tuple[str, ...],
    number: tuple[str, str],
) -> None:
    """No candidate at all, and one that is far too small."""
    table = tmp_path / "table.csv"
    table.write_text(HEADING + rows, encoding="utf-8")
    status, out, err = of_main(capsys, SMALL, "--candidates", table, *number, *form)
    assert (status, err) == (0, "")
    if form:
        data = json.loads(out, parse_constant=pytest.fail)
        assert data["convergence"] is None
        assert not any(row["feasible"] for row in data["arrangements"])
        for argument in data["arguments"].values():
            assert (argument["left"], argument["right"]) == (None, None)
            assert (argument["difference"], argument["break_even"]) == (None, [])
    else:
        assert in_one_line(out).count("There is nothing to weigh: no arrangement passes.") == 2


def test_settled_draws_say_so(capsys: pytest.CaptureFixture[str]) -> None:
    data = json.loads(of_main(capsys, SMALL, "--settle", "0.02", "--json")[1])
    known = data["convergence"]
    assert known["reason"] == "settled"
    assert known["target"] == pytest.approx(0.02 * known["best_mean"])
    assert max(known["standard_error"], known["difference_standard_error"]) <= known["target"]
    text = in_one_line(of_main(capsys, SMALL, "--settle", "0.02")[1])
    assert f"In {known['draws']:,} draws" in text
    assert f"The draws were doubled until both were within the ±${known['target']:,.1f}" in text


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("--draws", "0"), f"whole number from 1 to {MOST_DRAWS}"),
        (("--draws", "-3"), f"whole number from 1 to {MOST_DRAWS}"),
        (("--draws", "1.5"), f"whole number from 1 to {MOST_DRAWS}"),
        (("--draws", "1000000000000"), f"whole number from 1 to {MOST_DRAWS}"),
        (("--seed", "-1"), "whole number from 0"),
        (("--settle", "0"), "share between 0 and 1"),
        (("--settle", "1"), "share between 0 and 1"),
        (("--settle", "nan"), "share between 0 and 1"),
        (("--settle", "a bit"), "share between 0 and 1"),
        (("--settle", "0.01", "--draws", "10"), "not allowed with"),
    ],
)
def test_nonsense_is_refused(
    capsys: pytest.CaptureFixture[str], arguments: tuple[str, ...], said: str
) -> None:
    status, out, err = of_main(capsys, SMALL, *arguments)
    assert (status, out) == (2, "")
    assert said in err


class Interrupting:
    """Stands in for `compare`, and is interrupted (Ctrl-C) in its n-th call."""

    def __init__(self, call: int) -> None:
        self.left = call

    def __call__(self, *given: Any, **more: Any) -> Any:
        self.left -= 1
        if self.left == 0:
            raise KeyboardInterrupt
        return compare(*given, **more)


def test_ctrl_c_ends_it_without_a_traceback(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(command_line, "compare", Interrupting(1))
    assert of_main(capsys, SMALL, "--draws", "20") == (1, "", "tco: stopped\n")
    monkeypatch.setattr(convergence, "compare", Interrupting(1))
    assert of_main(capsys, SMALL, "--settle", "0.01") == (1, "", "tco: stopped\n")


def test_ctrl_c_while_settling_prints_what_is_known_by_then(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(convergence, "compare", Interrupting(2))
    status, out, err = of_main(capsys, SMALL, "--settle", "0.0001")
    assert (status, err) == (0, "")
    assert "In 500 draws of everything uncertain" in out
    assert "asked for: it was stopped." in in_one_line(out)
