"""How much people may work in the heat."""

import sqlalchemy as sa
from alembic import op

revision = "0011"
down_revision = "0010"


def upgrade() -> None:
    """Add what is known of the site, on the safe side, and an empty table, which stands for the one by default."""
    op.add_column("site", sa.Column("humidity_pct", sa.Double(), nullable=False, server_default="30"))
    op.add_column("site", sa.Column("handling_sun_frac", sa.Double(), nullable=False, server_default="1"))
    op.create_table(
        "work_rest",
        sa.Column("position", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("from_f", sa.Double(), nullable=False),
        sa.Column("moderate_min", sa.BigInteger(), nullable=False),
        sa.Column("heavy_min", sa.BigInteger(), nullable=False),
        sa.PrimaryKeyConstraint("position", name=op.f("pk_work_rest")),
    )
