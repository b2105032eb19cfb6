"""Blocks of numbers and facts of specimens in the sheets of a spreadsheet."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from voidless.errors import InputError
from voidless.measure.curves.blocks import MIN_POINTS
from voidless.measure.curves.header import Fact, last_digit, split_unit, unit_or_none
from voidless.measure.curves.words import fact_of
from voidless.measure.files.limits import LARGEST
from voidless.measure.files.rows import number
from voidless.measure.files.sheets import Cell, Sheet

__all__ = ["SheetBlock", "sheet_blocks", "specimen_facts"]

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class SheetBlock:
    """Rows of numbers of a sheet, the cells above them, and the row number of the first."""

    head: tuple[tuple[str, ...], ...]
    rows: tuple[tuple[Cell, ...], ...]
    line: int

    @property
    def width(self) -> int:
        """Number of columns. [1]"""
        return max(len(row) for row in self.rows[:MIN_POINTS])

    def filled(self, places: Sequence[int]) -> int:
        """Return the number of rows up to the last one with a cell in any of some columns. [1]"""
        there = [
            index
            for index, row in enumerate(self.rows, 1)
            if any(place < len(row) and row[place] is not None for place in places)
        ]
        return there[-1] if there else 0

    def column(self, place: int, where: str, stop: int | None = None) -> Floats:
        """
        Return a column as numbers, down to a row.

        Raises
        ------
        InputError
            A cell is missing or no number.
        """
        values = [_value(row[place]) if place < len(row) else None for row in self.rows[:stop]]
        if None in values:
            raise InputError(
                where,
                f"row {self.line + values.index(None)} has a cell that is missing or no number",
                "a number in every column that is read",
                "Mend or remove the row.",
            )
        return np.array(values, dtype=float)


def _value(cell: Cell) -> float | None:
    if isinstance(cell, str):
        plain = number(cell)
        return plain if plain is not None else number(cell, decimal_comma=True)
    return cell if cell is not None and abs(cell) < LARGEST else None


def _is_row(row: Sequence[Cell], below: bool) -> bool:
    """Return whether a row holds numbers; below others its first cells may be empty, a specimen that ended earlier."""
    values = [_value(cell) for cell in row]
    if below and values and row[0] is None:
        return sum(value is not None for value in values) >= 2 and not any(
            value is None and cell is not None for value, cell in zip(values, row, strict=True)
        )
    first = values[:8]
    return bool(first) and first[0] is not None and sum(value is not None for value in first) >= 2


def sheet_blocks(sheet: Sheet) -> list[SheetBlock]:
    """
    Return the blocks of numbers in a sheet.

    Parameters
    ----------
    sheet : Sheet
        A sheet.

    Returns
    -------
    blocks : list of SheetBlock
        Runs of at least `MIN_POINTS` rows, the first of which begins with a number.
    """
    blocks: list[SheetBlock] = []
    head: list[tuple[str, ...]] = []
    start: int | None = None
    for index, row in enumerate((*sheet.rows, ("end",))):
        if _is_row(row, start is not None):
            start = index if start is None else start
            continue
        if not row and start is not None:
            continue
        if start is not None and index - start >= MIN_POINTS:
            rows = tuple(filled for filled in sheet.rows[start:index] if filled)
            blocks.append(SheetBlock(tuple(head), rows, start + 1))
            head = []
        start = None
        head.append(tuple("" if cell is None else str(cell) for cell in row))
    return blocks


def specimen_facts(sheets: Sequence[Sheet]) -> dict[str, dict[str, Fact]]:
    """
    Return facts per specimen from sheets that list specimens: names, units, then a row each.

    Parameters
    ----------
    sheets : sequence of Sheet
        All sheets of a workbook.

    Returns
    -------
    specimens : dict of str to dict of str to Fact
        Facts by designation; units from the row below the names.
    """
    found: dict[str, dict[str, Fact]] = {}
    for sheet in sheets:
        for index, row in enumerate(sheet.rows[:-2]):
            names = {place: fact_of(cell) for place, cell in enumerate(row) if isinstance(cell, str)}
            if len({name for name in names.values() if name}) >= 2:
                _add_specimens(found, sheet.rows[index:], names)
                break
    return found


def _add_specimens(
    found: dict[str, dict[str, Fact]], rows: Sequence[Sequence[Cell]], names: dict[int, str]
) -> None:
    title, below = rows[0], rows[1]
    units = {place: unit_or_none(str(cell)) for place, cell in enumerate(below) if cell is not None}
    for row in rows[2:]:
        key = next(
            (str(row[at]) for at, name in names.items() if name == "designation" and at < len(row)), ""
        )
        facts = {}
        for place, name in names.items():
            value = row[place] if place < len(row) else None
            if name and isinstance(value, float):
                label, inside = split_unit(str(title[place]))
                facts[name] = Fact(label, value, units.get(place) or inside, last_digit(repr(value)))
        if facts:
            found[key] = facts
