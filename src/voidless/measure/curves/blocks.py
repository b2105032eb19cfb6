"""Where rows of numbers stand in a text."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

__all__ = ["MIN_POINTS", "Block", "find_blocks"]

MIN_POINTS = 5
"""Fewest rows of numbers that are taken for a curve."""

_VALUE = r"[-+]?(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:[eE][-+]?\d+)?"
_ROW = re.compile(rf'\s*"?{_VALUE}"?(?:[ ]*[;,\t|]|[ ]+"?{_VALUE}(?:[\s"]|$))').match
_HOLE = re.compile(rf'\s*[;,\t|]\s*"?{_VALUE}').match
"""A row whose first cell is empty: only between rows of numbers, else it is a head."""


@dataclass(frozen=True)
class Block:
    """
    Rows of numbers and what stands above them.

    Attributes
    ----------
    head : tuple of (int, str)
        Line number and text of each line above that is not blank, back to the block before.
    rows : tuple of str
        Lines of numbers.
    lines : tuple of int
        Their line numbers.
    """

    head: tuple[tuple[int, str], ...]
    rows: tuple[str, ...]
    lines: tuple[int, ...]


def find_blocks(lines: Sequence[str]) -> list[Block]:
    """
    Return the blocks of numbers in a text, in order.

    Parameters
    ----------
    lines : sequence of str
        Lines of the text; the time taken grows in proportion to their number.

    Returns
    -------
    blocks : list of Block
        Runs of at least `MIN_POINTS` rows of numbers; blank lines do not end a run.
    """
    blocks: list[Block] = []
    head: list[tuple[int, str]] = []
    rows: list[str] = []
    numbers: list[int] = []

    def close() -> None:
        if len(rows) >= MIN_POINTS:
            blocks.append(Block(tuple(head), tuple(rows), tuple(numbers)))
            head.clear()
        else:
            head.extend(zip(numbers, rows, strict=True))
        rows.clear()
        numbers.clear()

    for number, line in enumerate(lines, 1):
        if _ROW(line) or (rows and _HOLE(line)):
            rows.append(line)
            numbers.append(number)
        elif line.strip():
            close()
            head.append((number, line))
    close()
    return blocks
