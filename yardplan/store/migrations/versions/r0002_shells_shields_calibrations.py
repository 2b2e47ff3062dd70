"""Limits of shells, wind shields, weight of inserts; calibrations."""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"


def upgrade() -> None:
    """Add columns, with the values that held so far, and a table."""
    op.add_column("unit", sa.Column("wind_through_frac", sa.Double(), nullable=False, server_default="0.2"))
    op.add_column("mold", sa.Column("max_shell_c", sa.Double(), nullable=False, server_default="260"))
    op.add_column("item", sa.Column("piece_kg", sa.Double(), nullable=False, server_default="0"))
    op.create_table(
        "calibration",
        sa.Column("fit_number", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("unit_id", sa.String(), nullable=False),
        sa.Column("mold_id", sa.String(), nullable=False),
        sa.Column("heat_factor", sa.Double(), nullable=False),
        sa.Column("loss_factor", sa.Double(), nullable=False),
        sa.Column("spread_frac", sa.Double(), nullable=False),
        sa.Column("n_cycles", sa.BigInteger(), nullable=False),
        sa.Column("residual_min", sa.Double(), nullable=False),
        sa.Column("fitted_at", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("fit_number", "unit_id", "mold_id", name=op.f("pk_calibration")),
    )
