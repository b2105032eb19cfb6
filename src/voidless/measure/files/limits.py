"""Limits on what is read, so that a hostile or mistaken file ends in one clear error."""

from __future__ import annotations

from voidless.errors import InputError

__all__ = [
    "LARGEST",
    "MAX_FILE_BYTES",
    "MAX_LINE_CHARS",
    "MAX_MEMBERS",
    "MAX_SHEET_COLUMNS",
    "MAX_SHEET_ROWS",
    "MAX_TABLE_ROWS",
    "MAX_UNPACKED_BYTES",
    "SMALLEST",
    "check_size",
]

MAX_FILE_BYTES = 256 * 1024**2
"""Largest file that is read."""

MAX_UNPACKED_BYTES = 512 * 1024**2
"""Most bytes that one archive may unpack to, nested archives included."""

MAX_MEMBERS = 2000
"""Most members of an archive."""

MAX_LINE_CHARS = 1_000_000
"""Longest line of a text file."""

MAX_TABLE_ROWS = 200_000
"""Most rows of a result table or of weighings."""

MAX_SHEET_ROWS = 300_000
"""Most rows of a sheet of a spreadsheet."""

MAX_SHEET_COLUMNS = 256
"""Most columns of a sheet that are looked at."""


LARGEST = 1e15
"""No reading in any unit is as large as this. [unit of the reading]"""

SMALLEST = 1e-30
"""No reading in any unit but 0 is as small as this. [unit of the reading]"""


def check_size(name: str, size: int) -> None:
    """
    Pass a file that is neither empty nor above the limit.

    Parameters
    ----------
    name : str
        Name of the file.
    size : int
        Its size in bytes. [1]

    Raises
    ------
    InputError
        The file is empty or larger than `MAX_FILE_BYTES`.
    """
    if size == 0:
        raise InputError(name, "the file is empty", "a file with content", "Export it again.")
    if size > MAX_FILE_BYTES:
        raise InputError(
            name,
            f"the file has {size / 1024**2:.0f} MB",
            f"at most {MAX_FILE_BYTES // 1024**2} MB",
            "Split it or leave out channels that are not needed.",
        )
