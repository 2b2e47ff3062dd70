"""Upkeep that is due, and when plans do it."""

import sqlalchemy as sa
from alembic import op

revision = "0007"
down_revision = "0006"


def upgrade() -> None:
    """Make the tables, empty."""
    op.create_table(
        "upkeep",
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("position", sa.BigInteger(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("kind", sa.String(length=40), nullable=False),
        sa.Column("resource_id", sa.String(), nullable=False),
        sa.Column("minutes", sa.BigInteger(), nullable=False),
        sa.Column("skill", sa.String(), nullable=False),
        sa.Column("crew", sa.BigInteger(), nullable=False),
        sa.Column("from_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("due_at", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_upkeep")),
    )
    op.create_table(
        "plan_upkeep_job",
        sa.Column("plan_number", sa.BigInteger(), nullable=False),
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("upkeep_id", sa.String(), nullable=False),
        sa.Column("start_slot", sa.BigInteger(), nullable=False),
        sa.Column("end_slot", sa.BigInteger(), nullable=False),
        sa.Column("crew", sa.JSON(), nullable=False),
        sa.Column("locked", sa.Boolean(), nullable=False),
        sa.ForeignKeyConstraint(["plan_number"], ["plan.number"], name=op.f("fk_plan_upkeep_job_plan_number_plan")),
        sa.PrimaryKeyConstraint("plan_number", "id", name=op.f("pk_plan_upkeep_job")),
    )
