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
_CLOCK = re.compile(r'(\s*"?)(\d{1,3}):([0-5]?\d):([0-5]?\d(?:[.,]\d+)?)("?\s*[;,\t|])').match
"""A row that begins with hours, minutes and seconds."""
_HOLE = re.compile(rf'[ ]*(?:[;,\t|][ ]*)+"?{_VALUE}').match
"""A row whose first cells are empty (a specimen that ended before the one beside it): only below rows of numbers."""


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
    clock : bool
        Whether the first column was hours, minutes and seconds; it is seconds here.
    """

    head: tuple[tuple[int, str], ...]
    rows: tuple[str, ...]
    lines: tuple[int, ...]
    clock: bool = False


def _in_seconds(line: str) -> str | None:
    """Return a row whose clock time at its start is written in seconds, None where there is none."""
    found = _CLOCK(line)
    if found is None:
        return None
    hours, minutes, seconds = int(found[2]), int(found[3]), found[4]
    whole = float(seconds.replace(",", "."))
    digits = len(seconds.replace(",", ".").partition(".")[2])
    text = f"{3600 * hours + 60 * minutes + whole:.{digits}f}"
    return found[1] + (text.replace(".", ",") if "," in seconds else text) + found[5] + line[found.end() :]


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
    clocks: list[int] = []

    def close() -> None:
        if len(rows) >= MIN_POINTS:
            blocks.append(Block(tuple(head), tuple(rows), tuple(numbers), len(clocks) == len(rows)))
            head.clear()
        else:
            head.extend(zip(numbers, rows, strict=True))
        rows.clear()
        numbers.clear()
        clocks.clear()

    for number, line in enumerate(lines, 1):
        if (timed := _in_seconds(line)) is not None and _ROW(timed):
            rows.append(timed)
            numbers.append(number)
            clocks.append(number)
        elif _ROW(line) or (rows and _HOLE(line)):
            rows.append(line)
            numbers.append(number)
        elif line.strip():
            close()
            head.append((number, line))
    close()
    return blocks
