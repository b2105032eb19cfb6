"""A block of text to columns of numbers."""

from __future__ import annotations

import csv
import re
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from voidless.errors import InputError
from voidless.measure.curves.blocks import Block
from voidless.measure.files.limits import LARGEST
from voidless.measure.files.rows import number

__all__ = [
    "check_widths",
    "columns_of",
    "delimiter_of",
    "filled_part",
    "split_head",
    "split_line",
    "without_holes",
]

Floats = NDArray[np.float64]

BLANK = " "
MOST_HOLES = 100
"""Rows of which one may miss a reading. [1] Our choice."""
_SAMPLE = 40
_GROUPED = r"\d{1,3}(?:(?:,\d{3})+\.\d+|(?:\.\d{3})+,\d+)"
_THOUSANDS = re.compile(
    rf"(?<=[\";|\t]){_GROUPED}(?=[\";|\t]|$)|\d{{1,3}}(?:['\u2019\u00a0\u202f]\d{{3}})+(?:[.,]\d+)?"
)
"""Numbers with a thousands separator; commas and points count only in a cell that quotes or delimiters mark."""
_DECIMAL_COMMA = re.compile(r"[-+]?\d*,\d+([eE][-+]?\d+)?")


def split_line(line: str, delimiter: str) -> list[str]:
    """
    Return the cells of a line.

    Parameters
    ----------
    line : str
        A line of text.
    delimiter : str
        What separates its cells; a blank stands for any number of blanks.

    Returns
    -------
    cells : list of str
        Without quotes and blanks around them.
    """
    if delimiter == BLANK:
        return [cell.strip('"') for cell in line.split()]
    try:
        cells = next(csv.reader([line[:20_000]], delimiter=delimiter, skipinitialspace=True), [])
    except csv.Error:
        cells = line.split(delimiter)
    return [cell.strip().strip('"') for cell in cells]


def split_head(line: str, delimiter: str) -> list[str]:
    """
    Return the cells of a line above a block, which may be separated otherwise than its rows.

    Parameters
    ----------
    line : str
        A line of text.
    delimiter : str
        What separates the cells of the rows below.

    Returns
    -------
    cells : list of str
        Another delimiter counts where it sets a label apart from a number.
    """
    cells = split_line(line, delimiter)
    if len(cells) > 1 and delimiter != BLANK:
        return cells
    for other in ("\t", ";", ","):
        apart = split_line(line, other)
        if len(apart) > 1 and (
            number(apart[1]) is not None or number(apart[1], decimal_comma=True) is not None
        ):
            return apart
    return cells


def delimiter_of(block: Block) -> str:
    """
    Return what separates the cells of a block.

    Parameters
    ----------
    block : Block
        Rows of numbers.

    Returns
    -------
    delimiter : str
        Semicolon, tabulator, bar, comma or blank: the first that stands equally often in sampled rows.
    """
    sample = _sample(block)
    for delimiter in ("\t", ";", "|"):
        counts = {row.count(delimiter) for row in sample}
        if 0 not in counts:
            return delimiter
    commas = all("," in row for row in sample)
    if not commas:
        return BLANK
    if len({len(row.split()) for row in sample}) == 1 and len(sample[0].split()) > 1 and '"' not in sample[0]:
        cells = [cell for row in sample for cell in row.split()]
        if all(_DECIMAL_COMMA.fullmatch(cell) or number(cell) is not None for cell in cells):
            return BLANK
    return ","


def check_widths(block: Block, delimiter: str, named: int, where: str) -> None:
    """
    Pass a block whose rows have no more cells than there are names.

    Parameters
    ----------
    block : Block
        Rows of numbers.
    delimiter : str
        What separates their cells.
    named : int
        Number of columns with a name. [1]
    where : str
        File, for errors.

    Raises
    ------
    InputError
        A sampled row has more cells: names and numbers cannot be matched, or commas are decimal
        marks and delimiters at once.
    """
    for row in _sample(block):
        cells = split_line(row, delimiter)
        while cells and not cells[-1]:
            cells.pop()
        if len(cells) > named:
            both = delimiter == "," and "." not in row
            raise InputError(
                f"{where}:{block.lines[0]}",
                f"{named} column names and {len(cells)} cells"
                + (": commas separate cells and decimals alike" if both else ""),
                "a name for each column",
                "Export with semicolons or tabulators between cells." if both else "Name every column.",
            )


