"""Files that a campaign gives out: written whole, in one folder."""

from __future__ import annotations

import os
from collections.abc import Iterable
from contextlib import suppress
from pathlib import Path

from voidless.errors import RecordsError
from voidless.workflows.opening import OpenCampaign

__all__ = ["output_folder", "require_output", "write_bytes", "write_pieces", "write_text"]


def output_folder(opened: OpenCampaign) -> Path:
    """Return the folder of everything that is given out and can be made again."""
    return opened.folder / "out"


def require_output(opened: OpenCampaign) -> Path:
    """
    Return the folder of what is given out, made where it is not there, before a minute of work goes into it.

    Raises
    ------
    RecordsError
        The folder cannot be written.
    """
    path = output_folder(opened)
    try:
        path.mkdir(parents=True, exist_ok=True)
        beside = path / f".{os.getpid()}.part"
        beside.touch()
        beside.unlink()
    except OSError as fault:
        raise _unwritable(path, fault) from fault
    return path


def _unwritable(path: Path, fault: OSError) -> RecordsError:
    reason = fault.strerror or type(fault).__name__
    return RecordsError(
        str(path), f"cannot be written: {reason}", "a writable folder", "Make room or rights."
    )


def write_bytes(path: Path, data: bytes) -> Path:
    """Return the path once the file is there whole, as `write_pieces`."""
    return write_pieces(path, (data,))


def write_pieces(path: Path, pieces: Iterable[bytes]) -> Path:
    """
    Return the path once the file is there whole: it is written beside, piece by piece, and then put in its place.

    Raises
    ------
    RecordsError
        The folder cannot be written.
    """
    beside = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with beside.open("wb") as file:
            file.writelines(pieces)
        beside.replace(path)
    except OSError as fault:
        raise _unwritable(path, fault) from fault
    finally:
        with suppress(OSError):  # a stop by hand leaves nothing half written
            beside.unlink(missing_ok=True)
    return path


def write_text(path: Path, text: str) -> Path:
    """Return the path once the text is there whole, in UTF-8."""
    return write_bytes(path, text.encode("utf-8"))
