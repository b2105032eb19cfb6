"""Tables whose columns are known: names with their units, every fault of a row named, a missing unit asked for."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from voidless.errors import InputError, QuestionError
from voidless.measure.files.clock import in_seconds
from voidless.measure.files.faults import rows_refused
from voidless.measure.files.foreign import column_in_english, narrow
from voidless.measure.files.labels import Labels
from voidless.measure.files.rows import Rows, column_name, has_decimal_comma, number, read_rows
from voidless.measure.results import Answers
from voidless.units import CELSIUS_ZERO, convert

__all__ = ["Cell", "Column", "Layout", "Table", "read_table"]

Cell = float | str | None

LABELS = ("run", "build", "specimen")
MAX_LABEL = 80
_SUFFIXES = {
    "mm": "mm", "um": "um", "n": "N", "kn": "kN", "j": "J", "mj": "mJ", "s": "s", "ms": "ms", "min": "min", "h": "h",
    "pa": "Pa", "kpa": "kPa", "mpa": "MPa", "hpa": "hPa", "mbar": "mbar", "bar": "bar", "pct": "%",
    "c": "degC", "k": "K",
    "g": "g", "mg": "mg", "mm3": "mm3", "cm3": "cm3", "mm3_s": "mm3/s", "mm_s": "mm/s", "g_cm3": "g/cm3",
}  # fmt: skip
"""Units that stand at the end of a column's name, as the project writes them."""
_LONGEST_FIRST = tuple(sorted(_SUFFIXES, key=len, reverse=True))
_BRACKET = re.compile(r"^(.*?)\s*[\[(]\s*([^\])]+?)\s*[\])]\s*$")


@dataclass(frozen=True)
class Column:
    """
    A column that a table may have.

    Attributes
    ----------
    name : str
        Its name without unit.
    unit : str
        Unit that values come out in; `1` for plain numbers, empty for text.
    needed : bool
        Whether the table is none without it.
    """

    name: str
    unit: str
    needed: bool = False


@dataclass(frozen=True)
class Layout:
    """A kind of table: its columns, and columns whose presence means that it is another kind."""

    columns: tuple[Column, ...]
    never: frozenset[str] = frozenset()

    def heads(self, header: tuple[str, ...]) -> bool:
        """Return whether column names are those of this table."""
        stems = {_stem(name)[0] for name in header}
        if {"response", "value"} <= stems:
            return False
        needed = {column.name for column in self.columns if column.needed}
        return needed <= stems and not self.never & stems

    def lacks(self, header: tuple[str, ...]) -> tuple[float, tuple[str, ...]]:
        """Return how much of the table column names make, and which needed ones are missing."""
        stems = {_stem(name)[0] for name in header}
        needed = [column.name for column in self.columns if column.needed]
        known = sum(column.name in stems for column in self.columns)
        missing = tuple(name for name in needed if name not in stems)
        return (1.0 - len(missing) / len(needed)) + 1e-3 * known, missing

    @property
    def expected(self) -> str:
        """What the table's columns are, for errors."""
        shown = [
            f"{column.name} [{column.unit}]" if column.unit not in ("", "1") else column.name
            for column in self.columns
            if column.needed
        ]
        return "columns " + ", ".join(shown)


@dataclass(frozen=True)
class Table:
    """
    Rows by column name; None where a cell is empty or the column is missing.

    Attributes
    ----------
    where : str
        File, for errors.
    rows : tuple of dict
        In the order of the file. [unit of the column]
    lines : tuple of int
        Line number of each row. [1]
    decimals : dict of str to int
        Most decimals of a column as printed. [1]
    units : dict of str to str
        Unit that a column was written in.
    warnings : tuple of str
        What a person should know.
    """

    where: str
    rows: tuple[dict[str, Cell], ...]
    lines: tuple[int, ...]
    decimals: dict[str, int]
    units: dict[str, str]
    warnings: tuple[str, ...]

    def numbers(self, name: str) -> list[float]:
        """Return a column of numbers; an empty cell is a fault."""
        found = []
        for row, line in zip(self.rows, self.lines, strict=True):
            value = row.get(name)
            if not isinstance(value, float):
                raise InputError(f"{self.where}:{line}", f"no {name}", "a number", "Fill the cell.")
            found.append(value)
        return found

    def groups(self, by: str, name: str) -> dict[str, list[float]]:
        """Return a column of numbers by the words of another; an empty cell is a fault."""
        found: dict[str, list[float]] = {}
        for row, value in zip(self.rows, self.numbers(name), strict=True):
            found.setdefault(str(row[by]), []).append(value)
        return found

    def by_specimen(self, own: Labels) -> list[tuple[Labels, Table]]:
        """Return a table for each specimen that its rows name; what a row does not say the file's name says."""
        found: dict[Labels, list[int]] = {}
        for place, row in enumerate(self.rows):
            run, build, specimen = (str(row.get(key) or getattr(own, key)) for key in LABELS)
            label = replace(own, run=run, build=build, specimen=specimen)
            found.setdefault(label, []).append(place)
        return [
            (
                label,
                replace(
                    self,
                    rows=tuple(self.rows[place] for place in places),
                    lines=tuple(self.lines[place] for place in places),
                ),
            )
            for label, places in found.items()
        ]

    def resolution(self, name: str) -> float:
        """Return the standard uncertainty that a column's last digit leaves. [unit of the column]"""
        step = 10.0 ** -self.decimals.get(name, 0)
        wanted = self.units.get(name, "")
        first, _, last = wanted.partition("->")
        return (convert(step, first, last) if last else step) / 12**0.5


