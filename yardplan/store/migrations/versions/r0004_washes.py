"""Washes of mirrors: on which days, how long, by how many."""

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"


def upgrade() -> None:
    """Add columns to the units, with what holds where nothing is known."""
    op.add_column("unit", sa.Column("washes_on", sa.JSON(), nullable=False, server_default="[]"))
    op.add_column("unit", sa.Column("wash_min", sa.BigInteger(), nullable=False, server_default="90"))
    op.add_column("unit", sa.Column("wash_crew", sa.BigInteger(), nullable=False, server_default="2"))
