"""The command line: `python -m tco compare|check CASE.toml`, `python -m tco health LOG CASE`.

Results go to the standard output, everything else to the standard error. Status 0: done; 1: it
could not be done, and why is said; 2: the command itself is wrong.
"""

import argparse
import json
import os
import sys
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from datetime import date
from pathlib import Path
from typing import Any, TextIO

from tco.case import Case, CaseError, Problem, read_case
from tco.case.capacity_log import read_log
from tco.case.files import read_bytes
from tco.case.log_cells import read_date
from tco.case.units import UnitProblem
from tco.checkup.assessment import assess
from tco.checkup.old_need import need_of
from tco.compare import Progress, compare
from tco.forms.shop_columns import ShopTable, read_table
from tco.forms.table_words import table_remarks, table_report
from tco.report.checkup.data import promise_data
from tco.report.checkup.text import promise_text
from tco.report.exports import EXPORTS
from tco.report.inputs.text import case_text
from tco.report.machine import as_json
from tco.report.text import arrangement_text, comparison_text, find
from tco.weighing.arguments import Argument, cheap_or_premium, one_or_many
from tco.weighing.convergence import Convergence, draw_until_settled

SHOW_PROGRESS_AFTER_S = 0.7
ALL_BUT_ARGUMENTS = 0.6
"""Share of the progress bar that the comparison takes; break-evens take the rest."""
MOST_DRAWS = 200_000
"""More take memory without telling more: errors are then below 1/400 of the spread."""
_BAR_CELLS = 24


def main(argv: Sequence[str] | None = None) -> int:
    """Run a command; the status to leave with."""
    try:
        arguments = _parser().parse_args(argv)
        return _write(_COMMANDS[arguments.command](arguments))
    except SystemExit as leave:  # argparse has said what is wrong, or printed its help
        return int(leave.code or 0)
    except CaseError as error:
        _complain("the case cannot be used", *(str(problem) for problem in error.problems))
    except LookupError as error:
        _complain(str(error.args[0]))
    except KeyboardInterrupt:
        _complain("stopped")
    except MemoryError:
        _complain("the memory of this machine does not suffice")
    except Exception as error:  # no reader is served by a traceback; what and where is said
        _complain(f"a fault of the program, please report it: {_where(error)}")
    return 1


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="python -m tco",
        description="Which battery, in which arrangement, and what it costs over the years.",
        allow_abbrev=False,
    )
    commands = parser.add_subparsers(dest="command", required=True, metavar="COMMAND")
    compared = commands.add_parser(
        "compare", help="rank every arrangement of a case", allow_abbrev=False
    )
    checked = commands.add_parser(
        "check",
        help="read a case, list what it asks of the old bank, what is assumed and doubtful",
        allow_abbrev=False,
    )
    for command in (compared, checked):
        command.add_argument("case", metavar="CASE.toml", help="the case")
        command.add_argument(
            "--candidates",
            metavar="TABLE",
            help="candidates (CSV, XLSX, XLS, ODS) to use instead of the case's own",
        )
    _add_health(commands)
    number = compared.add_mutually_exclusive_group()
    number.add_argument(
        "--draws",
        type=_draws,
        metavar="N",
        help="draw everything uncertain N times, and weigh the two usual arguments",
    )
    number.add_argument(
        "--settle",
        type=_share,
        metavar="SHARE",
        help="double the draws until the standard error is below this share of the best mean "
        "(0.01: one percent); Ctrl-C ends it with what is known by then",
    )
    compared.add_argument(
        "--seed", type=_seed, metavar="S", help="seed of the draws (the case's own otherwise)"
    )
    form = compared.add_mutually_exclusive_group()
    form.add_argument("--json", action="store_true", help="print all of it for other programs")
    for name in EXPORTS:
        form.add_argument(
            f"--{name}", action="store_true", help=f"print the table of arrangements as {name}"
        )
    form.add_argument("--show", type=_positive, metavar="N", help="list the first N only")
    form.add_argument(
        "--why",
        metavar="WHICH",
        help="print checks, wiring, power failures, habits and ledger of one arrangement, by its "
        "rank or its name",
    )
    return parser


def _add_health(commands: Any) -> None:
    health = commands.add_parser(
        "health",
        help="read a log of capacity tests and say whether the promise is kept",
        allow_abbrev=False,
    )
    health.add_argument("log", metavar="LOG.csv", help="the log")
    health.add_argument("case", metavar="CASE.toml", help="the case the battery belongs to")
    whose = health.add_mutually_exclusive_group()
    whose.add_argument("--candidate", metavar="NAME", help="which candidate was bought")
    whose.add_argument("--old", action="store_true", help="it is the old bank's log")
    health.add_argument("--strings", type=_positive, metavar="P", help="strings in parallel")
    health.add_argument("--bought", type=_date, metavar="DATE", help="day of the purchase")
    health.add_argument("--today", type=_date, metavar="DATE", help="judge as on this day")
    health.add_argument(
        "--needed-health",
        type=_fraction,
        metavar="SHARE",
        help="health the old bank must have, 0 to 1 (otherwise simulated)",
    )
    health.add_argument("--json", action="store_true", help="print all of it for other programs")


def _positive(text: str) -> int:
    number = int(text)
    if number < 1:
        raise ValueError
    return number


_positive.__name__ = "whole number above zero"


def _draws(text: str) -> int:
    number = _positive(text)
    if number > MOST_DRAWS:
        raise ValueError
    return number


_draws.__name__ = f"whole number from 1 to {MOST_DRAWS}"


def _share(text: str) -> float:
    number = float(text)
    if not 0.0 < number < 1.0:
        raise ValueError
    return number


_share.__name__ = "share between 0 and 1"


