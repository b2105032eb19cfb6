"""STL, binary and text: separate triangles without a unit."""

from __future__ import annotations

import re

import numpy as np
from numpy.typing import NDArray

from voidless.errors import InputError
from voidless.meshes.limits import check_bytes, check_faces
from voidless.meshes.mesh import Mesh, joined

__all__ = ["is_text_stl", "read_stl", "write_stl"]

_HEAD = 84
_RECORD = 50
_LAYOUT = np.dtype([("values", "<f4", (12,)), ("rest", "<u2")])
_VERTEX = re.compile(rb"\bvertex\b", re.IGNORECASE)
_TEXT = re.compile(rb"\A\s*solid\b", re.IGNORECASE)
_FACET = re.compile(rb"\bfacet\b", re.IGNORECASE)


def _stated_faces(data: bytes) -> int:
    return int.from_bytes(data[80:84], "little") if len(data) >= _HEAD else -1


def is_text_stl(data: bytes) -> bool:
    """
    Return whether bytes are an STL of text.

    Parameters
    ----------
    data : bytes
        Content of a file.

    Returns
    -------
    text : bool
        Binary files may begin with `solid` too, so a length that fits the stated number of faces is
        binary whatever the first word.
    """
    if len(data) == _HEAD + _RECORD * _stated_faces(data):
        return False
    return bool(_TEXT.match(data[:512]) and _FACET.search(data[:4096]))


def read_stl(data: bytes, name: str) -> Mesh:
    """
    Return the mesh of an STL file, equal corners joined.

    Parameters
    ----------
    data : bytes
        Content of the file.
    name : str
        Its name, for faults.

    Returns
    -------
    mesh : Mesh
        In the file's own length unit, which STL does not state. Normals that the file states are left
        out of account: the order of the corners rules.

    Raises
    ------
    InputError
        The file is empty, too large, cut short, or a corner is no finite number.
    """
    check_bytes(name, len(data))
    corners = _text_corners(data, name) if is_text_stl(data) else _binary_corners(data, name)
    bad = ~np.isfinite(corners).all(axis=1)
    if bad.any():
        face = int(np.argmax(bad)) // 3 + 1
        raise InputError(
            name, f"a corner of face {face} is not a finite number", "finite corners", "Export it again."
        )
    check_faces(name, len(corners) // 3)
    return joined(Mesh(corners, np.arange(len(corners), dtype=np.int64).reshape(-1, 3)))


def _binary_corners(data: bytes, name: str) -> NDArray[np.float64]:
    stated, held = _stated_faces(data), (len(data) - _HEAD) // _RECORD
    if stated < 0:
        raise InputError(name, f"{len(data)} bytes are no STL", "at least 84 bytes", "Export it again.")
    if stated == 0:
        check_faces(name, 0)
    if stated > held:
        raise InputError(
            name,
            f"the file is cut short or no STL: it states {stated} faces and holds {max(held, 0)}",
            "as many faces as it states",
            "Export or copy it again.",
        )
    check_faces(name, stated)
    record = np.frombuffer(data, dtype=_LAYOUT, count=stated, offset=_HEAD)
    with np.errstate(invalid="ignore"):  # a signalling NaN; what is not finite is refused by name later
        return record["values"][:, 3:].astype(float).reshape(-1, 3)


def _text_corners(data: bytes, name: str) -> NDArray[np.float64]:
    """Return the corners of a text file: three numbers after each word `vertex`, three such words a face."""
    parts = _VERTEX.split(data)[1:]
    if len(parts) % 3:
        raise InputError(
            name, f"{len(parts)} corners", "three for each face", "The file is cut short: export it again."
        )
    check_faces(name, len(parts) // 3)
    words = [part.split(None, 3)[:3] for part in parts]
    try:
        return np.array([[float(word) for word in triple] for triple in words]).reshape(len(words), 3)
    except ValueError as fault:
        wrong = next(number for number, triple in enumerate(words, 1) if not _is_point(triple))
        found = b" ".join(words[wrong - 1]).decode("ascii", "replace")[:40]
        raise InputError(
            name, f"corner {wrong} is {found!r}", "three numbers", "Export it again, as binary STL."
        ) from fault


def _is_point(words: list[bytes]) -> bool:
    try:
        return len([float(word) for word in words]) == 3
    except ValueError:
        return False


def write_stl(mesh: Mesh, title: str) -> bytes:
    """
    Return a mesh as a binary STL file; the same mesh gives the same bytes.

    Parameters
    ----------
    mesh : Mesh
        In millimetres.
    title : str
        Text of the head, at most 80 ASCII signs.

    Returns
    -------
    data : bytes
        80 bytes of text, the number of triangles, then per triangle normal, three corners (32-bit
        floats) and two bytes of 0; little-endian. Layout from memory.
    """
    corners = mesh.corners
    normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    length = np.linalg.norm(normal, axis=1)[:, None]
    normal = np.divide(normal, length, out=np.zeros_like(normal), where=length > 0.0)
    record = np.zeros(len(corners), dtype=_LAYOUT)
    record["values"] = np.hstack([normal, corners.reshape(-1, 9)])
    head = title.encode("ascii", "replace")[:80].ljust(80, b" ")
    return head + len(corners).to_bytes(4, "little") + record.tobytes()
