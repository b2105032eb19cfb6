"""Makes a campaign folder: whole, or nothing that passes for one."""

from __future__ import annotations

import os
import uuid
from collections.abc import Callable
from datetime import datetime
from pathlib import Path

from sqlalchemy import insert

from voidless.errors import InputError, RecordsError
from voidless.records.content import publish_once, sync_folder
from voidless.records.database import Database
from voidless.records.history import add_campaign_text
from voidless.records.ledger import Ledger, Scope, aware
from voidless.records.migrating import upgrade
from voidless.records.schema.base import new_id
from voidless.records.schema.plan import CampaignRow

__all__ = ["CAMPAIGN_FILE", "DATABASE_FILE", "LEFTOVER", "RAW_FOLDER", "create_folder"]

DATABASE_FILE = "records.sqlite"
RAW_FOLDER = "raw"
CAMPAIGN_FILE = "campaign.toml"
LEFTOVER = ".new-"
"""Start of the names of files that are not finished yet."""


def create_folder(folder: Path, name: str, text: str, now: datetime, code_version: str) -> None:
    """
    Make the database and the campaign file of a new campaign.

    The database is built under another name and gets its own in the last step: a folder is a
    campaign exactly when that step is done.

    Raises
    ------
    InputError
        The folder holds a campaign, or another campaign file.
    RecordsError
        The folder cannot be written.
    """
    aware(now)
    try:
        folder.mkdir(parents=True, exist_ok=True)
        if (folder / DATABASE_FILE).exists():
            raise _taken(folder)
        _publish(folder, CAMPAIGN_FILE, lambda path: _write_text(path, text))
        _require_same_text(folder / CAMPAIGN_FILE, text)
        if not _publish(
            folder, DATABASE_FILE, lambda path: _write_database(path, name, text, now, code_version)
        ):
            raise _taken(folder)
        (folder / RAW_FOLDER).mkdir(exist_ok=True)
        sync_folder(folder)
    except OSError as problem:
        raise RecordsError(
            str(folder),
            f"the campaign folder could not be made: {problem.strerror or problem}",
            "a folder that can be written",
            "Choose another folder, or change its rights.",
        ) from problem


def _taken(folder: Path) -> InputError:
    return InputError(
        str(folder), "the folder already holds a campaign", "a new folder", "Choose another folder."
    )


def _publish(folder: Path, name: str, write: Callable[[Path], None]) -> bool:
    temporary = folder / f"{LEFTOVER}{uuid.uuid4().hex}"
    try:
        write(temporary)
        return publish_once(temporary, folder / name)
    finally:
        temporary.unlink(missing_ok=True)


def _write_text(path: Path, text: str) -> None:
    with path.open("w", encoding="utf-8", newline="") as target:
        target.write(text)
        target.flush()
        os.fsync(target.fileno())


def _require_same_text(path: Path, text: str) -> None:
    try:
        present = path.read_bytes().decode("utf-8")
    except UnicodeDecodeError:
        present = None
    if present != text:
        raise InputError(
            str(path),
            "the folder already holds another campaign file",
            "a folder without one, or one with the very same text",
            "Choose another folder, or move that file away.",
        )


def _write_database(path: Path, name: str, text: str, now: datetime, code_version: str) -> None:
    database = Database(path, create=True)
    try:
        with database.writing() as connection:
            upgrade(connection)
            scope = Scope(connection, new_id())
            connection.execute(
                insert(CampaignRow),
                {"id": scope.campaign_id, "name": name, "time": now, "written": 0},
            )
            ledger = Ledger(scope, now, code_version, {})
            add_campaign_text(ledger, text)
            ledger.finish()
        database.use_write_ahead_log()
    finally:
        database.close()
    with path.open("rb+") as written:
        os.fsync(written.fileno())