def _sample(block: Block) -> tuple[str, ...]:
    return block.rows[:: max(len(block.rows) // _SAMPLE, 1)]


def columns_of(block: Block, delimiter: str, wanted: Sequence[int], where: str) -> Floats:
    """
    Return columns of a block as numbers.

    Parameters
    ----------
    block : Block
        Rows of numbers.
    delimiter : str
        What separates their cells.
    wanted : sequence of int
        Places of the columns that are wanted. [1]
    where : str
        File, for errors.

    Returns
    -------
    columns : (n, k) float array
        One column a place, in the units of the file.

    Raises
    ------
    InputError
        A cell is missing or no finite number.
    """
    rows: Sequence[str] = block.rows
    if delimiter != "," and any("," in row for row in rows):
        if any("." in row for row in rows) and _has_points(block, delimiter, wanted):
            raise _two_marks(f"{where}:{block.lines[0]}")
        rows = [row.replace(",", ".") for row in rows]
    try:
        found = np.loadtxt(
            rows,
            delimiter=None if delimiter == BLANK else delimiter,
            usecols=tuple(wanted),
            quotechar='"',
            comments=None,
            ndmin=2,
        )
    except (ValueError, IndexError):
        found = _slow(block, delimiter, wanted, where)
    sound = np.all(np.abs(found) < LARGEST, axis=1)
    if not np.all(sound):
        line = int(np.argmin(sound))
        raise _bad_row(block, line, where)
    return np.asarray(found, dtype=float)


def filled_part(block: Block, delimiter: str, places: Sequence[int]) -> Block:
    """
    Return a block down to the last row with a cell in any of some columns.

    Parameters
    ----------
    block : Block
        Rows of numbers; a specimen that ended before the one beside it leaves empty cells below.
    delimiter : str
        What separates their cells.
    places : sequence of int
        Places of the columns. [1]

    Returns
    -------
    part : Block
        The same head, and as many rows.
    """
    stop = len(block.rows)
    while stop:
        cells = split_line(block.rows[stop - 1], delimiter)
        if any(place < len(cells) and cells[place] for place in places):
            break
        stop -= 1
    return Block(block.head, block.rows[:stop], block.lines[:stop])


def without_holes(block: Block, delimiter: str, wanted: Sequence[int]) -> tuple[Block, tuple[int, ...]]:
    """
    Return a block without the rows in which a reading was missed, and their line numbers.

    Parameters
    ----------
    block : Block
        Rows of numbers.
    delimiter : str
        What separates their cells.
    wanted : sequence of int
        Places of the columns that are wanted. [1]

    Returns
    -------
    found : (Block, tuple of int)
        The block as it was and no line where holes are more than a logger's missed readings: over one row in a hundred,
        two in succession, or the first or last row (a file that was cut off).

    Notes
    -----
    A missed reading costs a curve one of hundreds of points; to fill it would be a guess. A cell that holds something
    which is no number is not a hole.
    """
    holes = []
    for index, row in enumerate(block.rows):
        cells = split_line(row, delimiter)
        if any(place < len(cells) and not cells[place] for place in wanted):
            holes.append(index)
    ends, apart = {0, len(block.rows) - 1}, np.diff(holes)
    if (
        not holes
        or len(holes) > max(1, len(block.rows) // MOST_HOLES)
        or ends & set(holes)
        or np.any(apart < 2)
    ):
        return block, ()
    left = sorted(set(range(len(block.rows))) - set(holes))
    shorter = Block(block.head, tuple(block.rows[k] for k in left), tuple(block.lines[k] for k in left))
    return shorter, tuple(block.lines[k] for k in holes)


def _has_points(block: Block, delimiter: str, wanted: Sequence[int]) -> bool:
    rows = (split_line(row, delimiter) for row in block.rows)
    return any("." in cells[place] for cells in rows for place in wanted if place < len(cells))


def _two_marks(where: str) -> InputError:
    return InputError(
        where,
        "numbers with a comma and numbers with a point",
        "one decimal mark and no thousands separator",
        "Export without thousands separators.",
    )


def _slow(block: Block, delimiter: str, wanted: Sequence[int], where: str) -> Floats:
    """Read cell by cell: quoted decimal commas, and the line that an error must name."""
    found = np.empty((len(block.rows), len(wanted)))
    marks: set[str] = set()
    for index, row in enumerate(block.rows):
        cells = split_line(row, delimiter)
        for column, place in enumerate(wanted):
            text = cells[place] if place < len(cells) else ""
            value = number(text)
            if value is None:
                value = number(text, decimal_comma=True)
            if value is None:
                raise _bad_row(block, index, where)
            marks |= {mark for mark in ",." if mark in text}
            found[index, column] = value
    if len(marks) > 1:
        raise _two_marks(f"{where}:{block.lines[0]}")
    return found


def _bad_row(block: Block, index: int, where: str) -> InputError:
    apart = _THOUSANDS.search(block.rows[index][:2000])
    if apart:
        return InputError(
            f"{where}:{block.lines[index]}",
            f"{apart[0]!r} has a thousands separator",
            "plain numbers such as 1001.7 or 1001,7",
            "Export without thousands separators.",
        )
    return InputError(
        f"{where}:{block.lines[index]}",
        f"{block.rows[index][:60]!r} has a cell that is missing or no finite number",
        "a number in every column that is read",
        "Mend or remove the row; the file may be cut off.",
    )
