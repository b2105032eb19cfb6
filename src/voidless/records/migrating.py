"""Brings a database to the newest schema, and knows which schema it has."""

from __future__ import annotations

from pathlib import Path

from sqlalchemy import Connection

from voidless.errors import RecordsError
from voidless.records.database import Database

__all__ = ["HEAD", "MIGRATIONS", "ensure_newest", "known_versions", "schema_version", "upgrade"]

MIGRATIONS = Path(__file__).parent / "migrations"
HEAD = "0002"
"""Newest schema version; a test holds it equal to the newest migration. Kept here so that opening
a store need not load the migration library."""


def schema_version(connection: Connection) -> str:
    """Return the schema version of a database; empty when it has none."""
    tables = "SELECT count(*) FROM sqlite_master WHERE type = 'table' AND name = 'alembic_version'"
    if not connection.exec_driver_sql(tables).scalar_one():
        return ""
    return str(connection.exec_driver_sql("SELECT version_num FROM alembic_version").scalar() or "")


def known_versions() -> tuple[str, ...]:
    """Return all schema versions of this program, oldest first."""
    return tuple(sorted(path.name.split("_")[0] for path in (MIGRATIONS / "versions").glob("[0-9]*.py")))


def upgrade(connection: Connection) -> None:
    """Run the migrations that are missing, inside the transaction of `connection`."""
    from alembic import command
    from alembic.config import Config

    config = Config()
    # The option file's syntax gives a percent sign a meaning of its own.
    config.set_main_option("script_location", str(MIGRATIONS).replace("%", "%%"))
    config.attributes["connection"] = connection
    command.upgrade(config, "head")


def ensure_newest(database: Database) -> None:
    """
    Bring a database to the newest schema, all steps or none.

    Raises
    ------
    RecordsError
        It holds no records of a campaign, or those of a newer program.
    """
    with database.reading() as connection:
        version = schema_version(connection)
    if version == HEAD:
        return
    where, name = str(database.path), database.path.name
    if not version:
        raise RecordsError(
            where, f"{name} holds no campaign", "the records of a campaign", "Restore it from a backup."
        )
    if version not in known_versions():
        raise RecordsError(
            where,
            f"{name} has schema {version}",
            f"{HEAD} or older",
            "A newer Voidless wrote it: update this one.",
        )
    with database.writing() as connection:
        upgrade(connection)
