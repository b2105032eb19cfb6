"""Raw files by the SHA-256 of their content: written whole or not at all, never changed."""

from __future__ import annotations

import hashlib
import os
import re
import uuid
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import BinaryIO

from voidless.errors import InputError, RecordsError

__all__ = ["ContentStore", "publish_once", "sync_folder"]

_CHUNK = 1 << 20
_SHA = re.compile(r"[0-9a-f]{64}")
_LEFTOVER = ".part-"


def sync_folder(folder: Path) -> None:
    """Make the names in a folder survive a power cut, where the system can do so."""
    # Windows cannot open a folder as a file, and orders its own directory writes.
    with suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def publish_once(temporary: Path, final: Path) -> bool:
    """
    Give a finished temporary file its final name; False, and no change, when that name is taken.

    The temporary name is gone afterwards in either case.
    """
    try:
        # A hard link fails when the name exists, on every system; a plain rename would replace it.
        os.link(temporary, final)
    except FileExistsError:
        return False
    except OSError:
        # A file system without hard links.
        if final.exists():
            return False
        temporary.replace(final)
    finally:
        temporary.unlink(missing_ok=True)
    sync_folder(final.parent)
    return True


class ContentStore:
    """
    A folder of files named by their own hash, `ab/<sha256>`.

    Parameters
    ----------
    folder : Path
        Made on the first write.
    """

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def path(self, sha: str) -> Path:
        """Return where content of this hash lies, whether it is there or not."""
        if not _SHA.fullmatch(sha):
            raise InputError("records", f"{sha[:80]!r} is not a SHA-256", "64 hexadecimal digits", "")
        return self.folder / sha[:2] / sha

    def put(self, data: bytes | Path) -> tuple[str, int]:
        """
        Return hash and size of content once it is safely stored.

        Raises
        ------
        RecordsError
            It cannot be written, or what is stored under its hash is damaged.
        """
        try:
            return self._put(data)
        except OSError as problem:
            where = str(data if isinstance(data, Path) else self.folder)
            raise RecordsError(
                where,
                f"the file could not be stored: {problem.strerror or problem}",
                "",
                "Check space and rights of the campaign folder; nothing was recorded.",
            ) from problem

    def _put(self, data: bytes | Path) -> tuple[str, int]:
        if isinstance(data, bytes):
            sha, size = hashlib.sha256(data).hexdigest(), len(data)
            if self._holds(sha):
                return sha, size
        self.folder.mkdir(parents=True, exist_ok=True)
        temporary = self.folder / f"{_LEFTOVER}{uuid.uuid4().hex}"
        try:
            with temporary.open("xb") as target:
                sha, size = _copy(data, target)
                target.flush()
                os.fsync(target.fileno())
            if not self._holds(sha):
                final = self.path(sha)
                final.parent.mkdir(exist_ok=True)
                publish_once(temporary, final)
                sync_folder(self.folder)
        finally:
            temporary.unlink(missing_ok=True)
        return sha, size

    def _holds(self, sha: str) -> bool:
        path = self.path(sha)
        if not path.exists():
            return False
        if _hash_of(path) != sha:
            raise RecordsError(
                str(path),
                "the copy stored earlier is damaged",
                "content that hashes to its name",
                "Move that file out of the folder and read the original again.",
            )
        return True

    def remove(self, sha: str) -> None:
        """Remove content that no record names; nothing happens where it is not there or held by a program."""
        with suppress(OSError):
            self.path(sha).unlink()
            self.path(sha).parent.rmdir()

    def get(self, sha: str) -> bytes:
        """
        Return stored content, checked against its hash.

        Raises
        ------
        RecordsError
            It is missing, unreadable or damaged.
        """
        path = self.path(sha)
        try:
            data = path.read_bytes()
        except OSError as problem:
            raise RecordsError(
                str(path),
                f"a stored raw file cannot be read: {problem.strerror or problem}",
                "the file as it was stored",
                "Restore it from a backup, or read the original again.",
            ) from problem
        if hashlib.sha256(data).hexdigest() != sha:
            raise RecordsError(
                str(path),
                "a stored raw file is damaged",
                "content that hashes to its name",
                "Restore it from a backup.",
            )
        return data

    def state(self, sha: str) -> str:
        """Return `sound`, `missing` or `damaged` for a hash, by reading the content again."""
        path = self.path(sha)
        try:
            return "sound" if _hash_of(path) == sha else "damaged"
        except FileNotFoundError:
            return "missing"
        except OSError:
            return "damaged"

    def stored(self) -> set[str]:
        """Return the hashes of all content that is there."""
        return {path.name for path in self.folder.glob("[0-9a-f][0-9a-f]/*") if _SHA.fullmatch(path.name)}

    def leftovers(self) -> list[Path]:
        """Return temporary files that an interrupted write left behind."""
        return sorted(self.folder.glob(f"{_LEFTOVER}*"))


@contextmanager
def _source(data: bytes | Path) -> Iterator[Iterator[bytes]]:
    if isinstance(data, bytes):
        yield iter((data,))
        return
    with data.open("rb") as opened:
        yield iter(lambda: opened.read(_CHUNK), b"")


def _copy(data: bytes | Path, target: BinaryIO) -> tuple[str, int]:
    found, size = hashlib.sha256(), 0
    with _source(data) as chunks:
        for chunk in chunks:
            found.update(chunk)
            target.write(chunk)
            size += len(chunk)
    return found.hexdigest(), size


def _hash_of(path: Path) -> str:
    with path.open("rb") as opened:
        return hashlib.file_digest(opened, "sha256").hexdigest()
