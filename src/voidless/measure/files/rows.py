"""Rows of a table, from text with any delimiter or from the sheet of a spreadsheet that holds it."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass

from voidless.errors import InputError
from voidless.measure.files.archive import is_zip
from voidless.measure.files.limits import LARGEST, MAX_LINE_CHARS, MAX_TABLE_ROWS, SMALLEST
from voidless.measure.files.sheets import read_sheets
from voidless.measure.files.text import decode

__all__ = ["Rows", "column_name", "find_header", "has_decimal_comma", "number", "read_rows"]

DELIMITERS = (",", ";", "\t", "|")
_SEARCH_LINES = 60
_NUMBER = re.compile(r"[+-]?(\d+(\.\d*)?|\.\d+)([eE][+-]?\d{1,3})?", re.ASCII)
_COMMA = re.compile(r"[+-]?\d*,\d+([eE][+-]?\d+)?", re.ASCII)

Judge = Callable[[tuple[str, ...]], bool]
"""Says of normalised column names whether they head the table that is looked for."""


@dataclass(frozen=True)
class Rows:
    """
    A table as text.

    Attributes
    ----------
    where : str
        File, and sheet of a spreadsheet, for errors.
    header : tuple of str
        Column names, lower case, blanks as underscores.
    written : tuple of str
        Column names as the file has them.
    rows : tuple of (int, tuple of str)
        Line number and cells of each row that is not blank.
    warnings : tuple of str
        What a person should know.
    """

    where: str
    header: tuple[str, ...]
    written: tuple[str, ...]
    rows: tuple[tuple[int, tuple[str, ...]], ...]
    warnings: tuple[str, ...] = ()

    def column(self, name: str) -> tuple[str, ...]:
        """Return the cells of a column; empty texts where there is no such column."""
        if name not in self.header:
            return ("",) * len(self.rows)
        place = self.header.index(name)
        return tuple(cells[place].strip() for _, cells in self.rows)


def column_name(written: str) -> str:
    """
    Return a column name as it is compared: lower case, trimmed, blanks and hyphens as underscores.

    Parameters
    ----------
    written : str
        Name as a file has it.

    Returns
    -------
    name : str
        For example `break_place` for ` Break place`.
    """
    return re.sub(r"[\s\-]+", "_", written.strip().strip("\ufeff\"'").strip().lower())


def number(text: str, decimal_comma: bool = False) -> float | None:
    """
    Return a plain decimal number, or None where a text is none.

    Parameters
    ----------
    text : str
        A cell.
    decimal_comma : bool
        Whether the comma is the decimal mark; a point is then refused, and the other way round.

    Returns
    -------
    value : float or None
        Words such as nan, thousands separators and units give None, and so do numbers that no reading can be
        (`LARGEST` and `SMALLEST` of the limits): a slip of an exponent, whose square is no number any more.
    """
    plain = text.strip().replace("\u2212", "-")
    if decimal_comma:
        if "." in plain:
            return None
        plain = plain.replace(",", ".")
    if not _NUMBER.fullmatch(plain):
        return None
    value = float(plain)
    return value if value == 0.0 or SMALLEST <= abs(value) < LARGEST else None


def has_decimal_comma(cells: Iterable[str]) -> bool:
    """
    Return whether numbers are written with a decimal comma.

    Parameters
    ----------
    cells : iterable of str
        Cells of the columns that hold numbers.

    Returns
    -------
    comma : bool
        True where one of them is a number with one comma and no point.
    """
    return any(_COMMA.fullmatch(cell.strip()) for cell in cells)


def find_header(lines: Iterable[str], judge: Judge) -> tuple[int, str] | None:
    """
    Return where the head of a table stands in a text and what separates its columns.

    Parameters
    ----------
    lines : iterable of str
        Lines of a text; the first 60 are looked at.
    judge : callable
        Says whether column names are those of the table.

    Returns
    -------
    found : (int, str) or None
        Index of the line and the delimiter.
    """
    for index, line in zip(range(_SEARCH_LINES), lines, strict=False):
        for delimiter in DELIMITERS:
            if delimiter in line and judge(_split(line, delimiter)):
                return index, delimiter
    return None


def _split(line: str, delimiter: str) -> tuple[str, ...]:
    try:
        cells = next(csv.reader([line[:20_000]], delimiter=delimiter), [])
    except csv.Error:
        return ()
    return tuple(column_name(cell) for cell in cells)


def read_rows(name: str, data: bytes, judge: Judge, expected: str) -> Rows:
    """
    Return the table that a file holds.

    Parameters
    ----------
    name : str
        Name of the file.
    data : bytes
        Text of any common encoding and delimiter, or an xlsx file: the first sheet with the table counts.
    judge : callable
        Says whether column names are those of the table.
    expected : str
        What the table's columns are, for the error.

    Returns
    -------
    rows : Rows
        Rows that are not blank and do not begin with `#`.

    Raises
    ------
    InputError
        The file cannot be read, holds no such table, is cut off or malformed.
    """
    if is_zip(data):
        for sheet in read_sheets(name, data):
            commas = _comma_columns(sheet.rows)
            cells = [
                tuple(_shown(cell, place in commas) for place, cell in enumerate(row)) for row in sheet.rows
            ]
            for index, row in enumerate(cells[:_SEARCH_LINES]):
                if judge(tuple(column_name(cell) for cell in row)):
                    return _sheet_rows(f"{name}, sheet {sheet.title}", cells, index)
        raise InputError(name, "no sheet holds the table", expected, "Check the first row of the sheet.")
    text = decode(name, data)
    found = find_header(text.lines, judge)
    if found is None:
        raise InputError(
            name, "no line holds the column names", expected, "Check the first line of the file."
        )
    index, delimiter = found
    lines = text.lines
    header, rows = _text_rows(name, lines, index, delimiter)
    return _checked(name, header, rows, (*text.warnings, *_skipped(name, lines[:index])))


def _comma_columns(rows: Iterable[tuple[str | float | None, ...]]) -> set[int]:
    """Return the columns of a sheet that hold numbers and, as text, numbers with a decimal comma."""
    numbers, texts = set[int](), set[int]()
    for row in rows:
        for place, cell in enumerate(row):
            if isinstance(cell, float):
                numbers.add(place)
            elif cell is not None and _plain_comma(cell):
                texts.add(place)
    return numbers & texts


def _plain_comma(text: str) -> bool:
    """Return whether a text is a number with a decimal comma that cannot be a thousands separator."""
    whole, _, rest = text.lstrip("+-").partition(",")
    grouped = len(rest) == 3 and 1 <= len(whole) <= 3
    return bool(_COMMA.fullmatch(text)) and not grouped


def _shown(cell: str | float | None, comma: bool = False) -> str:
    if cell is None:
        return ""
    if isinstance(cell, str):
        return cell.replace(",", ".") if comma and _plain_comma(cell) else cell
    return str(int(cell)) if cell.is_integer() and abs(cell) < 1e15 else repr(cell)


def _sheet_rows(where: str, cells: list[tuple[str, ...]], index: int) -> Rows:
    header = cells[index]
    rows = []
    for line, row in enumerate(cells[index + 1 :], index + 2):
        if any(row) and not row[0].startswith("#"):
            rows.append((line, row + ("",) * (len(header) - len(row))))
    skipped = [" ".join(filter(None, row)) for row in cells[:index]]
    return _checked(where, header, rows, _skipped(where, skipped))


def _text_rows(
    name: str, lines: list[str], index: int, delimiter: str
) -> tuple[tuple[str, ...], list[tuple[int, tuple[str, ...]]]]:
    reader = csv.reader(io.StringIO("\n".join(lines[index:])), delimiter=delimiter, strict=True)
    rows: list[tuple[int, tuple[str, ...]]] = []
    header: tuple[str, ...] = ()
    line = index + 1
    csv.field_size_limit(MAX_LINE_CHARS)
    try:
        for cells in reader:
            if not header:
                header = tuple(cells)
            elif any(cell.strip() for cell in cells) and not cells[0].lstrip().startswith("#"):
                rows.append((line, tuple(cells)))
            line = index + reader.line_num + 1
    except csv.Error as fault:
        raise InputError(
            f"{name}:{index + reader.line_num}",
            f"the line is malformed ({fault})",
            "cells with paired quotes",
            "Mend the quotes, or export the table again; the file may be cut off.",
        ) from fault
    return header, rows


def _skipped(where: str, lines: Iterable[str]) -> tuple[str, ...]:
    count = sum(1 for line in lines if line.strip() and not line.lstrip().startswith("#"))
    return (f"{where}: {count} line(s) before the column names were not read",) if count else ()


def _checked(
    where: str,
    header: tuple[str, ...],
    rows: list[tuple[int, tuple[str, ...]]],
    warnings: tuple[str, ...],
) -> Rows:
    width = len(header)
    while width and not header[width - 1].strip():
        width -= 1
    names = tuple(column_name(cell) for cell in header[:width])
    for column in names:
        if names.count(column) > 1:
            raise InputError(
                where, f"column {column!r} stands twice", "each column once", "Remove one of them."
            )
    if "" in names:
        raise InputError(
            where, f"column {names.index('') + 1} has no name", "a name for each column", "Name it."
        )
    if not rows:
        raise InputError(
            where, "the table has column names and no rows", "at least one row", "Check the export."
        )
    if len(rows) > MAX_TABLE_ROWS:
        raise InputError(where, f"{len(rows)} rows", f"at most {MAX_TABLE_ROWS}", "Split the file.")
    for line, cells in rows:
        if len(cells) < width or any(cell.strip() for cell in cells[width:]):
            raise InputError(
                f"{where}:{line}",
                f"{len(cells)} cells",
                f"{width}, as many as there are columns",
                "Mend the row; the file may be cut off, or a decimal comma may need quotes.",
            )
    cut = tuple((line, cells[:width]) for line, cells in rows)
    return Rows(where, names, tuple(cell.strip() for cell in header[:width]), cut, warnings)
