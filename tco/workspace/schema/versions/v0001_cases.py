"""Cases and their steps."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make both tables."""
    op.create_table(
        "cases",
        sa.Column("id", sa.Text, primary_key=True),
        sa.Column("title", sa.Text, nullable=False),
        sa.Column("base", sa.Text, nullable=False),
        sa.Column("created", sa.Text, nullable=False),
        sa.Column("changed", sa.Text, nullable=False),
        sa.Column("steps", sa.Integer, nullable=False),
        sa.Column("seal", sa.Text, nullable=False),
    )
    op.create_table(
        "steps",
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
