"""Outlooks as they were shown."""

import sqlalchemy as sa
from alembic import op

revision = "0010"
down_revision = "0009"


def upgrade() -> None:
    """Make the table; none that is there changes."""
    op.create_table(
        "shown_outlook",
        sa.Column("number", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("first_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("last_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("arrays", sa.LargeBinary(), nullable=False),
        sa.PrimaryKeyConstraint("number", name=op.f("pk_shown_outlook")),
    )
    op.create_index(op.f("ix_shown_outlook_made_at"), "shown_outlook", ["made_at"])
