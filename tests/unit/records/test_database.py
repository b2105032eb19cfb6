"""Damage, locks, full disks and read-only folders end in one clear error, and change nothing."""

import os
import shutil
import sqlite3
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import pytest

from voidless.errors import InputError, RecordsError
from voidless.records.database import Database, database_errors
from voidless.records.facts import Spool
from voidless.records.store import Store


def test_a_folder_without_campaign_is_input_at_fault(tmp_path):
    with pytest.raises(InputError, match=r"holds no campaign.*voidless new"):
        Store.open(tmp_path)
    with pytest.raises(InputError, match="no such folder"):
        Store.open(tmp_path / "gone")
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("damage", "said"),
    [
        (lambda data: b"", "holds no campaign"),
        (lambda data: b"not a database at all " * 400, "is not a database"),
        (lambda data: data[:100], "is damaged|is not a database|holds no campaign"),
        (lambda data: data[:4096] + b"\x55" * (len(data) - 4096), "is damaged"),
    ],
    ids=["empty", "text", "header only", "pages overwritten"],
)
def test_damage_is_said_plainly(folder, damage, said):
    path = folder / "records.sqlite"
    damaged = damage(path.read_bytes())
    path.write_bytes(damaged)
    with pytest.raises(RecordsError, match=said) as raised, Store.open(folder) as store:
        store.campaign_text  # noqa: B018
    assert str(path) in str(raised.value)
    assert "backup" in raised.value.remedy
    assert path.read_bytes() == damaged


def test_damage_inside_is_found_by_verify(printed, folder):
    printed.close()
    path = folder / "records.sqlite"
    connection = sqlite3.connect(path)
    connection.execute("PRAGMA foreign_keys = OFF")
    connection.execute("DROP TRIGGER keep_run_delete")
    connection.execute("DELETE FROM run WHERE label = 'R02'")
    connection.commit()
    connection.close()
    with Store.open(folder) as store:
        found = store.verify()
    assert [(problem.kind, problem.harmless) for problem in found] == [("database", False)]
    assert "refers to a missing row of run" in found[0].what


def test_another_database_is_not_taken_for_a_campaign(folder):
    path = folder / "records.sqlite"
    path.unlink()
    connection = sqlite3.connect(path)
    connection.execute("CREATE TABLE other (x)")
    connection.commit()
    connection.close()
    with pytest.raises(RecordsError, match="holds no campaign"):
        Store.open(folder)


def fill(store, now, seen):
    with store.writing(now) as writer:
        for _ in range(500):
            writer.add_observation(seen())


def test_a_full_disk_stores_nothing(printed, now, seen, monkeypatch):
    # SQLite reports a full disk and a reached page limit by the same code, SQLITE_FULL.
    original = Database._connect

    def small(self):
        connection = original(self)
        pages = connection.execute("PRAGMA page_count").fetchone()[0]
        connection.execute(f"PRAGMA max_page_count = {pages + 2}")
        return connection

    monkeypatch.setattr(Database, "_connect", small)
    before = printed.inputs_hash()
    with Store.open(printed.folder) as store:
        with pytest.raises(RecordsError, match="disk is full"):
            fill(store, now, seen)
        assert store.observations() == []
        assert store.inputs_hash() == before
        assert store.verify() == []


def test_a_reader_sees_one_state_while_another_writes(printed, now, seen):
    with Store.open(printed.folder) as reader, printed.writing(now) as writer:
        writer.add_observation(seen())
        assert reader.observations() == []
    with Store.open(printed.folder) as reader:
        assert len(reader.observations()) == 1


HOLD = """
import sys, time
from datetime import UTC, datetime
from pathlib import Path
from voidless.records.store import Store
with Store.open(Path(sys.argv[1])) as store, store.writing(datetime.now(UTC)) as writer:
    writer.add_event("held")
    print("holding", flush=True)
    sys.stdin.readline()
"""


