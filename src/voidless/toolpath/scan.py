"""Bytes of G-code -> columns of moves, block by block: compiled where a file is worth it, else by words."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import cache
from io import BytesIO, RawIOBase
from typing import Any

import numpy as np

from voidless.errors import InputError
from voidless.toolpath import scan_state as at
from voidless.toolpath.dialect import obey
from voidless.toolpath.scan_columns import Columns
from voidless.toolpath.scan_state import LONGEST_LINE, Reading

__all__ = ["BLOCK_BYTES", "WORTH_COMPILING", "Block", "blocks", "obey_line", "scan_block"]

BLOCK_BYTES = 4 * LONGEST_LINE
WORTH_COMPILING = 1_500_000
"""Files from this size on are read by the compiled scanner, whose start takes about a second. [bytes]"""
_MARK = b"\xef\xbb\xbf"

Block = tuple[bytearray, int]
"""Bytes, and where the last complete line among them ends; one more byte can be read."""


def _last_end(data: bytearray, size: int) -> int:
    """Return where the last complete line ends; a carriage return at the very end may be half an end."""
    return max(data.rfind(b"\n", 0, size), data.rfind(b"\r", 0, max(size - 1, 0))) + 1


def blocks(file: RawIOBase | BytesIO, name: str, block_bytes: int = BLOCK_BYTES) -> Iterator[Block]:
    """
    Return the file in blocks of complete lines; each block is valid until the next is asked for.

    Parameters
    ----------
    file : binary file
        Read from where it stands.
    name : str
        File name that errors carry.
    block_bytes : int
        Size of the buffer, above `LONGEST_LINE` at least where lines may be as long. [1]

    Raises
    ------
    InputError
        A line does not end within a block.
    """
    data = bytearray(block_bytes + 2)
    view = memoryview(data)
    held = 0
    first = True
    while True:
        count = file.readinto(view[held:block_bytes])
        if first and bytes(data[:3]) == _MARK and count >= len(_MARK):
            data[:3] = b"   "
        first = False
        size = held + count
        if count == 0:
            if size:
                data[size : size + 2] = b"\n\0"
                yield data, size + 1
            return
        end = _last_end(data, size)
        if end == 0 and size >= block_bytes:
            raise _no_text(name)
        if end:
            yield data, end
            held = size - end
            view[:held] = bytes(view[end:size])
        else:
            held = size


def _no_text(where: str) -> InputError:
    return InputError(where, "is not a line of text", "G-code as plain text", "Check the file.")


def obey_line(reading: Reading, line: str) -> None:
    """
    Carry out one line by words.

    Raises
    ------
    InputError
        The line is too long or not text, or a number in it is malformed.
    """
    reading.whole[at.LINE] += 1
    if len(line) > LONGEST_LINE or "\0" in line:
        raise _no_text(reading.where)
    obey(reading, line)


@cache
def _compiled() -> tuple[Any, Any, Callable[..., tuple[int, int]]]:
    """Return the scanner's module, its roles and the scanner; imported when first needed."""
    from voidless.toolpath import scan_kernel

    return scan_kernel, scan_kernel.roles(), scan_kernel.scan


def scan_block(reading: Reading, columns: Columns, block: Block, compiled: bool) -> None:
    """
    Carry out a block of lines and add its moves to the columns.

    Parameters
    ----------
    reading : Reading
        State of the machine, changed in place.
    columns : Columns
        Where the moves go.
    block : Block
        Complete lines.
    compiled : bool
        Whether the byte scanner takes the lines it knows.

    Raises
    ------
    InputError
        As `obey_line`.
    """
    data, end = block
    if compiled:
        _scan_compiled(reading, columns, data, end)
        return
    text = data[:end].decode("latin-1").replace("\r\n", "\n").replace("\r", "\n")
    for line in text[:-1].split("\n"):
        obey_line(reading, line)
    columns.take(reading)


def _scan_compiled(reading: Reading, columns: Columns, data: bytearray, end: int) -> None:
    kernel, roles, scan = _compiled()
    counts = np.zeros(len(roles), dtype=np.int64)
    real, whole = np.array(reading.real), np.array(reading.whole)
    signs = np.frombuffer(data, dtype=np.uint8)
    place = 0
    while True:
        columns.grow_states(columns.states_size + 2)  # one for what lines by words have changed
        place, reason = scan(
            signs, place, end, real, whole, roles, counts, columns.kind, *columns.reals, columns.states
        )
        columns.size, columns.states_size = int(whole[at.ROWS]), int(whole[at.STATES])
        if reason == kernel.NO_ROOM:
            columns.grow(columns.size + LONGEST_LINE // 16)
        elif reason != kernel.NO_ROOM_FOR_STATES:
            reading.real, reading.whole = real.tolist(), whole.tolist()
            if reason == kernel.ALL_READ:
                break
            place = _one_line(reading, columns, data, place)
            real[:], whole[:] = reading.real, reading.whole
    columns.arcs = bool(whole[at.ARCS])
    for code in np.flatnonzero(counts).tolist():
        reading.unknown[f"M{code - kernel.M}"] += int(counts[code])


def _one_line(reading: Reading, columns: Columns, data: bytearray, place: int) -> int:
    """Carry out the line at `place` by words; return where the next one starts."""
    after = data.find(b"\n", place)
    back = data.find(b"\r", place, after if after >= 0 else len(data))
    if back >= 0 and back + 1 != after:
        after = back
    obey_line(reading, data[place:after].decode("latin-1"))
    columns.take(reading)
    return after + 1
