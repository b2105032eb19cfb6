"""The records of one campaign in one folder: create, open, read, and the one way to write."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime
from importlib.metadata import version as installed_version
from pathlib import Path
from types import TracebackType
from typing import Self

from voidless.errors import InputError
from voidless.records import history
from voidless.records.content import ContentStore
from voidless.records.creation import CAMPAIGN_FILE, DATABASE_FILE, LEFTOVER, RAW_FOLDER, create_folder
from voidless.records.database import WAIT_S, Database
from voidless.records.facts import (
    Problem,
    StoredFile,
)
from voidless.records.inspecting import campaign_of, problems
from voidless.records.ledger import Ledger, PendingFile, Scope, aware
from voidless.records.migrating import ensure_newest
from voidless.records.reads import AbstractReads
from voidless.records.writer import Writer

__all__ = ["Store"]


class Store(AbstractReads):
    """
    The records of one campaign.

    Use `Store.create` or `Store.open`, and close it, or use it as a context manager. Every read sees
    one unchanging state; everything is written through `writing`.

    Attributes
    ----------
    folder : Path
        The campaign folder.
    campaign_id, campaign_name : str
        The campaign that this store speaks of.
    read_only : bool
        Whether the folder cannot be written.
    """

    def __init__(
        self, folder: Path, database: Database, campaign: tuple[str, str], code_version: str
    ) -> None:
        self.folder = folder
        self.campaign_id, self.campaign_name = campaign
        self._database = database
        self._content = ContentStore(folder / RAW_FOLDER)
        self._code_version = code_version
        self._pending: dict[str, PendingFile] = {}

    # ---- life

    @classmethod
    def create(cls, folder: Path, campaign_name: str, campaign_text: str, now: datetime) -> Store:
        """
        Return the store of a new campaign in a folder, which is made when it is not there.

        Parameters
        ----------
        folder : Path
            Must not hold a campaign.
        campaign_text : str
            Text of the campaign file; it is written to `campaign.toml` and recorded.
        now : datetime
            Time of the first entries, with time zone.

        Raises
        ------
        InputError
            The folder holds a campaign or another campaign file, or `now` has no time zone.
        RecordsError
            The folder cannot be written.
        """
        create_folder(folder, campaign_name, campaign_text, now, _code_version())
        return cls.open(folder)

    @classmethod
    def open(cls, folder: Path, campaign: str | None = None, wait_s: float = WAIT_S) -> Store:
        """
        Return the store of a campaign folder.

        Parameters
        ----------
        folder : Path
            The campaign folder.
        campaign : str or None
            Name of the campaign, needed where several share the store.
        wait_s : float
            How long a write waits for another program that writes. [s]

        Raises
        ------
        InputError
            The folder holds no campaign, or not the one named.
        RecordsError
            The records are damaged, or a newer program wrote them.
        """
        path = folder / DATABASE_FILE
        if not path.is_file():
            raise InputError(
                str(folder),
                "the folder holds no campaign" if folder.is_dir() else "there is no such folder",
                f"a folder with {DATABASE_FILE}",
                "Make one with `voidless new`.",
            )
        database = Database(path, wait_s, read_only=not _writable(folder, path))
        try:
            ensure_newest(database)
            return cls(folder, database, campaign_of(database, campaign), _code_version())
        except BaseException:
            database.close()
            raise

    def close(self) -> None:
        """Close the connections; the store is of no use afterwards."""
        self._database.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    @property
    def read_only(self) -> bool:
        """Whether the folder cannot be written."""
        return self._database.read_only

    @contextmanager
    def _scope(self) -> Iterator[Scope]:
        with self._database.reading() as connection:
            yield Scope(connection, self.campaign_id)

    # ---- writing

    @contextmanager
    def writing(self, now: datetime) -> Iterator[Writer]:
        """
        Give a writer whose entries are kept all together, or not at all when the block raises.

        Reads of the store inside the block do not see its entries yet.

        Parameters
        ----------
        now : datetime
            Time of the entries, with time zone.

        Raises
        ------
        RecordsError
            The folder is read-only, the disk is full, or another program kept writing for too long.
        """
        aware(now)
        with self._database.writing() as connection:
            ledger = Ledger(Scope(connection, self.campaign_id), now, self._code_version, self._pending)
            yield Writer(ledger)
            ledger.finish()

    def record_campaign_text(self, text: str, now: datetime) -> bool:
        """Return whether a new version of the campaign file was recorded: only when its text changed."""
        if text == self.campaign_text:
            return False
        with self.writing(now) as writer:
            return writer.record_campaign_text(text)

    # ---- campaign file and raw files

    @property
    def campaign_file(self) -> Path:
        """Path of the campaign file."""
        return self.folder / CAMPAIGN_FILE

    @property
    def campaign_text(self) -> str:
        """Newest recorded text of the campaign file."""
        with self._scope() as scope:
            return history.campaign_text(scope)

    def put_file(self, data: bytes | Path, name: str, kind: str) -> str:
        """
        Return the SHA-256 of a file once its content is safely stored.

        The content is not yet on record: that happens inside `writing`, when an observation or fact
        names the hash, or by `Writer.add_file`. So a file and its results are recorded together.

        Parameters
        ----------
        data : bytes or Path
            Content, or where it lies; the original is only read.
        name, kind : str
            Name it came by, of which the last folder is kept, and what it was taken for.
        """
        sha, size = self._content.put(data)
        self._pending[sha] = PendingFile("/".join(Path(name).parts[-2:]), size, kind)
        return sha

    def forget_file(self, sha: str) -> None:
        """Take back content that was stored but never recorded; content on record stays."""
        if self._pending.pop(sha, None) is not None and not self.has_file(sha):
            self._content.remove(sha)

    def read_file(self, sha: str) -> bytes:
        """Return the content of a stored file, checked against its hash."""
        return self._content.get(sha)

    def file_path(self, sha: str) -> Path:
        """Return where the content of a stored file lies."""
        return self._content.path(sha)

    def has_file(self, sha: str) -> bool:
        """Return whether a file with this very content is on record in this campaign."""
        with self._scope() as scope:
            return history.has_file(scope, sha)

    def files(self) -> list[StoredFile]:
        """Return the recorded files, oldest first."""
        with self._scope() as scope:
            return history.files(scope)

    # ---- what is wrong

    def verify(self) -> list[Problem]:
        """Return what is wrong, after reading all stored files and checking the database."""
        with self._scope() as scope:
            named = history.all_hashes(scope)
        leftovers = [*self.folder.glob(f"{LEFTOVER}*"), *self._content.leftovers()]
        return problems(self._database, self._content, named, leftovers)


def _code_version() -> str:
    return installed_version("voidless")


def _writable(folder: Path, database: Path) -> bool:
    return os.access(folder, os.W_OK) and os.access(database, os.W_OK)
