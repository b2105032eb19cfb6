"""The migrations make exactly the tables that the models describe, and nothing can be changed in them."""

import sqlite3
import subprocess
import sys

import pytest
from alembic.autogenerate import compare_metadata
from alembic.config import Config
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import CheckConstraint
from sqlalchemy.exc import IntegrityError

from voidless.errors import RecordsError
from voidless.records.database import Database
from voidless.records.migrating import HEAD, MIGRATIONS, ensure_newest, known_versions, schema_version
from voidless.records.schema import history, plan, results, spools
from voidless.records.schema.base import Base
from voidless.records.store import Store

MODULES = (history, plan, results, spools)
KEPT = sorted(name for name in Base.metadata.tables if name != "campaign")


@pytest.fixture
def database(folder):
    opened = Database(folder / "records.sqlite")
    yield opened
    opened.close()


def test_migrations_and_models_agree(database):
    with database.reading() as connection:
        context = MigrationContext.configure(connection, opts={"compare_type": True})
        assert compare_metadata(context, Base.metadata) == []


def test_migrations_make_the_checks_of_the_models(database):
    # The comparison above does not see CHECK constraints.
    declared = {
        item.name
        for table in Base.metadata.tables.values()
        for item in table.constraints
        if isinstance(item, CheckConstraint)
    }
    assert declared
    with database.reading() as connection:
        text = " ".join(
            connection.exec_driver_sql("SELECT sql FROM sqlite_master WHERE type = 'table'").scalars()
        )
    assert all(str(name) in text for name in declared)


def test_head_is_the_newest_migration(database):
    config = Config()
    config.set_main_option("script_location", str(MIGRATIONS))
    assert ScriptDirectory.from_config(config).get_current_head() == HEAD == known_versions()[-1]
    with database.reading() as connection:
        assert schema_version(connection) == HEAD


def test_every_table_but_campaign_knows_its_campaign():
    assert len(KEPT) >= 19
    for name in KEPT:
        assert {"id", "campaign_id", "sequence", "time"} <= set(Base.metadata.tables[name].columns.keys()), (
            name
        )


@pytest.mark.parametrize("verb", ["UPDATE {0} SET sequence = 0", "DELETE FROM {0}"])
@pytest.mark.parametrize("table", KEPT)
def test_no_row_is_ever_changed_or_deleted(folder, table, verb):
    connection = sqlite3.connect(folder / "records.sqlite")
    connection.execute("PRAGMA foreign_keys = OFF")
    columns = [row[1] for row in connection.execute(f"PRAGMA table_info({table})")]
    # Any row will do: the check constraints want a bound by name and an ordinal from 1.
    values = ["exact" if name == "bound" else 1 for name in columns]
    connection.execute(f"INSERT INTO {table} VALUES ({','.join('?' * len(values))})", values)
    with pytest.raises(sqlite3.IntegrityError, match=f"rows of {table} are never changed or deleted"):
        connection.execute(verb.format(table))
    connection.close()


def test_rows_of_a_campaign_that_is_not_there_are_refused(database, now):
    with pytest.raises(RecordsError) as raised, database.writing() as connection:
        connection.execute(
            Base.metadata.tables["event"].insert(),
            {"id": "a", "campaign_id": "gone", "sequence": 1, "time": now, "kind": "x", "payload": {}},
        )
    assert isinstance(raised.value.__cause__, IntegrityError)
    assert "FOREIGN KEY" in str(raised.value)


def test_records_of_a_newer_program_are_refused(folder):
    connection = sqlite3.connect(folder / "records.sqlite")
    connection.execute("UPDATE alembic_version SET version_num = '9999'")
    connection.commit()
    connection.close()
    with pytest.raises(RecordsError, match=r"has schema 9999.*expected 0002 or older.*newer Voidless"):
        Store.open(folder)


def test_a_failed_step_leaves_the_database_as_it_was(tmp_path, monkeypatch):
    database = Database(tmp_path / "x.sqlite", create=True)
    connection = sqlite3.connect(database.path)
    connection.execute("CREATE TABLE alembic_version (version_num TEXT)")
    connection.execute("INSERT INTO alembic_version VALUES ('0000')")
    connection.execute("CREATE TABLE event (x)")  # in the way of the first step
    connection.commit()
    connection.close()
    monkeypatch.setattr("voidless.records.migrating.known_versions", lambda: ("0000", HEAD))
    with pytest.raises(Exception, match=r"event|0000"):
        ensure_newest(database)
    with database.reading() as connection:
        assert connection.exec_driver_sql("SELECT name FROM sqlite_master ORDER BY name").scalars().all() == [
            "alembic_version",
            "event",
        ]
    database.close()


def test_opening_loads_no_migration_library_and_the_package_loads_nothing(folder):
    code = (
        "import sys\n"
        "import voidless.records\n"
        "import voidless.records.facts, voidless.records.labels\n"
        "assert 'sqlalchemy' not in sys.modules\n"
        "from pathlib import Path\n"
        "from voidless.records.store import Store\n"
        "Store.open(Path(sys.argv[1])).close()\n"
        "assert 'alembic' not in sys.modules\n"
    )
    subprocess.run([sys.executable, "-c", code, str(folder)], check=True)


def test_records_of_the_first_schema_are_brought_up_with_what_they_hold(folder, now, tmp_path):
    """Rows written under 0001 stay as they are; a check of that time has neither gain nor offset."""
    from alembic import command

    from voidless.records.facts import Check, Instrument

    path = tmp_path / "old.sqlite"
    database = Database(path, create=True)
    config = Config()
    config.set_main_option("script_location", str(MIGRATIONS))
    with database.writing() as connection:
        config.attributes["connection"] = connection
        command.upgrade(config, "0001")
        stamp = now.isoformat(timespec="microseconds")
        for row in (
            f"campaign (id, name, time, written) VALUES ('c', 'old', '{stamp}', 2)",
            (
                "instrument (id, campaign_id, sequence, time, label, kind, resolution, note) "
                f"VALUES ('i', 'c', 1, '{stamp}', 'rig', '', '', '')"
            ),
            (
                "instrument_check (id, campaign_id, sequence, time, instrument_id, checked_at, passed, unit, note) "
                f"VALUES ('k', 'c', 2, '{stamp}', 'i', '{stamp}', 0, '', '')"
            ),
        ):
            connection.exec_driver_sql(f"INSERT INTO {row}")
    database.close()
    path.replace(folder / "records.sqlite")
    for rest in folder.glob("records.sqlite-*"):
        rest.unlink()
    with Store.open(folder) as store:
        assert store.instruments() == [Instrument("rig")]
        assert store.checks() == [Check("rig", now, passed=False)]
        assert store.uses() == []
