"""Reading a case from TOML and writing it back without loss."""

import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import tomli_w
from pydantic import ValidationError

from tco.case.candidate import Candidate
from tco.case.case import Case
from tco.case.problems import CaseError, Problem, from_validation
from tco.case.table import read_candidates, write_candidates


def read_case(path: str | Path, *, candidates: str | Path | None = None) -> Case:
    """Read a case and its candidates.

    Parameters
    ----------
    path
        TOML file; its keys are the fields of `tco.case.Case`.
    candidates
        A candidate table (CSV) to use instead of the `candidates_file` the case names.
        Candidates written in the TOML itself (`[[candidates]]`) come first.

    Raises
    ------
    CaseError
        With every problem of both files at once.
    """
    path = Path(path)
    raw, problems = _load(path)
    table = candidates if candidates is not None else raw.get("candidates_file")
    rows: tuple[Candidate, ...] = ()
    if table is not None:
        table_path = Path(table)
        if candidates is None and not table_path.is_absolute():
            table_path = path.parent / table_path
        try:
            rows = read_candidates(table_path)
        except CaseError as error:
            problems.extend(error.problems)
    case = None
    if raw:
        try:
            case = case_from_mapping(raw, file=path.name, more_candidates=rows)
        except CaseError as error:
            problems.extend(error.problems)
    if problems:
        raise CaseError(problems)
    if case is None:
        raise CaseError([Problem("is empty", file=path.name, mend="Start from a demo case.")])
    return case


def _load(path: Path) -> tuple[dict[str, Any], list[Problem]]:
    try:
        text = path.read_text(encoding="utf-8-sig")
    except FileNotFoundError:
        raise CaseError(
            [Problem("there is no such file", file=str(path), mend="Check the path.")]
        ) from None
    except IsADirectoryError:
        raise CaseError(
            [Problem("is a folder", file=str(path), mend="Name the TOML file in it.")]
        ) from None
    except PermissionError:
        raise CaseError(
            [Problem("may not be read", file=str(path), mend="Check its permissions.")]
        ) from None
    except UnicodeDecodeError as error:
        raise CaseError(
            [Problem(f"is not UTF-8 text ({error.reason})", file=path.name, mend="Save as UTF-8.")]
        ) from None
    return parse_toml(text, file=path.name), []


def parse_toml(text: str, *, file: str = "") -> dict[str, Any]:
    """Parse TOML text; a syntax error becomes a `CaseError` that names the line."""
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
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
) -> Case:
    """Build a case from plain data, as TOML or a screen gives it.

    Raises
    ------
    CaseError
        With every problem of the data at once.
    """
    data = dict(raw)
    own = data.get("candidates", ())
    if more_candidates and isinstance(own, list | tuple):
        data["candidates"] = [*own, *more_candidates]
    try:
        return Case.model_validate(data)
    except ValidationError as error:
        raise CaseError(from_validation(error, Case, data, file=file)) from None


def case_to_mapping(case: Case) -> dict[str, Any]:
    """Plain data of a case: what was stated, without the defaults."""
    return case.model_dump(mode="json", exclude_unset=True, exclude_none=True)


def case_to_toml(case: Case, *, with_candidates: bool = True) -> str:
    """TOML text of a case. Reading it gives an equal case (with candidates inline)."""
    data = case_to_mapping(case)
    if with_candidates:
        data.pop("candidates_file", None)
    else:
        data.pop("candidates", None)
    return tomli_w.dumps(data)


def write_case(case: Case, path: str | Path) -> None:
    """Write a case so that `read_case` gives an equal one.

    Candidates go to the table the case names (`candidates_file`, beside the TOML file), or into
    the TOML file where it names none.
    """
    path = Path(path)
    if case.candidates_file is None:
        path.write_text(case_to_toml(case), encoding="utf-8")
        return
    table = Path(case.candidates_file)
    write_candidates(case.candidates, table if table.is_absolute() else path.parent / table)
    path.write_text(case_to_toml(case, with_candidates=False), encoding="utf-8")
