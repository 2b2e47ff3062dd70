"""Yards as they were: each version of the yard, and the yard of each plan."""

import sqlalchemy as sa
from alembic import op

revision = "0013"
down_revision = "0012"


def upgrade() -> None:
    """Plans that are there do not know what yard they were made for."""
    op.create_table(
        "kept_yard",
        sa.Column("digest", sa.String(), nullable=False),
        sa.Column("document", sa.LargeBinary(), nullable=False),
        sa.PrimaryKeyConstraint("digest", name=op.f("pk_kept_yard")),
    )
    op.create_table(
        "yard_version",
        sa.Column("number", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("by", sa.String(), nullable=False),
        sa.Column("what", sa.String(), nullable=False),
        sa.Column("digest", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(["digest"], ["kept_yard.digest"], name=op.f("fk_yard_version_digest_kept_yard")),
        sa.PrimaryKeyConstraint("number", name=op.f("pk_yard_version")),
    )
    op.add_column("plan", sa.Column("yard_digest", sa.String(), nullable=False, server_default=""))
