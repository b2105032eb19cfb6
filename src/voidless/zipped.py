"""What may go wrong with a member of a zip archive, whatever the archive holds."""

from __future__ import annotations

import struct
import zipfile
import zlib

__all__ = ["FAULTS", "MAX_RATIO", "is_encrypted", "swells"]

FAULTS = (
    zipfile.BadZipFile,
    zlib.error,
    struct.error,
    EOFError,
    OSError,
    NotImplementedError,
    RuntimeError,
    ValueError,
    IndexError,
    KeyError,
    OverflowError,
    MemoryError,
)
"""What Python's decoder raises on damaged archives."""
MAX_RATIO = 200
"""Largest ratio of unpacked to packed bytes; machine files and models pack by 5 to 20, zeros by 100. [1]"""
_RATIO_FLOOR = 1024**2
"""Below this many bytes no ratio is too large. [1]"""


def swells(packed: int, unpacked: int) -> bool:
    """Return whether a member unpacks to so much more than it holds packed that it is no file of a bench. [B]"""
    return unpacked > _RATIO_FLOOR and unpacked > MAX_RATIO * max(packed, 1)


def is_encrypted(member: zipfile.ZipInfo) -> bool:
    """Return whether a member asks for a password."""
    return bool(member.flag_bits & 0x1)
