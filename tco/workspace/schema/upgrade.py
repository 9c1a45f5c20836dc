"""Bringing the tables of a database up to date, within the transaction of a connection given."""

import threading
from pathlib import Path
from typing import Any

import sqlalchemy as sa
from alembic.config import Config
from alembic.runtime.environment import EnvironmentContext
from alembic.script import ScriptDirectory

from tco.workspace.schema.stored import Damaged, Newer
from tco.workspace.schema.tables import CASES, HEAD, REVISIONS, STEPS

_HERE = Path(__file__).resolve().parent
_ONE_AT_A_TIME = threading.Lock()
"""Alembic's operations are one for the whole process."""
_LOCK_NUMBER = 7_305_119
"""Advisory lock of a server that upgrades hold; the number is ours, by chance."""


def scripts() -> ScriptDirectory:
    """The upgrades there are."""
    return ScriptDirectory.from_config(_config())


def _config() -> Config:
    config = Config()
    config.set_main_option("script_location", str(_HERE).replace("%", "%%"))
    config.set_main_option("path_separator", "os")
    return config


def revision(connection: sa.Connection) -> str:
    """The revision a database is at; "" where it holds nothing of ours.

    Raises
    ------
    Damaged
        Where it holds some of our tables and no revision, or a revision and no tables.
    """
    there = set(sa.inspect(connection).get_table_names())
    ours = {CASES.name, STEPS.name} & there
    if "alembic_version" not in there:
        if ours:
            raise Damaged("it does not say which version of the tables it holds")
        return ""
    found = connection.exec_driver_sql("SELECT version_num FROM alembic_version").scalars().all()
    if not found and not ours:
        return ""
    if len(found) != 1 or not isinstance(found[0], str):
        raise Damaged("it does not say which version of the tables it holds")
    if len(ours) < 2:
        raise Damaged("tables are missing")
    return found[0]


def up_to_date(connection: sa.Connection) -> bool:
    """Whether a database has the tables as they are now: one cheap look.

    Raises
    ------
    Newer
        Where a newer program wrote it.
    Damaged
        See `revision`.
    """
    at = revision(connection)
    if at and at not in REVISIONS:
        raise Newer(
            f"It was written by a newer version of this program: its tables are of revision {at}, "
            f"this version knows those up to {HEAD}. Nothing was changed. Update this program and "
            "open it again."
        )
    return at == HEAD


def upgrade(connection: sa.Connection, to: str = "head") -> None:
    """Upgrade the tables, or make them; the caller commits, or rolls all of it back.

    On SQLite the transaction has to be one that writes, so that one upgrade waits for another; on
    a server a lock sees to it.

    Raises
    ------
    Newer, Damaged
        See `up_to_date`.
    """
    if connection.dialect.name == "postgresql":
        connection.execute(sa.select(sa.func.pg_advisory_xact_lock(_LOCK_NUMBER)))
    if up_to_date(connection):
        return
    with _ONE_AT_A_TIME:
        directory = scripts()

        def revisions(rev: Any, context: Any) -> Any:
            return directory._upgrade_revs(to, rev)

        with EnvironmentContext(_config(), directory, fn=revisions, destination_rev=to) as context:
            context.configure(connection=connection, transactional_ddl=True)
            context.run_migrations()
