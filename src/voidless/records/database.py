"""Connections to the database, transactions, and database errors said in plain words."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from sqlalchemy import Connection, create_engine, event
from sqlalchemy.exc import StatementError
from sqlalchemy.exc import TimeoutError as PoolTimeout
from sqlalchemy.pool import QueuePool

from voidless.errors import InputError, RecordsError, VoidlessError

__all__ = ["WAIT_S", "Database", "database_errors"]

WAIT_S = 20.0
"""How long a writer waits for another one. [s]"""

_RESTORE = "Restore the folder from a backup; keep the damaged file, its contents may be recoverable."
_SPACE = "Free some space and try again; nothing of this step was stored."
_RIGHTS = "Make the folder and its files writable, or copy the campaign to where you may write."

# Words of SQLite's own messages (its result codes, https://www.sqlite.org/rescode.html) -> what, remedy.
_FAULTS = (
    ("file is not a database", "is not a database", _RESTORE),
    ("malformed", "is damaged", _RESTORE),
    ("database is locked", "is being written by another program", "Wait for it to end and try again."),
    ("full", "cannot grow: the disk is full", _SPACE),
    ("readonly", "cannot be written: it is read-only", _RIGHTS),
    ("unable to open", "cannot be opened", _RIGHTS),
    ("disk i/o error", "cannot be read or written: the disk reports an error", _RESTORE),
    ("no such table", "lacks a table", _RESTORE),
)


def _fault(path: Path, problem: Exception) -> RecordsError:
    text = str(getattr(problem, "orig", None) or problem)
    for words, what, remedy in _FAULTS:
        if words in text.lower():
            return RecordsError(str(path), f"{path.name} {what}", "", remedy)
    return RecordsError(str(path), f"{path.name}: {text}", "", "Nothing of this step was stored.")


@contextmanager
def database_errors(path: Path) -> Iterator[None]:
    """
    Turn errors of the database into `RecordsError` that name the file, the fault and the remedy.

    Raises
    ------
    InputError
        A value cannot be kept.
    RecordsError
        The database reported an error inside the block.
    """
    try:
        yield
    except (StatementError, sqlite3.Error, PoolTimeout) as problem:
        said = getattr(problem, "orig", None)
        if isinstance(said, VoidlessError):
            raise said from None  # a column's own check refused the value
        raise _fault(path, problem) from problem
    except UnicodeEncodeError as problem:
        raise InputError(
            str(path),
            f"the text {problem.object[:80]!r} cannot be written as UTF-8",
            "plain text",
            "Correct it.",
        ) from problem


class Database:
    """
    The SQLite file of a campaign folder.

    Parameters
    ----------
    path : Path
        The file; it must exist unless `create`.
    wait_s : float
        How long a writer waits for another one. [s]
    read_only : bool
        Open without writing anything beside the file either, for folders that cannot be written.
    create : bool
        Make the file when it is not there.
    """

    def __init__(
        self, path: Path, wait_s: float = WAIT_S, *, read_only: bool = False, create: bool = False
    ) -> None:
        if not create and not path.is_file():
            raise RecordsError(str(path), f"{path.name} is missing", "a database file", _RESTORE)
        self.path = path
        self.wait_s = wait_s
        self.read_only = read_only
        # A file-backed pool of its own: the address given to SQLAlchemy only names the dialect.
        self._engine = create_engine("sqlite://", creator=self._connect, poolclass=QueuePool)
        event.listen(self._engine, "begin", _begin)

    def _connect(self) -> sqlite3.Connection:
        # isolation_level None: transactions begin where we say so, not where the driver guesses.
        if self.read_only:
            # With a log beside it another program is at work, and the log must be read too; without
            # one nothing may be written, not even the empty log that reading usually makes.
            frozen = "" if self.path.with_name(self.path.name + "-wal").exists() else "&immutable=1"
            address = f"{self.path.resolve().as_uri()}?mode=ro{frozen}"
            connection = sqlite3.connect(address, uri=True, isolation_level=None, check_same_thread=False)
        else:
            connection = sqlite3.connect(
                self.path, timeout=self.wait_s, isolation_level=None, check_same_thread=False
            )
        try:
            connection.execute("PRAGMA foreign_keys = ON")
            connection.execute("PRAGMA synchronous = FULL")
        except sqlite3.Error:
            connection.close()
            raise
        return connection

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """Give a connection that sees one unchanging state of the records."""
        with database_errors(self.path), self._engine.connect() as connection:
            yield connection

    @contextmanager
    def writing(self) -> Iterator[Connection]:
        """
        Give a connection whose writes are kept all together, or not at all when the block raises.

        Raises
        ------
        RecordsError
            The folder is read-only, another program kept writing for `wait_s`, or the disk failed.
        """
        if self.read_only:
            raise _fault(self.path, sqlite3.OperationalError("readonly"))
        with database_errors(self.path), self._engine.connect() as connection:
            connection = connection.execution_options(immediate=True)
            with connection.begin():
                yield connection

    def use_write_ahead_log(self) -> None:
        """Keep a log beside the file from now on, so that readers and a writer do not hinder each other."""
        with database_errors(self.path):
            connection = self._connect()
            try:
                connection.execute("PRAGMA journal_mode = WAL")
            finally:
                connection.close()

    def faults(self) -> list[str]:
        """Return what the database's own check of pages and references finds; empty when sound."""
        with self.reading() as connection:
            pages = [str(row[0]) for row in connection.exec_driver_sql("PRAGMA integrity_check")]
            strays = [
                f"table {row[0]} row {row[1]} refers to a missing row of {row[2]}"
                for row in connection.exec_driver_sql("PRAGMA foreign_key_check")
            ]
        return [text for text in pages if text != "ok"] + strays

    def close(self) -> None:
        """Close all connections."""
        self._engine.dispose()


def _begin(connection: Connection) -> None:
    immediate = connection.get_execution_options().get("immediate", False)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if immediate else "BEGIN")
