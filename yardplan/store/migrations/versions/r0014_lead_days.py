"""How long it takes until more of a stock item is here."""

import sqlalchemy as sa
from alembic import op

revision = "0014"
down_revision = "0013"


def upgrade() -> None:
    """Add the days; of what is there nobody said."""
    op.add_column("item", sa.Column("lead_days", sa.BigInteger(), nullable=True))
