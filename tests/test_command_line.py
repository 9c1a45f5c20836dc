"""The command as people run it: what it prints, where, and the status it leaves with."""

import json
import os
import pty
import re
import select
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

import tco.__main__ as command_line
from tco import compare, read_case
from tco.__main__ import main
from tco.report.answer.words import CAUTION, answer
from tco.sentences import told

ROOT = Path(__file__).resolve().parent.parent
DEMO = ROOT / "candidates_demo"
NAMES = ("otterbank", "larch_hut", "coldharbour")
SMALL = DEMO / "coldharbour.toml"


def run(*arguments: str | Path, **options: Any) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "tco", *map(str, arguments)],
        cwd=ROOT,
        stdout=options.pop("stdout", subprocess.PIPE),
        stderr=subprocess.PIPE,
        text=True,
        encoding="utf-8",
        check=False,
        **options,
    )


def in_one_line(text: str) -> str:
    return " ".join(text.split())


@pytest.mark.parametrize("name", NAMES)
def test_the_json_of_each_demo_case_is_complete_ranked_and_adds_up(name: str) -> None:
    done = run("compare", DEMO / f"{name}.toml", "--json")
    assert (done.returncode, done.stderr) == (0, "")
    data = json.loads(done.stdout, parse_constant=pytest.fail)
    case = read_case(DEMO / f"{name}.toml")
    assert data["answer"] == answer(compare(case))
    assert data["currency"] == case.prices.currency
    rows = data["arrangements"]
    assert {row["candidate"] for row in rows} == {c.name for c in case.candidates}
    order = [
        (
            not row["feasible"],
            not row["verified"] and row["feasible"],
            len(row["ruled_out_by"]),
            row["total_cost"],
        )
        for row in rows
    ]
    assert order == sorted(order)
    assert rows[0]["feasible"]
    assert not rows[-1]["feasible"]
    for row in rows:
        failed = [check["requirement"] for check in row["checks"] if check["verdict"] == "fail"]
        assert row["ruled_out_by"] == failed
        assert row["feasible"] == (not failed)
        assert sum(entry["present"] for entry in row["ledger"]) == pytest.approx(
            row["total_cost"], rel=1e-12
        )


@pytest.mark.parametrize("name", NAMES)
def test_the_text_of_each_demo_case_has_answer_table_and_caution(name: str) -> None:
    path = DEMO / f"{name}.toml"
    done = run("compare", path)
    assert (done.returncode, done.stderr) == (0, "")
    comparison = compare(read_case(path))
    flat = in_one_line(done.stdout)
    assert flat.startswith(in_one_line(answer(comparison)))
    assert flat.endswith(in_one_line(told(CAUTION, comparison.case.units)))
    assert max(map(len, done.stdout.splitlines())) <= 100
    labels = [result.arrangement.label for result in comparison.results]
    lines = [
        line for line in done.stdout.splitlines() if re.match(r" *[0-9]+ +(\? )?[0-9]+ × ", line)
    ]
    assert len(lines) == len(labels)
    for rank, (line, label) in enumerate(zip(lines, labels, strict=True), start=1):
        assert line.split()[0] == str(rank)
        assert label in line


def test_the_same_case_gives_the_same_bytes() -> None:
    first, second = (run("compare", SMALL, "--json").stdout for _ in range(2))
    assert first == second
    assert first


def test_it_is_small_once_compiled() -> None:
    run("compare", DEMO / "otterbank.toml")  # compiles where nobody has yet, which takes more
    # the peak of its own memory (VmHWM): what rusage says includes the parent's before the exec
    script = (
        "import re, sys; from tco.__main__ import main; status = main(sys.argv[1:]);"
        "print(re.search(r'VmHWM:\\s+(\\d+) kB', open('/proc/self/status').read())[1],"
        " file=sys.stderr); sys.exit(status)"
    )
    done = subprocess.run(
        [sys.executable, "-c", script, "compare", str(DEMO / "otterbank.toml")],
        capture_output=True, text=True, check=True, cwd=ROOT,
    )  # fmt: skip
    assert int(done.stderr.split()[-1]) < 500_000


