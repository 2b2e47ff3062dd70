"""Answers to a what-if that are kept beside the plans."""

import sqlalchemy as sa
from alembic import op

revision = "0012"
down_revision = "0011"


def upgrade() -> None:
    """Mark plans: those that are there are no drafts."""
    op.add_column("plan", sa.Column("draft", sa.String(), nullable=False, server_default=""))
    op.add_column("plan", sa.Column("changes", sa.JSON(), nullable=False, server_default="[]"))
