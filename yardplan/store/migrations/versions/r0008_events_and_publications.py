"""The log entry by entry, which plan is in force, and how much a plan moves of the one before."""

import sqlalchemy as sa
from alembic import op

revision = "0008"
down_revision = "0007"


def upgrade() -> None:
    """Make the tables, empty; plans made before moved nothing."""
    op.create_table(
        "log_event",
        sa.Column("number", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("kind", sa.String(length=40), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("entered_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("by", sa.String(), nullable=False),
        sa.Column("seat", sa.String(), nullable=False),
        sa.Column("subject", sa.String(), nullable=False),
        sa.Column("mold", sa.String(), nullable=True),
        sa.Column("order_id", sa.String(), nullable=False),
        sa.Column("product_id", sa.String(), nullable=False),
        sa.Column("color", sa.String(), nullable=False),
        sa.Column("cycle_id", sa.String(), nullable=False),
        sa.Column("planned_id", sa.String(), nullable=False),
        sa.Column("step_ix", sa.BigInteger(), nullable=True),
        sa.Column("person", sa.String(), nullable=False),
        sa.Column("good", sa.BigInteger(), nullable=True),
        sa.Column("scrapped", sa.BigInteger(), nullable=True),
        sa.Column("rework", sa.BigInteger(), nullable=True),
        sa.Column("amount", sa.Double(), nullable=True),
        sa.Column("choice", sa.String(length=40), nullable=True),
        sa.Column("until_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("reason", sa.String(), nullable=False),
        sa.Column("corrects", sa.BigInteger(), nullable=True),
        sa.PrimaryKeyConstraint("number", name=op.f("pk_log_event")),
    )
    op.create_table(
        "publication",
        sa.Column("number", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("plan_number", sa.BigInteger(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("by", sa.String(), nullable=False),
        sa.Column("seat", sa.String(), nullable=False),
        sa.Column("reason", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(["plan_number"], ["plan.number"], name=op.f("fk_publication_plan_number_plan")),
        sa.PrimaryKeyConstraint("number", name=op.f("pk_publication")),
    )
    op.add_column("plan", sa.Column("based_on", sa.BigInteger(), nullable=False, server_default="0"))
    op.add_column("plan", sa.Column("moved", sa.BigInteger(), nullable=False, server_default="0"))
