"""Kind and size of a photo, from its header alone."""

from __future__ import annotations

import struct

__all__ = ["photo_format", "photo_size"]

_MARKS = (
    (b"\xff\xd8\xff", "JPEG"),
    (b"\x89PNG\r\n\x1a\n", "PNG"),
    (b"II*\x00", "TIFF"),
    (b"MM\x00*", "TIFF"),
)
_FRAMES = frozenset({*range(0xC0, 0xD0)} - {0xC4, 0xC8, 0xCC})
_ALONE = frozenset({0x01, *range(0xD0, 0xD9)})


def photo_format(data: bytes) -> str:
    """
    Return the format of a photo, empty where bytes are none.

    Parameters
    ----------
    data : bytes
        Content of a file.

    Returns
    -------
    format : str
        `JPEG`, `PNG` or `TIFF`.
    """
    return next((words for mark, words in _MARKS if data.startswith(mark)), "")


def photo_size(data: bytes) -> tuple[int, int] | None:
    """
    Return width and height of a PNG or JPEG photo as its header states them.

    Parameters
    ----------
    data : bytes
        Content of a file.

    Returns
    -------
    size : (int, int) or None
        Width and height; None where the header does not say, or for TIFF. [1]
    """
    kind = photo_format(data)
    if kind == "PNG" and len(data) >= 24:
        width, height = struct.unpack(">II", data[16:24])
        return int(width), int(height)
    return _jpeg_size(data) if kind == "JPEG" else None


def _jpeg_size(data: bytes) -> tuple[int, int] | None:
    """Walk the segments (ITU-T T.81, annex B) to the frame header."""
    place = 2
    while place + 9 <= len(data) and data[place] == 0xFF:
        code = data[place + 1]
        if code in _ALONE:
            place += 2
            continue
        length = int.from_bytes(data[place + 2 : place + 4], "big")
        if code in _FRAMES:
            height, width = struct.unpack(">HH", data[place + 5 : place + 9])
            return int(width), int(height)
        place += 2 + max(length, 2)
    return None