def test_two_processes_that_write_wait_for_each_other(printed, now):
    child = subprocess.Popen(
        [sys.executable, "-c", HOLD, str(printed.folder)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )
    with child:
        assert child.stdout.readline() == "holding\n"
        with Store.open(printed.folder, wait_s=0.2) as impatient:
            start = time.monotonic()
            with (
                pytest.raises(RecordsError, match="being written by another program"),
                impatient.writing(now) as writer,
            ):
                writer.add_event("too early")
            assert time.monotonic() - start < 10.0  # far from the usual wait, for loaded machines
            assert [event.kind for event in impatient.events()] == []
        with Store.open(printed.folder, wait_s=30.0) as patient:
            child.stdin.write("\n")
            child.stdin.flush()
            with patient.writing(now) as writer:
                writer.add_event("after")
            assert [event.kind for event in patient.events()] == ["held", "after"]
    assert child.returncode == 0


def test_a_folder_that_cannot_be_written_can_still_be_read(printed, now, seen, monkeypatch):
    with printed.writing(now) as writer:
        writer.add_observation(seen())
    printed.close()
    before = {path: path.stat().st_mtime_ns for path in sorted(printed.folder.rglob("*"))}
    monkeypatch.setattr(os, "access", lambda *args: False)
    with Store.open(printed.folder) as store:
        assert store.read_only
        assert len(store.observations()) == 1
        assert store.verify() == []
        with pytest.raises(RecordsError, match="read-only"), store.writing(now):
            pass
        after = {path: path.stat().st_mtime_ns for path in sorted(printed.folder.rglob("*"))}
    assert after == before


WITHOUT_RIGHTS = """
import os, sys
from pathlib import Path
from voidless.records.store import Store
folder = Path(sys.argv[1])
Store.open(folder).close()  # loads whatever is loaded late, while everything can still be read
os.setuid(65534)
with Store.open(folder) as store:
    print(store.read_only, len(store.observations()))
"""


@pytest.mark.skipif(
    not hasattr(os, "geteuid") or os.geteuid() != 0, reason="only root can act as a user without rights"
)
def test_a_user_without_rights_can_read(printed, now, seen):
    with printed.writing(now) as writer:
        writer.add_observation(seen())
    printed.close()
    top = Path(tempfile.gettempdir())
    for part in (printed.folder, *printed.folder.parents):
        if part != top and part.is_relative_to(top):
            part.chmod(part.stat().st_mode | 0o055)
    done = subprocess.run(
        [sys.executable, "-c", WITHOUT_RIGHTS, str(printed.folder)],
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.stdout == "True 1\n", done.stderr


def test_a_log_beside_the_database_is_read_too(printed, now, seen, tmp_path, monkeypatch):
    with printed.writing(now) as writer:
        writer.add_observation(seen())
    # The store is still open, so the newest entries stand in the log only.
    copy = shutil.copytree(printed.folder, tmp_path / "copy")
    assert (copy / "records.sqlite-wal").stat().st_size > 0
    monkeypatch.setattr(os, "access", lambda *args: False)
    with Store.open(copy) as store:
        assert len(store.observations()) == 1


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("attempt to write a readonly database", "is read-only"),
        ("unable to open database file", "cannot be opened"),
        ("disk I/O error", "reports an error"),
        ("something new", "something new"),
    ],
)
def test_database_errors_name_file_and_fault(tmp_path, text, said):
    path = tmp_path / "records.sqlite"
    with pytest.raises(RecordsError, match=said) as raised, database_errors(path):
        raise sqlite3.OperationalError(text)
    assert raised.value.where == str(path)
    assert raised.value.remedy


def test_text_that_no_file_can_hold_is_input_at_fault(printed, now):
    # Half of a surrogate pair: what Python makes of bytes that are not UTF-8.
    for write in (
        lambda writer: writer.set_build_fact("B01", "note", "\udcff"),
        lambda writer: writer.add_spool(Spool("\udcff")),
    ):
        with pytest.raises(InputError, match="cannot be written as UTF-8"), printed.writing(now) as writer:
            write(writer)
    assert printed.build_facts() == []


def test_other_errors_pass_unchanged(tmp_path):
    with pytest.raises(FileNotFoundError), database_errors(tmp_path):
        raise FileNotFoundError
