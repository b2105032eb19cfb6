"""The compiled scanner at work: one thread reads and splits the next lines while another carries out those before."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from functools import partial
from typing import Any

import numpy as np

from voidless.toolpath import scan_kernel as kernel
from voidless.toolpath import scan_state as at
from voidless.toolpath import scan_words as words
from voidless.toolpath.scan import Block, Step, last_end, obey_line
from voidless.toolpath.scan_columns import Columns
from voidless.toolpath.scan_state import Reading

__all__ = ["AHEAD", "PIECE_BYTES", "compiled_steps"]

PIECE_BYTES = 1 << 20
"""Lines that are split at once: fewer bytes, more handing to and fro. [bytes]"""
AHEAD = 3
"""Pieces that may be split ahead of the one that is carried out. [1]"""
_BYTES_A_LINE = 16
_MORE_MOVES = 4096
"""Least room that is added when columns are full; they grow by half of what they hold. [1]"""
_ROLES = words.roles()


@dataclass(eq=False)
class _Lines:
    """A piece of a file, and the table of its lines, see `scan_words.split_lines`."""

    table: tuple[Any, ...]
    data: bytearray = field(default_factory=bytearray)
    start: int = 0
    count: int = 0

    @classmethod
    def empty(cls, rows: int) -> _Lines:
        """Return a table with room for so many lines, half of them no straight moves."""
        after, letters, commands, rest = (np.empty(rows, np.int32) for _ in range(4))
        values = np.empty((max(rows // 2, 1), 26))
        return cls((after, letters, commands, np.empty((rows, 5)), rest, values))

    def fill(self, data: bytearray, start: int, end: int) -> _Lines:
        """Return itself with the lines from `start` to `end`; short lines get a larger table."""
        self.data, self.start = data, start
        signs = np.frombuffer(data, dtype=np.uint8)
        self.count, place = words.split_lines(signs, start, end, _ROLES, *self.table)
        if place == end:
            return self
        return _Lines.empty(2 * len(self.table[0])).fill(data, start, end)

    def end_of(self, line: int) -> int:
        """Return the place after a line; of -1, where the first begins."""
        return int(self.table[0][line]) if line >= 0 else self.start


def _pieces(source: Iterator[Block]) -> Iterator[tuple[bytearray, int, int]]:
    """Return the blocks in pieces of whole lines."""
    for data, end in source:
        start = 0
        while start < end:
            near = min(start + PIECE_BYTES, end)
            stop = last_end(data, near, start) if near < end else end
            stop = stop if stop > start else end  # a line that is longer than a piece
            yield data, start, stop
            start = stop


def compiled_steps(source: Iterator[Block]) -> Iterator[Step]:
    """
    Return what carries a file out, piece by piece; each is called once before the next is asked for.

    Parameters
    ----------
    source : iterator of Block
        The file; each block stays valid while `AHEAD` later ones are asked for.

    Notes
    -----
    One thread reads and splits, the calling one carries out: bytes and lines stay in the cache of one processor, and
    both halves take about as long.
    """
    pieces = _pieces(source)
    with ThreadPoolExecutor(1) as pool:
        tables = (_Lines.empty(PIECE_BYTES // _BYTES_A_LINE + 1) for _ in range(AHEAD + 1))
        waiting = deque(pool.submit(_next, pieces, table) for table in tables)
        while (lines := waiting.popleft().result()) is not None:
            yield partial(_carry_out, lines)
            waiting.append(pool.submit(_next, pieces, lines))


def _next(pieces: Iterator[tuple[bytearray, int, int]], table: _Lines) -> _Lines | None:
    """Return the table with the lines of the next piece, None where there is none."""
    piece = next(pieces, None)
    return None if piece is None else table.fill(*piece)


def _carry_out(lines: _Lines, reading: Reading, columns: Columns) -> None:
    counts = np.zeros(len(_ROLES), dtype=np.int64)
    real, whole = np.array(reading.real), np.array(reading.whole)
    line = 0
    while True:
        columns.grow_states(columns.states_size + 2)  # one for what lines by words have changed
        line, reason = kernel.carry_out(
            line, lines.count, *lines.table[1:],
            real, whole, _ROLES, counts, columns.kind, *columns.reals, columns.states,
        )  # fmt: skip
        columns.size, columns.states_size = int(whole[at.ROWS]), int(whole[at.STATES])
        if reason == kernel.NO_ROOM:
            columns.grow(columns.size + _MORE_MOVES)
        elif reason != kernel.NO_ROOM_FOR_STATES:
            reading.real, reading.whole = real.tolist(), whole.tolist()
            if reason == kernel.ALL_READ:
                break
            line = _by_words(lines, line, reading)
            columns.take(reading)
            real[:], whole[:] = reading.real, reading.whole
    columns.arcs, columns.rated = bool(whole[at.ARCS]), int(whole[at.RATED])
    for code in np.flatnonzero(counts).tolist():
        name = f"M{code - words.M}" if code >= words.M else f"G{code}"
        reading.unknown[name] += int(counts[code])


def _by_words(lines: _Lines, line: int, reading: Reading) -> int:
    """Carry out a line by words, and those behind it that the scanner does not know; returns the line that is next."""
    commands = lines.table[2]
    while True:
        text = bytes(lines.data[lines.end_of(line - 1) : lines.end_of(line)])
        text = (
            text.removesuffix(b"\n").removesuffix(b"\r") if text.endswith(b"\n") else text.removesuffix(b"\r")
        )
        obey_line(reading, text.decode("latin-1"))
        line += 1
        if line == lines.count or commands[line] != words.BY_WORDS:
            return line
