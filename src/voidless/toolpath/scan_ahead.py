"""The compiled scanner at work: one thread splits the next lines while another carries out the ones before."""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import Future, ThreadPoolExecutor
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

__all__ = ["PIECE_BYTES", "compiled_steps"]

PIECE_BYTES = 1 << 19
"""Lines that are split at once: their table stays in the processor's cache. [bytes]"""
_BYTES_A_LINE = 8
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
        """Return a table with room for so many lines."""
        return cls(
            (
                np.empty(rows, np.int64),
                np.empty(rows, np.int64),
                np.empty(rows, np.int64),
                np.empty((rows, 5)),
            )
        )

    def fill(self, data: bytearray, start: int, end: int) -> _Lines:
        """Return itself with the lines from `start` to `end`; short lines get a larger table."""
        self.data, self.start = data, start
        signs = np.frombuffer(data, dtype=np.uint8)
        self.count, place = words.split_lines(signs, start, end, _ROLES, *self.table)
        if place == end:
            return self
        return _Lines.empty(end - start).fill(data, start, end)

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
        The file; each block stays valid until the next but one is asked for.
    """
    tables = [_Lines.empty(PIECE_BYTES // _BYTES_A_LINE) for _ in range(2)]
    waiting: Future[_Lines] | None = None
    with ThreadPoolExecutor(1) as pool:
        for number, piece in enumerate(_pieces(source)):
            ahead = pool.submit(tables[number % 2].fill, *piece)
            if waiting is not None:
                yield partial(_carry_out, waiting.result())
            waiting = ahead
        if waiting is not None:
            yield partial(_carry_out, waiting.result())


def _carry_out(lines: _Lines, reading: Reading, columns: Columns) -> None:
    counts = np.zeros(len(_ROLES), dtype=np.int64)
    real, whole = np.array(reading.real), np.array(reading.whole)
    signs = np.frombuffer(lines.data, dtype=np.uint8)
    line = 0
    while True:
        columns.grow_states(columns.states_size + 2)  # one for what lines by words have changed
        line, reason = kernel.carry_out(
            signs, lines.start, line, lines.count, *lines.table,
            real, whole, _ROLES, counts, columns.kind, *columns.reals, columns.states,
        )  # fmt: skip
        columns.size, columns.states_size = int(whole[at.ROWS]), int(whole[at.STATES])
        if reason == kernel.NO_ROOM:
            columns.grow(columns.size + _MORE_MOVES)
        elif reason != kernel.NO_ROOM_FOR_STATES:
            reading.real, reading.whole = real.tolist(), whole.tolist()
            if reason == kernel.ALL_READ:
                break
            _one_line(reading, columns, bytes(lines.data[lines.end_of(line - 1) : lines.end_of(line)]))
            real[:], whole[:] = reading.real, reading.whole
            line += 1
    columns.arcs = bool(whole[at.ARCS])
    for code in np.flatnonzero(counts).tolist():
        reading.unknown[f"M{code - words.M}"] += int(counts[code])


def _one_line(reading: Reading, columns: Columns, line: bytes) -> None:
    """Carry out one line, with its end, by words."""
    text = line.removesuffix(b"\n").removesuffix(b"\r") if line.endswith(b"\n") else line.removesuffix(b"\r")
    obey_line(reading, text.decode("latin-1"))
    columns.take(reading)
