"""The files that a person means: each once, with what lies beside them and belongs to them."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

from voidless.errors import InputError
from voidless.measure.files.limits import MAX_FILE_BYTES
from voidless.measure.pictures import frame_names
from voidless.tomlfile import LARGEST_FILE

__all__ = ["Given", "gather"]


@dataclass(frozen=True)
class Given:
    """A file on its way: how the person named it, its bytes or why it cannot be read."""

    path: Path
    name: str
    data: bytes | None
    fault: InputError | None = None
    sibling: bool = False

    @cached_property
    def sha(self) -> str:
        """Hash of its bytes, SHA-256."""
        return hashlib.sha256(self.data or b"").hexdigest()


def gather(paths: Sequence[Path], progress: Callable[[str], None]) -> list[Given]:
    """Return the files that are meant, each once, with summaries beside curves and frames beside sheets."""
    named: dict[Path, bool] = {}
    for path in paths:
        if path.is_dir():
            inside = [
                item for item in sorted(path.rglob("*")) if item.is_file() and not _left_by_system(item.name)
            ]
            if not inside:
                raise InputError(
                    str(path), "the folder holds no file", "files to read", "Name another folder."
                )
            named |= dict.fromkeys(inside, False)
        else:
            named[path] = False
    present = [path for path in named if path.is_file()]
    for beside in [*_summaries_beside(present), *_frames_beside(present)]:
        named.setdefault(beside, True)
    progress(f"opening {len(named)} files")
    return [_load(path, sibling) for path, sibling in named.items()]


def _left_by_system(name: str) -> bool:
    """Return whether a file of a folder is none of a person's: hidden, a lock of an open workbook, a folder's view."""
    return name.startswith((".", "~$")) or name.lower() in ("thumbs.db", "desktop.ini")


def _summaries_beside(paths: Sequence[Path]) -> Iterator[Path]:
    for parent in dict.fromkeys(path.parent for path in paths):
        for candidate in sorted(parent.glob("*summary*.txt")):
            if candidate.is_file() and candidate.stat().st_size < 1_000_000:
                yield candidate


def _frames_beside(paths: Sequence[Path]) -> Iterator[Path]:
    """Give the frames in the folder of each sheet of pictures: it may be given alone."""
    for sheet in paths:
        if sheet.suffix.lower() == ".toml" and sheet.stat().st_size < LARGEST_FILE:
            for name in sorted(frame_names(sheet.name, sheet.read_bytes())):
                beside = sheet.parent / name
                if beside.parent == sheet.parent and beside.is_file():
                    yield beside


def _load(path: Path, sibling: bool) -> Given:
    name = f"{path.parent.name}/{path.name}" if path.parent.name else path.name
    try:
        if path.exists() and not path.is_file():
            # A pipe that nobody writes to would be waited for without end.
            fault = InputError(str(path), "is no regular file", "a file", "Name a file or a folder of files.")
            return Given(path, name, None, fault, sibling)
        size = path.stat().st_size
        if size > MAX_FILE_BYTES:
            limit = f"at most {MAX_FILE_BYTES // 2**20} MiB"
            fault = InputError(str(path), f"the file has {size / 2**20:.0f} MiB", limit, "Split it.")
            return Given(path, name, None, fault, sibling)
        return Given(path, name, path.read_bytes(), None, sibling)
    except OSError as error:
        reason = error.strerror or type(error).__name__
        fault = InputError(str(path), f"cannot be read: {reason}", "a readable file", "Check the name.")
        return Given(path, name, None, fault, sibling)
