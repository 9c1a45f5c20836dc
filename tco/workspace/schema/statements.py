"""What is done with cases in one transaction, on whichever database."""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

import sqlalchemy as sa

from tco.workspace.edits import Step, now
from tco.workspace.schema.rows import base_in, info_in, step_in, step_row, time_text
from tco.workspace.schema.stored import (
    AlreadyThere,
    Behind,
    CaseInfo,
    Damaged,
    NoSuchCase,
    NotKept,
    StoredCase,
)
from tco.workspace.schema.tables import CASES, STEPS

_INFO = [CASES.c[name] for name in ("id", "title", "owner", "created", "changed", "steps")]


def insert(
    connection: sa.Connection, case: Mapping[str, Any], steps: Sequence[Mapping[str, Any]]
) -> None:
    """Write the rows of a new case; AlreadyThere where one with its id is there."""
    try:
        connection.execute(CASES.insert(), dict(case))
    except sa.exc.IntegrityError as error:
        raise AlreadyThere(case["id"]) from error
    if steps:
        connection.execute(STEPS.insert(), [dict(row) for row in steps])


def info(connection: sa.Connection, case_id: str) -> CaseInfo:
    """The line of one case, whoever owns it; NoSuchCase where it is not there or was removed."""
    row = connection.execute(sa.select(*_INFO).where(_there(case_id))).mappings().first()
    if row is None:
        raise NoSuchCase
    return info_in(row)


def infos(connection: sa.Connection, owner: str) -> tuple[CaseInfo, ...]:
    """The lines of an owner's cases, in no order."""
    asked = sa.select(*_INFO).where(CASES.c.owner == owner, CASES.c.removed == "")
    return tuple(info_in(row) for row in connection.execute(asked).mappings())


REMOVED = "This case was taken off the list of cases. It can be put back."


def _not_there(connection: sa.Connection, case_id: str, owner: str) -> NoSuchCase:
    """Why a case cannot be read: it was removed, is another owner's, or never was."""
    asked = sa.select(CASES.c.owner).where(CASES.c.id == case_id)
    whose = connection.execute(asked).scalar()
    if whose is None:
        return NoSuchCase()
    if whose != owner:
        return NoSuchCase("This address is of a case that belongs to somebody else.")
    return NoSuchCase(REMOVED, removed=True)


def stored_case(connection: sa.Connection, case_id: str, owner: str) -> StoredCase:
    """All of a case."""
    asked = sa.select(CASES).where(_there(case_id), CASES.c.owner == owner)
    row = connection.execute(asked).mappings().first()
    if row is None:
        raise _not_there(connection, case_id, owner)
    head = info_in(row)
    steps = _steps(connection, case_id, 0)
    if len(steps) != head.steps:
        raise Damaged(f"it holds {len(steps)} of {head.steps} steps")
    return StoredCase(head, base_in(row), steps)


def after(connection: sa.Connection, case_id: str, number: int) -> tuple[Step, ...]:
    """The steps of a case that came after a number."""
    head = connection.execute(sa.select(CASES.c.steps).where(_there(case_id))).scalar_one_or_none()
    if head is None:
        raise NoSuchCase
    return _steps(connection, case_id, number) if head > number else ()


def append(connection: sa.Connection, case_id: str, step: Step, title: str) -> Step:
    """Write a step at its number, if the one before it is the last.

    Raises
    ------
    Behind, NoSuchCase, NotKept
        Where it is not: there are newer steps, no such case, or fewer steps than that.
    """
    row = step_row(case_id, step)
    head = {"title": title, "changed": time_text(now()), "steps": step.number}
    moved = connection.execute(
        CASES.update().where(_there(case_id), CASES.c.steps == step.number - 1).values(head)
    )
    if moved.rowcount != 1:
        newer = after(connection, case_id, step.number - 1)
        if newer:
            raise Behind(newer)
        raise NotKept(
            "This page knows steps that the case as it is kept has not: it was put back to an "
            "earlier state, as after damage. Your last change was not kept. Load the page again."
        )
    connection.execute(STEPS.insert(), row)
    return step_in(row)


def mark_removed(connection: sa.Connection, case_id: str, owner: str) -> None:
    """Take a case out of the list."""
    _mark(connection, _there(case_id), owner, time_text(now()))


def mark_put_back(connection: sa.Connection, case_id: str, owner: str) -> None:
    """Take a removed case into the list again."""
    _mark(connection, sa.and_(CASES.c.id == case_id, CASES.c.removed != ""), owner, "")


def _mark(
    connection: sa.Connection, which: sa.ColumnElement[bool], owner: str, removed: str
) -> None:
    marked = connection.execute(
        CASES.update().where(which, CASES.c.owner == owner).values(removed=removed)
    )
    if marked.rowcount != 1:
        raise NoSuchCase


def _there(case_id: str) -> sa.ColumnElement[bool]:
    return sa.and_(CASES.c.id == case_id, CASES.c.removed == "")


def _steps(connection: sa.Connection, case_id: str, number: int) -> tuple[Step, ...]:
    asked = (
        sa.select(STEPS)
        .where(STEPS.c.case_id == case_id, STEPS.c.number > number)
        .order_by(STEPS.c.number)
    )
    return in_a_row(step_in(row) for row in connection.execute(asked).mappings())


def in_a_row(steps: Iterable[Step]) -> tuple[Step, ...]:
    """Steps as they are, if their numbers follow one another; else Damaged."""
    found = tuple(steps)
    if found and [s.number for s in found] != list(range(found[0].number, found[-1].number + 1)):
        raise Damaged("steps are missing in the middle")
    return found
