"""Run by the migration library: takes the connection and transaction that `migrating.upgrade` opened."""

from alembic import context

from voidless.records.schema import history, plan, results, spools
from voidless.records.schema.base import Base

TABLES = (history, plan, results, spools)  # imported so that Base knows every table


def run() -> None:
    """Run the migrations that are missing."""
    context.configure(
        connection=context.config.attributes["connection"],
        target_metadata=Base.metadata,
        render_as_batch=True,
        compare_type=True,
    )
    with context.begin_transaction():
        context.run_migrations()


# The library fills its context before it runs this file; a search for documentation tests does not.
if hasattr(context, "config"):
    run()
