"""Files that a campaign gives out: written whole, in one folder."""

from __future__ import annotations

import os
from pathlib import Path

from voidless.errors import RecordsError
from voidless.workflows.opening import OpenCampaign

__all__ = ["output_folder", "write_bytes", "write_text"]


def output_folder(opened: OpenCampaign) -> Path:
    """Return the folder of everything that is given out and can be made again."""
    return opened.folder / "out"


def write_bytes(path: Path, data: bytes) -> Path:
    """
    Return the path once the file is there whole: it is written beside and then put in its place.

    Raises
    ------
    RecordsError
        The folder cannot be written.
    """
    beside = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        beside.write_bytes(data)
        beside.replace(path)
    except OSError as fault:
        reason = fault.strerror or type(fault).__name__
        raise RecordsError(
            str(path), f"cannot be written: {reason}", "a writable folder", "Make room or rights."
        ) from fault
    return path


def write_text(path: Path, text: str) -> Path:
    """Return the path once the text is there whole, in UTF-8."""
    return write_bytes(path, text.encode("utf-8"))