def _stem(written: str) -> tuple[str, str]:
    """Return a column's name without its unit, and the unit as written or by its ending."""
    written = narrow(written)
    bracket = _BRACKET.match(written.strip().strip("\ufeff\"'"))
    if bracket:
        return column_in_english(column_name(bracket[1]).rstrip("_")), bracket[2]
    name = column_name(written)
    for suffix in _LONGEST_FIRST:
        if name.endswith("_" + suffix):
            return column_in_english(name[: -len(suffix) - 1]), _SUFFIXES[suffix]
    return column_in_english(name), ""


def read_table(name: str, data: bytes, layout: Layout, answers: Answers) -> Table:
    """
    Return the rows of a table.

    Parameters
    ----------
    name : str
        Name of the file.
    data : bytes
        Text of any common delimiter and decimal mark, or xlsx.
    layout : Layout
        Its columns.
    answers : Answers
        Units that a person answers, by column.

    Returns
    -------
    table : Table
        Values in the layout's units.

    Raises
    ------
    QuestionError
        A column has no unit.
    InputError
        A column is missing or stands twice, or any cell is wrong: nothing is taken, up to 20 faults are listed.
    """
    rows = read_rows(name, data, layout.heads, layout.expected)
    known = {column.name: column for column in (*layout.columns, *(Column(label, "") for label in LABELS))}
    places: dict[str, int] = {}
    scales: dict[str, Callable[[float], float]] = {}
    units: dict[str, str] = {}
    unknown, asked = [], []
    for place, written in enumerate(rows.written):
        stem, symbol = _stem(written)
        if stem not in known:
            unknown.append(written)
            continue
        if stem in places:
            raise InputError(rows.where, f"column {stem!r} stands twice", "each column once", "Remove one.")
        places[stem] = place
        column = known[stem]
        if column.unit in ("", "1"):
            continue
        clocked = in_seconds(rows, place) if column.unit == "s" else None
        rows, symbol = (clocked, "s") if clocked else (rows, symbol)
        symbol = symbol or answers.unit_of(written, stem) or ""
        if not symbol:
            asked.append(f"{written}={column.unit}")
            continue
        if symbol == "K" and column.unit == "degC":
            scales[stem], symbol = (lambda value: value - CELSIUS_ZERO), "degC"
        else:
            convert(1.0, symbol, column.unit, f"{rows.where}, {written}")
            scales[stem] = _scale(symbol, column.unit)
        units[stem] = f"{symbol}->{column.unit}"
    if asked:
        options = " ".join(f'--unit "{pair}"' if " " in pair else f"--unit {pair}" for pair in asked)
        raise QuestionError(rows.where, "columns without a unit", options, "Say the units.")
    warnings = [f"{rows.where}: column {column!r} is not used" for column in unknown]
    return _parsed(rows, places, known, scales, units, (*rows.warnings, *warnings))


def _scale(source: str, target: str) -> Callable[[float], float]:
    return lambda value: convert(value, source, target)


def _parsed(
    rows: Rows,
    places: dict[str, int],
    known: dict[str, Column],
    scales: dict[str, Callable[[float], float]],
    units: dict[str, str],
    warnings: Sequence[str],
) -> Table:
    numeric = [column for column in places if known[column].unit]
    comma = has_decimal_comma(cells[places[column]] for _, cells in rows.rows for column in numeric)
    found: list[dict[str, Cell]] = []
    faults: list[str] = []
    decimals: dict[str, int] = {}
    for line, cells in rows.rows:
        row: dict[str, Cell] = {}
        for column, place in places.items():
            text = cells[place].strip()
            if not text:
                row[column] = None
            elif not known[column].unit:
                if len(text) > MAX_LABEL or not text.isprintable():
                    faults.append(
                        f"line {line}: {column} is {text[:20]!r}; expected up to 80 printable characters"
                    )
                row[column] = text
            else:
                value = number(text, comma)
                if value is None:
                    faults.append(f"line {line}: {column} {text[:40]!r} is not a plain number")
                    continue
                row[column] = scales[column](value) if column in scales else value
                printed = len(text.replace(",", ".").partition(".")[2].partition("e")[0])
                decimals[column] = max(decimals.get(column, 0), printed)
        faults += [
            f"line {line}: no {column}"
            for column in places
            if known[column].needed and row.get(column, "") is None
        ]
        found.append(row)
    if faults:
        raise rows_refused(rows.where, faults, "plain cells that can be true", "Correct the rows.")
    lines = tuple(line for line, _ in rows.rows)
    return Table(rows.where, tuple(found), lines, decimals, units, tuple(warnings))
