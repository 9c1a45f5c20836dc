"""The tables as they are now, and the revision that makes them so."""

import sqlalchemy as sa

REVISIONS = ("0001", "0002")
"""Those in `versions/`, oldest first."""
HEAD = REVISIONS[-1]

METADATA = sa.MetaData()

CASES = sa.Table(
    "cases",
    METADATA,
    sa.Column("id", sa.Text, primary_key=True),
    sa.Column("title", sa.Text, nullable=False),
    sa.Column("base", sa.Text, nullable=False),
    sa.Column("created", sa.Text, nullable=False),
    sa.Column("changed", sa.Text, nullable=False),
    sa.Column("steps", sa.Integer, nullable=False),
    sa.Column("seal", sa.Text, nullable=False),
    sa.Column("owner", sa.Text, nullable=False, server_default=""),
    sa.Column("removed", sa.Text, nullable=False, server_default=""),
    sa.Index("cases_by_owner", "owner", "removed", "changed"),
)
"""`base` is JSON, times ISO text in UTC, `removed` the time of removal or "".

`steps` is the number of the last step, `seal` a digest of what never changes.
"""

STEPS = sa.Table(
    "steps",
    METADATA,
    sa.Column("case_id", sa.Text, sa.ForeignKey("cases.id"), primary_key=True),
    sa.Column("number", sa.Integer, primary_key=True, autoincrement=False),
    sa.Column("at", sa.Text, nullable=False),
    sa.Column("kind", sa.Text, nullable=False),
    sa.Column("of_step", sa.Integer, nullable=False),
    sa.Column("words", sa.Text, nullable=False),
    sa.Column("tab", sa.Text, nullable=False),
    sa.Column("who", sa.Text, nullable=False),
    sa.Column("edits", sa.Text, nullable=False),
    sa.Column("seal", sa.Text, nullable=False),
)
"""A step's edits are JSON; `seal` is a digest of the whole row."""
