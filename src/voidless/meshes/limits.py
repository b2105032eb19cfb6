"""How large a mesh file may be; what is larger is refused with one error before memory is spent."""

from __future__ import annotations

from voidless.errors import InputError

__all__ = ["MAX_BYTES", "MAX_FACES", "MAX_UNPACKED_BYTES", "check_bytes", "check_faces"]

MAX_BYTES = 256 * 1024**2
"""Largest file that is read. [B]"""
MAX_UNPACKED_BYTES = 1024**3
"""Largest model inside of a 3MF file. [B]"""
MAX_FACES = 3_000_000
"""Most faces of a mesh, components multiplied out. [1]"""


def check_bytes(name: str, size: int) -> None:
    """
    Refuse a file that is empty or larger than `MAX_BYTES`.

    Raises
    ------
    InputError
        It is.
    """
    if size == 0:
        raise InputError(name, "the file is empty", "an STL or 3MF file", "Export it again.")
    if size > MAX_BYTES:
        raise InputError(
            name, f"{size / 1024**2:.0f} MB", f"at most {MAX_BYTES // 1024**2} MB", "Export a coarser mesh."
        )


def check_faces(name: str, number: int) -> None:
    """
    Refuse a mesh of no faces or of more than `MAX_FACES`.

    Raises
    ------
    InputError
        It has none, or too many.
    """
    if number <= 0:
        raise InputError(name, "the file holds no faces", "a solid of triangles", "Export it again.")
    if number > MAX_FACES:
        raise InputError(
            name, f"{number} faces", f"at most {MAX_FACES} faces", "Export a coarser mesh: 0.01 mm is enough."
        )
