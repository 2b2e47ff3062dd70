"""What units take by the clock."""

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"


def upgrade() -> None:
    """Make the table, empty."""
    op.create_table(
        "load",
        sa.Column("position", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("unit_id", sa.String(), nullable=False),
        sa.Column("from_local", sa.Time(), nullable=False),
        sa.Column("to_local", sa.Time(), nullable=False),
        sa.Column("kw", sa.Double(), nullable=False),
        sa.PrimaryKeyConstraint("position", name=op.f("pk_load")),
    )
