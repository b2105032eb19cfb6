"""Ways to damage a file: cut, changed bytes, shuffled lines, nasty cells, other codings, zips around and inside."""

from __future__ import annotations

import io
import re
import zipfile
import zlib
from collections.abc import Callable

import numpy as np

__all__ = ["damaged"]

NASTY = (
    "", " ", "nan", "inf", "-inf", "1e400", "1e300", "1e-300", "-1", "0", "1,5", "=1+1", "R99", "B99", "[red]x[/red]", "<script>",
    "\x00", "é", "9" * 400, "x" * 10_000, '"', "\ufeff", "\u202e", "True", "2031-01-01", "kN", "psi", "#DIV/0!", "\x1b[31m", "\n",
    "1000000", "0.000001", "[]", "{}", "-0.5",
)  # fmt: skip
Way = Callable[[bytes, np.random.Generator], bytes]
_BETWEEN = re.compile(rb"([,;\t=])")


def cut(data: bytes, rng: np.random.Generator) -> bytes:
    """Return the beginning of a file."""
    return data[: int(rng.integers(0, len(data) + 1))]


def flip(data: bytes, rng: np.random.Generator) -> bytes:
    """Return a file with some bytes changed."""
    found = bytearray(data)
    for _ in range(int(rng.integers(1, 20)) if found else 0):
        found[int(rng.integers(len(found)))] = int(rng.integers(256))
    return bytes(found)


def flip_head(data: bytes, rng: np.random.Generator) -> bytes:
    """Return a file with some of its first bytes changed, where formats keep sizes and tags."""
    return flip(data[:200], rng) + data[200:]


def lines(data: bytes, rng: np.random.Generator) -> bytes:
    """Return a file with lines shuffled, doubled or left out."""
    rows = data.split(b"\n")
    chosen = rng.integers(0, len(rows), size=int(rng.integers(1, len(rows) + 2)))
    return b"\n".join(rows[i] for i in (chosen if rng.random() < 0.5 else np.sort(chosen)))


def cells(data: bytes, rng: np.random.Generator) -> bytes:
    """Return a table with cells replaced by nasty ones."""
    rows = data.split(b"\n")
    for _ in range(int(rng.integers(1, 6))):
        at = int(rng.integers(len(rows)))
        parts = _BETWEEN.split(rows[at])  # every second part stands between two cells
        parts[2 * int(rng.integers((len(parts) + 1) // 2))] = str(rng.choice(NASTY)).encode()
        rows[at] = b"".join(parts)
    return b"\n".join(rows)


def digits(data: bytes, rng: np.random.Generator) -> bytes:
    """Return a text in which some digits, points and signs are other ones."""
    found = bytearray(data)
    places = [i for i, each in enumerate(found) if each in b"0123456789.-+eE"]
    for _ in range(int(rng.integers(1, 30)) if places else 0):
        found[places[int(rng.integers(len(places)))]] = b"0123456789.-+eE"[int(rng.integers(15))]
    return bytes(found)


def recode(data: bytes, rng: np.random.Generator) -> bytes:
    """Return a text in another coding."""
    coding = str(rng.choice(["utf-16", "utf-16-le", "utf-32", "utf-8-sig", "cp1252"]))
    return data.decode("latin-1").encode(coding, errors="replace")


def pack(data: bytes, rng: np.random.Generator) -> bytes:
    """Return a file in a zip, whose bytes may be damaged."""
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr(
            str(rng.choice(["a.csv", "x/../b.csv", "../../c.csv", "/abs.csv", "d" * 200 + ".csv"])), data
        )
    return flip(held.getvalue(), rng) if rng.random() < 0.5 else held.getvalue()


def splice(data: bytes, rng: np.random.Generator) -> bytes:
    """Return two pieces of a file with noise between."""
    at = int(rng.integers(0, len(data) + 1))
    return data[:at] + rng.bytes(int(rng.integers(0, 300))) + data[at:]


def inside(data: bytes, rng: np.random.Generator) -> bytes:
    """Return a zip with one of its members damaged and packed again, so that its checksums agree."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            members = {name: archive.read(name) for name in archive.namelist()}
        if not members or sum(map(len, members.values())) > 5_000_000:
            return flip(data, rng)
        name = str(rng.choice(sorted(members)))
        members[name] = _one(members[name], rng)
        held = io.BytesIO()
        with zipfile.ZipFile(held, "w", zipfile.ZIP_DEFLATED) as archive:
            for member, content in members.items():
                archive.writestr(member, content)
        return held.getvalue()
    except (
        zipfile.BadZipFile,
        zlib.error,
        KeyError,
        EOFError,
        NotImplementedError,
        OSError,
        RuntimeError,
        ValueError,
    ):
        return flip(data, rng)  # damaged before


TEXT: tuple[Way, ...] = (cut, flip, lines, cells, cells, cells, cells, digits, digits, recode, pack, splice)
BYTES: tuple[Way, ...] = (cut, flip, flip, flip_head, flip_head, splice)


def _one(data: bytes, rng: np.random.Generator) -> bytes:
    if data[:4] == b"PK\x03\x04" and rng.random() < 0.7:
        return inside(data, rng)
    ways = BYTES if b"\x00" in data[:4096] else TEXT
    return ways[int(rng.integers(len(ways)))](data, rng)


def damaged(data: bytes, rng: np.random.Generator) -> bytes:
    """Return a file after one to three kinds of damage."""
    for _ in range(int(rng.integers(1, 4))):
        data = _one(data, rng)
    return data
