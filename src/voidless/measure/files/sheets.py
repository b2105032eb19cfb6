"""Sheets of a spreadsheet (xlsx) as rows of cells."""

from __future__ import annotations

import datetime as dt
import io
import warnings
from dataclasses import dataclass
from typing import Any

from voidless.errors import InputError
from voidless.measure.files.archive import member_names, unpack
from voidless.measure.files.limits import MAX_SHEET_COLUMNS, MAX_SHEET_ROWS

__all__ = ["Sheet", "is_spreadsheet", "read_sheets"]

Cell = str | float | None


@dataclass(frozen=True)
class Sheet:
    """A sheet: its title and rows of cells (text, number or None), trailing empty cells left out."""

    title: str
    rows: tuple[tuple[Cell, ...], ...]


def is_spreadsheet(name: str, data: bytes) -> bool:
    """
    Return whether a zip archive is a spreadsheet.

    Parameters
    ----------
    name : str
        Name of the file, for errors.
    data : bytes
        Its content, known to be a zip archive.

    Returns
    -------
    spreadsheet : bool
        True where the archive has the parts of an Office Open XML workbook.

    Raises
    ------
    InputError
        The archive is damaged.
    """
    names = member_names(name, data)
    return "[Content_Types].xml" in names and any(part.startswith("xl/workbook") for part in names)


def read_sheets(name: str, data: bytes) -> tuple[Sheet, ...]:
    """
    Return the sheets of a spreadsheet, values as last computed in place of formulas.

    Parameters
    ----------
    name : str
        Name of the file, for errors.
    data : bytes
        Its content.

    Returns
    -------
    sheets : tuple of Sheet
        All sheets with cells that are not hidden, in order.

    Raises
    ------
    InputError
        The file is damaged, unpacks beyond the limits of archives or has too many rows.
    """
    import openpyxl  # slow to import, and few files need it

    unpack(name, data)  # its limits guard against files that swell
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            book = openpyxl.load_workbook(io.BytesIO(data), read_only=True, data_only=True)
            pages = [page for page in book.worksheets if page.sheet_state == "visible"]
            sheets = tuple(_sheet(name, page.title, page) for page in pages)
    except InputError:
        raise
    except (
        Exception
    ) as fault:  # the decoder raises of every kind, and others where another XML parser is about
        raise InputError(
            name, "the spreadsheet is truncated or damaged", "a whole xlsx file", "Save it again, or as CSV."
        ) from fault
    return tuple(sheet for sheet in sheets if sheet.rows)


def _sheet(name: str, title: str, page: Any) -> Sheet:
    rows: list[tuple[Cell, ...]] = []
    page.reset_dimensions()  # what the file claims of its size may be wrong
    for row in page.iter_rows(max_col=MAX_SHEET_COLUMNS, values_only=True):
        if len(rows) >= MAX_SHEET_ROWS:
            raise InputError(
                f"{name}, sheet {title}",
                f"over {MAX_SHEET_ROWS} rows",
                f"at most {MAX_SHEET_ROWS}",
                "Save it as CSV.",
            )
        rows.append(_cells(row))
    while rows and not rows[-1]:
        rows.pop()
    return Sheet(title, tuple(rows))


def _cells(row: tuple[object, ...]) -> tuple[Cell, ...]:
    cells = [_cell(value) for value in row]
    while cells and cells[-1] is None:
        cells.pop()
    return tuple(cells)


def _cell(value: object) -> Cell:
    if value is None or isinstance(value, str):
        return (value or "").strip() or None
    if isinstance(value, bool):
        return str(value)
    if isinstance(value, int | float):
        return float(value)
    if isinstance(value, dt.datetime | dt.date | dt.time):
        return value.isoformat()
    return str(value)
