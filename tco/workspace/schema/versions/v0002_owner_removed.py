"""Whose a case is, and whether it was taken out of the list."""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add both columns, and an index for the list of one owner."""
    op.add_column("cases", sa.Column("owner", sa.Text, nullable=False, server_default=""))
    op.add_column("cases", sa.Column("removed", sa.Text, nullable=False, server_default=""))
    op.create_index("cases_by_owner", "cases", ["owner", "removed", "changed"])
