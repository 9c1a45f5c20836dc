"""Reading a case from TOML and writing it back without loss."""

import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import tomli_w
from pydantic import ValidationError

from tco.case.candidate import Candidate
from tco.case.case import Case
from tco.case.climate_file import (
    disagreements,
    filled_by_file,
    relative_weather_file,
    with_weather_file,
)
from tco.case.explain import from_validation
from tco.case.files import read_text
from tco.case.problems import CaseError, Problem
from tco.case.table import read_candidates, write_candidates

_SPREADSHEETS = (".xlsx", ".xls", ".ods")


def read_case(path: str | Path, *, candidates: str | Path | None = None) -> Case:
    """Read a case and its candidates.

    Parameters
    ----------
    path
        TOML file; its keys are the fields of `tco.case.Case`.
    candidates
        A candidate table (CSV, xlsx, xls, ods) to use instead of the `candidates_file` the case
        names.
        Candidates written in the TOML itself (`[[candidates]]`) come first.

    Raises
    ------
    CaseError
        With every problem of both files at once.
    """
    path = Path(path)
    problems: list[Problem] = []
    raw: dict[str, Any] = {}
    try:
        raw = parse_toml(read_text(path, what="case", any_encoding=False), file=path.name)
        if not raw:
            problems.append(Problem("is empty", file=path.name, mend="Start from a demo case."))
    except CaseError as error:
        problems.extend(error.problems)
    named = raw.get("candidates_file")
    table = Path(candidates) if candidates is not None else None
    if table is None and isinstance(named, str) and named.strip():
        table = path.parent / named.strip()
    rows: tuple[Candidate, ...] = ()
    if table is not None:
        try:
            rows = read_candidates(table)
        except CaseError as error:
            problems.extend(error.problems)
    if raw:
        try:
            case = case_from_mapping(raw, file=path.name, more_candidates=rows, folder=path.parent)
        except CaseError as error:
            problems.extend(error.problems)
        else:
            if not problems:
                return case
    raise CaseError(problems)


def parse_toml(text: str, *, file: str = "") -> dict[str, Any]:
    """Parse TOML text.

    Raises
    ------
    CaseError
        For a syntax error, naming the line. Only the first can be told.
    """
    try:
        return tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError, ValueError) as error:
        raise CaseError(
            [
                Problem(
                    f"is not valid TOML: {error}",
                    file=file,
                    mend="Text needs quotes, decimals a point, and each key stands once.",
                )
            ]
        ) from None


def case_from_mapping(
    raw: Mapping[str, Any],
    *,
    file: str = "",
    more_candidates: tuple[Candidate, ...] = (),
    folder: Path | None = None,
) -> Case:
    """Build a case from plain data, as TOML or a screen gives it.

    A weather file the climate names is read; a relative path starts at `folder`.

    Raises
    ------
    CaseError
        With every problem of the data at once.
    """
    data = dict(raw)
    own = data.get("candidates", ())
    if more_candidates and isinstance(own, list | tuple):
        data["candidates"] = [*own, *more_candidates]
    data, weather_file, problems = with_weather_file(data, folder=folder, file=file)
    try:
        case = Case.model_validate(data)
    except ValidationError as error:
        found = from_validation(error, Case, data, file=file)
        rest = [p for p in found if not (problems and filled_by_file(p))]
        raise CaseError([*problems, *rest]) from None
    if weather_file is not None:
        problems = disagreements(case.climate, weather_file, file=file)
    if problems:
        raise CaseError(problems)
    return case


def case_to_mapping(case: Case) -> dict[str, Any]:
    """Plain data of a case: what was stated, without the defaults."""
    return case.model_dump(mode="json", exclude_unset=True, exclude_none=True)


def case_to_toml(case: Case, *, with_candidates: bool = True, folder: Path | None = None) -> str:
    """TOML text of a case. Reading it gives an equal case (with candidates inline).

    The path of a weather file is made relative to `folder`, where one is given.
    """
    data = case_to_mapping(case)
    if folder is not None:
        relative_weather_file(data, folder)
    if with_candidates:
        data.pop("candidates_file", None)
    else:
        data.pop("candidates", None)
    return tomli_w.dumps(data)


def write_case(case: Case, path: str | Path) -> None:
    """Write a case so that `read_case` gives an equal one.

    Candidates go to the table the case names (`candidates_file`, beside the TOML file), or into
    the TOML file where it names none.

    Raises
    ------
    CaseError
        Where a file cannot be written, or the table would overwrite the case.
    """
    path = Path(path)
    if case.candidates_file is None:
        _write(path, case_to_toml(case, folder=path.parent))
        return
    table = path.parent / case.candidates_file
    if table.resolve() == path.resolve():
        raise CaseError(
            [
                Problem(
                    "is the case itself",
                    file=path.name,
                    field="candidates_file",
                    given=repr(case.candidates_file),
                    mend="Name another file for the candidate table.",
                    location=("candidates_file",),
                )
            ]
        )
    if table.suffix.lower() in _SPREADSHEETS:
        raise CaseError(
            [
                Problem(
                    "is a spreadsheet, which can be read and not written",
                    file=path.name,
                    field="candidates_file",
                    given=repr(case.candidates_file),
                    mend="Name a file that ends in .csv.",
                    location=("candidates_file",),
                )
            ]
        )
    write_candidates(case.candidates, table)
    _write(path, case_to_toml(case, with_candidates=False, folder=path.parent))


def _write(path: Path, text: str) -> None:
    try:
        path.write_text(text, encoding="utf-8", newline="")
    except OSError as error:
        reason = error.strerror or str(error)
        raise CaseError(
            [Problem(f"cannot be written ({reason})", file=str(path), mend="Check the path.")]
        ) from None