def test_check_lists_what_is_assumed_and_doubtful_without_simulating(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(command_line, "compare", pytest.fail)
    assert main(["check", str(DEMO / "otterbank.toml")]) == 0
    out, err = capsys.readouterr()
    assert err == ""
    assert "prices.pack_price_trend = -0.03" in out
    assert "prices.busbar_price" not in out  # the case states it
    assert "loads.quantity = 1 (" in out
    assert "Doubtful" in out
    assert max(map(len, out.splitlines())) <= 100


def test_why_explains_one_arrangement_by_rank_and_by_name(
    capsys: pytest.CaptureFixture[str],
) -> None:
    comparison = compare(read_case(SMALL))
    result = comparison.results[-1]
    assert main(["compare", str(SMALL), "--why", str(len(comparison.results))]) == 0
    by_rank = capsys.readouterr().out
    typed = result.arrangement.label.replace("×", "x").lower()
    assert main(["compare", str(SMALL), "--why", typed]) == 0
    assert capsys.readouterr().out == by_rank
    flat = in_one_line(by_rank)
    for check in result.screening.checks:
        assert f"{check.verdict} {check.requirement}: " in flat
    for row in result.ledger:
        assert f"\n  {row.item} " in by_rank
    assert result.wiring is not None
    for line in result.wiring.bill:
        assert f"\n  {line.part} " in by_rank
    assert f"{result.measures.total_cost:,.2f}" in by_rank


def test_show_limits_the_list(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["compare", str(SMALL), "--show", "2"]) == 0
    out = capsys.readouterr().out
    labels = [r.arrangement.label for r in compare(read_case(SMALL)).results]
    table = out[out.index("\n\n") :]
    assert labels[1] in table
    assert labels[2] not in table
    assert f"Not shown: {len(labels) - 2} more arrangements." in out


def test_another_candidate_table_replaces_the_case_s_own(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    table = tmp_path / "mine.csv"
    table.write_text(
        "name,chemistry,nominal_voltage_v,capacity_ah,price\nOnly One,lfp,12.8,100,300\n"
    )
    assert main(["compare", str(SMALL), "--candidates", str(table), "--json"]) == 0
    data = json.loads(capsys.readouterr().out)
    assert {row["candidate"] for row in data["arrangements"]} == {"Only One"}


def _bad_rows(folder: Path) -> list[str]:
    table = folder / "rows.csv"
    table.write_text(
        "name,chemistry,nominal_voltage_v,capacity_ah,price\nA,lfp,12.8,-5,300\nB,mud,12.8,100,1\n"
    )
    return ["compare", str(SMALL), "--candidates", str(table)]


def _bad_toml(folder: Path) -> list[str]:
    path = folder / "bad.toml"
    path.write_text("title = \n")
    return ["compare", str(path)]


@pytest.mark.parametrize(
    ("arguments", "messages"),
    [
        (lambda folder: ["compare", str(folder / "no.toml")], ["no.toml", "no such file"]),
        (lambda folder: ["check", str(folder / "no.toml")], ["no.toml", "no such file"]),
        (lambda folder: ["compare", str(folder)], ["is a folder"]),
        (_bad_toml, ["bad.toml", "not valid TOML", "line 1"]),
        (_bad_rows, ["row 2", "capacity_ah", "-5", "row 3", "chemistry", "mud"]),
        (
            lambda folder: ["compare", str(SMALL), "--candidates", str(folder / "no.csv")],
            ["no.csv", "no such file"],
        ),
        (lambda _: ["compare", str(SMALL), "--why", "999"], ["no rank 999", "run from 1 to"]),
        (lambda _: ["compare", str(SMALL), "--why", "0"], ["no rank 0"]),
        (lambda _: ["compare", str(SMALL), "--why", "zzz"], ["no arrangement is called 'zzz'"]),
        (lambda _: ["compare", str(SMALL), "--why", "S"], ["may mean", "the rank"]),
    ],
)
def test_what_cannot_be_done_is_said_on_stderr(
    arguments: Any,
    messages: list[str],
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:
    given = arguments(tmp_path)
    may_be_json = given[0] == "compare" and "--why" not in given
    for more in ([], ["--json"]) if may_be_json else ([],):
        assert main([*given, *more]) == 1
        out, err = capsys.readouterr()
        assert out == ""
        assert err.startswith("tco: ")
        assert "Traceback" not in err
        for message in messages:
            assert message in err


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        ([], "COMMAND"),
        (["paint"], "paint"),
        (["compare"], "CASE.toml"),
        (["compare", str(SMALL), "--colour"], "--colour"),
        (["compare", str(SMALL), "--jso"], "--jso"),
        (["compare", str(SMALL), "--show", "0"], "--show"),
        (["compare", str(SMALL), "--show", "many"], "--show"),
        (["compare", str(SMALL), "--json", "--why", "1"], "--why"),
        (["check", str(SMALL), "--json"], "--json"),
    ],
)
def test_a_wrong_command_leaves_with_status_2(
    arguments: list[str], message: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(arguments) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert message in err
    assert "usage:" in err


def test_help_is_no_failure(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["--help"]) == 0
    assert "compare" in capsys.readouterr().out


def test_a_missing_file_from_the_real_command() -> None:
    done = run("compare", "nowhere.toml", "--json")
    assert done.returncode == 1
    assert done.stdout == ""
    assert done.stderr.startswith("tco: ")
    assert "nowhere.toml: there is no such file" in done.stderr
    assert "Traceback" not in done.stderr


def test_a_reader_that_leaves_early_gets_no_traceback() -> None:
    reading, writing = os.pipe()
    os.close(reading)
    try:
        done = run("compare", SMALL, "--json", stdout=writing)
    finally:
        os.close(writing)
    assert done.returncode == 1
    assert done.stderr == ""


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs a full device")
def test_a_full_disk_is_said() -> None:
    with open("/dev/full", "w") as full:
        done = run("compare", SMALL, stdout=full)
    assert done.returncode == 1
    assert done.stderr.startswith("tco: cannot print: ")
    assert len(done.stderr.splitlines()) == 1


def test_signs_the_terminal_does_not_know_are_replaced() -> None:
    done = run("compare", SMALL, "--show", "1", env={**os.environ, "PYTHONIOENCODING": "ascii"})
    assert (done.returncode, done.stderr) == (0, "")
    assert "Buy 1 ? Marrow" in done.stdout


@pytest.mark.parametrize(
    ("error", "message"),
    [
        (KeyboardInterrupt(), "tco: stopped\n"),
        (MemoryError(), "tco: the memory of this machine does not suffice\n"),
        (ZeroDivisionError("by nought"), "ZeroDivisionError: by nought ("),
    ],
)
def test_interruptions_and_faults_leave_no_traceback(
    error: BaseException,
    message: str,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    def fails(*_: object, **__: object) -> None:
        raise error

    monkeypatch.setattr(command_line, "compare", fails)
    assert main(["compare", str(SMALL)]) == 1
    out, err = capsys.readouterr()
    assert out == ""
    assert message in err
    assert "Traceback" not in err


def _on_a_terminal(monkeypatch: pytest.MonkeyPatch, *, after_s: float) -> str:
    """What `main` writes to a standard error that is a terminal."""
    monkeypatch.setattr(command_line, "SHOW_PROGRESS_AFTER_S", after_s)
    ours, theirs = pty.openpty()
    with os.fdopen(theirs, "w") as terminal:
        monkeypatch.setattr(sys, "stderr", terminal)
        assert main(["compare", str(DEMO / "otterbank.toml"), "--show", "1"]) == 0
        seen = b""  # the kernel passes it on in pieces, a moment later
        while select.select([ours], [], [], 0.3)[0]:
            seen += os.read(ours, 100_000)
    os.close(ours)
    return seen.decode()


def test_long_work_shows_a_bar_on_a_terminal_and_wipes_it(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    seen = _on_a_terminal(monkeypatch, after_s=0.005)
    assert re.search(r"\[#*\.+\] +[0-9]+ s  ", seen)
    assert seen.endswith("\r\033[K")
    assert "\033" not in capsys.readouterr().out


def test_quick_work_shows_no_bar(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    assert _on_a_terminal(monkeypatch, after_s=600.0) == ""
    assert capsys.readouterr().out.startswith("Buy ")


def test_check_says_what_was_made_of_a_shops_forms(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    rows = (
        "Name,Chemistry,Voltage [V],Capacity [Ah],Price,Rated cycles",
        "Plain 100,lfp,12.8,100,300,3000",
        "Claimed 100,lfp,12.8,100,300,4000 @ 80 %",
    )
    (tmp_path / "shop.csv").write_text("\n".join(rows), encoding="utf-8")
    text = SMALL.read_text(encoding="utf-8")
    case = tmp_path / "case.toml"
    case.write_text(text.replace("coldharbour_candidates.csv", "shop.csv"), encoding="utf-8")
    assert main(["check", str(case)]) == 0
    told = capsys.readouterr().out
    assert "shop.csv, as it was read:" in told
    assert "row 3, Claimed 100: " in told
    assert "Plain 100: " not in told.split("\n\n")[0]