def _seed(text: str) -> int:
    number = int(text)
    if number < 0:
        raise ValueError
    return number


_seed.__name__ = "whole number from 0"


def _date(text: str) -> date:
    try:
        return read_date(text)
    except UnitProblem as problem:
        raise argparse.ArgumentTypeError(f"{text!r} {problem}") from None


def _fraction(text: str) -> float:
    number = float(text)
    if not 0.0 < number <= 1.0:
        raise ValueError
    return number


_fraction.__name__ = "share above 0 and at most 1"


def _read(arguments: argparse.Namespace) -> Case:
    return read_case(arguments.case, candidates=arguments.candidates)


def _check(arguments: argparse.Namespace) -> str:
    """What is assumed of a case; before it, what was made of its table of candidates."""
    if arguments.candidates is not None:
        _write(f"{table_report(_table(Path(arguments.candidates)))}\n")
    case = _read(arguments)
    if arguments.candidates is None and case.candidates_file:
        remarks = table_remarks(_table(Path(arguments.case).parent / case.candidates_file))
        if remarks:
            _write(f"{remarks}\n")
    return case_text(case, need_of(case))


def _table(path: Path) -> ShopTable:
    return read_table(read_bytes(path, what="candidate table"), file=path.name)


def _compare(arguments: argparse.Namespace) -> str:
    case = _read(arguments)
    known: Convergence | None = None
    with _progress(sys.stderr) as shown:
        progress = shown or _silent

        def told(share: float, what: str) -> None:
            progress(ALL_BUT_ARGUMENTS * share, what)

        if arguments.settle is not None:
            found = draw_until_settled(
                case, share=arguments.settle, seed=arguments.seed, progress=told
            )
            comparison, known = found.comparison, found.last
        else:
            comparison = compare(
                case, draws=arguments.draws or 0, seed=arguments.seed, progress=told
            )
        argued: tuple[Argument, ...] = ()
        if (arguments.draws or arguments.settle) and arguments.why is None:
            progress(ALL_BUT_ARGUMENTS, "the two arguments")
            argued = (one_or_many(comparison), cheap_or_premium(comparison))
        progress(1.0, "done")
    for name, export in EXPORTS.items():
        if getattr(arguments, name):
            return export(comparison)
    if arguments.json:
        return as_json(comparison, argued, known)
    if arguments.why is not None:
        result = find(comparison, arguments.why)
        return arrangement_text(comparison, result, comparison.years_ahead(result))
    return comparison_text(comparison, show=arguments.show, argued=argued, known=known)


def _health(arguments: argparse.Namespace) -> str:
    """The judgement of a log; the problems of the log and of the case are told together."""
    problems: list[Problem] = []
    log = case = None
    try:
        log = read_log(arguments.log)
    except CaseError as error:
        problems.extend(error.problems)
    try:
        case = read_case(arguments.case)
    except CaseError as error:
        problems.extend(error.problems)
    if log is None or case is None:
        raise CaseError(problems)
    assessment = assess(
        log,
        case,
        today=arguments.today or date.today(),
        candidate=arguments.candidate,
        strings=arguments.strings,
        bought=arguments.bought,
        old_bank=arguments.old,
        needed=arguments.needed_health,
        file=str(arguments.log),
    )
    if arguments.json:
        return json.dumps(promise_data(assessment), allow_nan=False, indent=1)
    return promise_text(assessment)


def _silent(share: float, what: str) -> None:
    """No progress to show."""


_COMMANDS: dict[str, Callable[[argparse.Namespace], str]] = {
    "compare": _compare,
    "check": _check,
    "health": _health,
}


def _write(text: str) -> int:
    """Print to the standard output; a reader who left early (`| head`) is not an error to tell."""
    if sys.stdout is None:
        _complain("there is nowhere to print to")
        return 1
    try:
        if hasattr(sys.stdout, "reconfigure"):
            sys.stdout.reconfigure(errors="replace")  # a terminal without × or € still works
        print(text, flush=True)
    except OSError as error:
        if not isinstance(error, BrokenPipeError):
            _complain(f"cannot print: {error.strerror or error}")
        # what is left in the buffer has nowhere to go, also when the interpreter closes it
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 1
    return 0


def _complain(what: str, *details: str) -> None:
    if sys.stderr is not None:
        print("\n- ".join([f"tco: {what}{':' if details else ''}", *details]), file=sys.stderr)


def _where(error: BaseException) -> str:
    place = error.__traceback__
    while place is not None and place.tb_next is not None:
        place = place.tb_next
    at = f" ({place.tb_frame.f_code.co_filename}:{place.tb_lineno})" if place else ""
    return f"{type(error).__name__}: {error}{at}"


@contextmanager
def _progress(stream: TextIO | None) -> Iterator[Progress | None]:
    """A bar on a terminal for work that takes long; None, and silence, elsewhere."""
    if stream is None or not stream.isatty():
        yield None
        return
    state, started, done = [(0.0, "starting")], time.monotonic(), threading.Event()

    def say(share: float, what: str) -> None:
        state[0] = share, what

    def draw() -> None:
        wait = SHOW_PROGRESS_AFTER_S
        while not done.wait(wait):
            share, what = state[0]
            bar = "#" * round(_BAR_CELLS * share)
            seconds = time.monotonic() - started
            stream.write(f"\r[{bar:.<{_BAR_CELLS}}] {seconds:3.0f} s  {what}\033[K")
            stream.flush()
            wait = 0.2
        if wait != SHOW_PROGRESS_AFTER_S:
            stream.write("\r\033[K")
            stream.flush()

    painter = threading.Thread(target=draw, daemon=True)
    painter.start()
    try:
        yield say
    finally:
        done.set()
        painter.join()


if __name__ == "__main__":
    sys.exit(main())
