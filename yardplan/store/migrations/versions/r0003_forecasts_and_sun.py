"""Forecasts as they were got, the services they come from, and the sun that was measured."""

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"


def upgrade() -> None:
    """Make the three tables; none that is there changes."""
    op.create_table(
        "forecast",
        sa.Column("number", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("service", sa.String(), nullable=False),
        sa.Column("question", sa.String(), nullable=False),
        sa.Column("latitude_deg", sa.Double(), nullable=False),
        sa.Column("longitude_deg", sa.Double(), nullable=False),
        sa.Column("credit", sa.String(), nullable=False),
        sa.Column("source", sa.String(), nullable=False),
        sa.Column("issued_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("fetched_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("etag", sa.String(), nullable=False),
        sa.Column("last_modified", sa.String(), nullable=False),
        sa.Column("warnings", sa.JSON(), nullable=False),
        sa.Column("step_min", sa.BigInteger(), nullable=False),
        sa.Column("arrays", sa.LargeBinary(), nullable=False),
        sa.Column("payload", sa.LargeBinary(), nullable=False),
        sa.PrimaryKeyConstraint("number", name=op.f("pk_forecast")),
    )
    op.create_index(op.f("ix_forecast_issued_at"), "forecast", ["issued_at"])
    op.create_table(
        "forecast_service",
        sa.Column("service", sa.String(), nullable=False),
        sa.Column("checked_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("rest_until_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("trouble", sa.String(), nullable=False),
        sa.PrimaryKeyConstraint("service", name=op.f("pk_forecast_service")),
    )
    op.create_table(
        "sun_reading",
        sa.Column("source", sa.String(), nullable=False),
        sa.Column("start_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("step_min", sa.BigInteger(), nullable=False),
        sa.Column("dni_w_m2", sa.Double(), nullable=False),
        sa.Column("ghi_w_m2", sa.Double(), nullable=True),
        sa.PrimaryKeyConstraint("source", "start_at", name=op.f("pk_sun_reading")),
    )
