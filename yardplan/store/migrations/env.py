"""What Alembic runs for an upgrade; the connection and its transaction come from the caller."""

from alembic import context

from yardplan.store.columns import Row
from yardplan.store.engine import VERSION_TABLE

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=Row.metadata,
    version_table=VERSION_TABLE,
    render_as_batch=True,
)
context.run_migrations()
