"""Raw files of cameras: known, so that a preview inside one is never taken for the picture."""

from __future__ import annotations

import struct
from collections.abc import Iterator
from pathlib import PurePosixPath

from voidless.errors import InputError

__all__ = ["is_camera_raw", "refusal"]

_ENDINGS = frozenset(
    {".dng", ".cr2", ".cr3", ".nef", ".nrw", ".arw", ".orf", ".rw2", ".raf", ".pef", ".srw", ".x3f"}
)
_MARKS = (b"IIU\x00", b"IIRO", b"IIRS", b"MMOR")
_SUB_IFDS, _PHOTOMETRIC, _DNG_VERSION = 330, 262, 50706
_COLOUR_FILTER = 32803
"""Photometric interpretation of a mosaic behind a colour filter (TIFF/EP, ISO 12234-2)."""
_MOST = 32
"""Most directories of a file that are looked at."""


def is_camera_raw(name: str, data: bytes) -> bool:
    """
    Return whether a file is a camera's raw file.

    Parameters
    ----------
    name : str
        Name of the file; its ending counts where the content is none of ours.
    data : bytes
        Its content.
    """
    if data[:4] in (b"II*\x00", b"MM\x00*"):
        return data[8:10] == b"CR" or any(
            tag == _DNG_VERSION or (tag == _PHOTOMETRIC and value == _COLOUR_FILTER)
            for tag, value in _tags(data)
        )
    return data.startswith(_MARKS) or (
        PurePosixPath(name).suffix.lower() in _ENDINGS
        and b"\x00" in data[:1024]
        and data[:3] != b"\xff\xd8\xff"
    )


def _tags(data: bytes) -> Iterator[tuple[int, int]]:
    """Give tag and first value of every entry of a TIFF's directories, those below a directory included."""
    order = "<" if data[:2] == b"II" else ">"
    try:
        waiting, seen = [struct.unpack_from(order + "I", data, 4)[0]], set[int]()
        while waiting and len(seen) < _MOST:
            place = waiting.pop()
            if place == 0 or place in seen:
                continue
            seen.add(place)
            (count,) = struct.unpack_from(order + "H", data, place)
            for index in range(count):
                tag, kind, many = struct.unpack_from(order + "HHI", data, place + 2 + 12 * index)
                at = place + 10 + 12 * index
                (value,) = struct.unpack_from(order + ("H" if kind == 3 else "I"), data, at)
                yield tag, value
                if tag == _SUB_IFDS:
                    below = min(many, _MOST)
                    waiting += [value] if many == 1 else struct.unpack_from(f"{order}{below}I", data, value)
            waiting += struct.unpack_from(order + "I", data, place + 2 + 12 * count)
    except struct.error:
        return  # damaged: the decoder says so


def refusal(name: str) -> InputError:
    """Return why a raw file is not measured, and what to do."""
    return InputError(
        name,
        "a raw file of a camera, whose mosaic is not developed here",
        "linear TIFF of 16 bits",
        "Develop all frames alike: linear (no tone curve), one fixed white balance, no sharpening, no noise "
        "reduction, no lens correction; export 16-bit TIFF and keep the raw files beside it.",
    )
