"""Quotes, what is held for customers, and finished pieces in stock."""

import sqlalchemy as sa
from alembic import op

revision = "0009"
down_revision = "0008"


def upgrade() -> None:
    """Make the tables, empty."""
    op.create_table(
        "quote",
        sa.Column("number", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("made_by", sa.String(), nullable=False),
        sa.Column("plan_number", sa.BigInteger(), nullable=True),
        sa.Column("outlook", sa.String(), nullable=False),
        sa.Column("state", sa.String(), nullable=False),
        sa.Column("document", sa.String(), nullable=False),
        sa.PrimaryKeyConstraint("number", name=op.f("pk_quote")),
    )
    op.create_table(
        "hold",
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("entry", sa.BigInteger(), nullable=False),
        sa.Column("quote_number", sa.BigInteger(), nullable=False),
        sa.Column("customer", sa.String(), nullable=False),
        sa.Column("until_on", sa.Date(), nullable=False),
        sa.Column("promise_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("confidence", sa.Double(), nullable=False),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("made_by", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(["quote_number"], ["quote.number"], name=op.f("fk_hold_quote_number_quote")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_hold")),
        sa.UniqueConstraint("entry", name=op.f("uq_hold_entry")),
    )
    op.create_table(
        "hold_wish",
        sa.Column("hold_id", sa.String(), nullable=False),
        sa.Column("position", sa.BigInteger(), nullable=False),
        sa.Column("product_id", sa.String(), nullable=False),
        sa.Column("color", sa.String(), nullable=False),
        sa.Column("quantity", sa.BigInteger(), nullable=False),
        sa.ForeignKeyConstraint(["hold_id"], ["hold.id"], name=op.f("fk_hold_wish_hold_id_hold")),
        sa.PrimaryKeyConstraint("hold_id", "position", name=op.f("pk_hold_wish")),
    )
    op.create_table(
        "finished_stock",
        sa.Column("product_id", sa.String(), nullable=False),
        sa.Column("color", sa.String(), nullable=False),
        sa.Column("free", sa.BigInteger(), nullable=False),
        sa.Column("on_hold", sa.BigInteger(), nullable=False),
        sa.PrimaryKeyConstraint("product_id", "color", name=op.f("pk_finished_stock")),
    )
