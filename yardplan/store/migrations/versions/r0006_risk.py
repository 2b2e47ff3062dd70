"""What the weather may do to a plan."""

import sqlalchemy as sa
from alembic import op

revision = "0006"
down_revision = "0005"


def upgrade() -> None:
    """Make the tables, empty: of older plans nothing is known."""
    op.create_table(
        "plan_risk",
        sa.Column("plan_number", sa.BigInteger(), nullable=False),
        sa.Column("n_scenarios", sa.BigInteger(), nullable=False),
        sa.Column("promised_frac", sa.Double(), nullable=False),
        sa.Column("all_frac", sa.Double(), nullable=False),
        sa.ForeignKeyConstraint(["plan_number"], ["plan.number"], name=op.f("fk_plan_risk_plan_number_plan")),
        sa.PrimaryKeyConstraint("plan_number", name=op.f("pk_plan_risk")),
    )
    op.create_table(
        "plan_order_risk",
        sa.Column("plan_number", sa.BigInteger(), nullable=False),
        sa.Column("position", sa.BigInteger(), nullable=False),
        sa.Column("order_id", sa.String(), nullable=False),
        sa.Column("chance_frac", sa.Double(), nullable=True),
        sa.Column("p50_slot", sa.BigInteger(), nullable=True),
        sa.Column("p80_slot", sa.BigInteger(), nullable=True),
        sa.Column("p95_slot", sa.BigInteger(), nullable=True),
        sa.ForeignKeyConstraint(["plan_number"], ["plan.number"], name=op.f("fk_plan_order_risk_plan_number_plan")),
        sa.PrimaryKeyConstraint("plan_number", "position", name=op.f("pk_plan_order_risk")),
    )
