"""Small tables for people."""

from __future__ import annotations

import sys
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from rich.console import Console
from rich.table import Table
from rich.text import Text

from voidless.cli.answer import printable

__all__ = ["number", "say", "say_settings", "table"]


_LONG = 0.6  # of the width: words that long are paths, not prose


def _console() -> Console:
    return Console(file=sys.stdout, highlight=False, soft_wrap=False, emoji=False)


def number(value: Any, digits: int = 4) -> str:
    """Return a number in at most so many significant digits; a dash for none."""
    if value is None:
        return "–"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, (int, float)):
        return f"{value:.{digits}g}" if abs(value) < 10**digits else f"{value:.0f}"
    return str(value)


def say_settings(settings: Mapping[str, Any], head: str = "") -> None:
    """Write settings as `name value` pairs, broken between pairs only."""
    console, line = _console(), head
    for name, value in settings.items():
        pair = printable(f"{name} {number(value)}")
        apart = " " if line == head else "  "
        if line and len(line) + len(apart) + len(pair) > console.width:
            console.print(line, markup=False, emoji=False, soft_wrap=True)
            line, apart = "", ""
        line += (apart if line else "") + pair
    console.print(line, markup=False, emoji=False, soft_wrap=True)


def say(*lines: str) -> None:
    """Write lines to standard output, broken between words; a line with a long path stays whole, to be copied."""
    console = _console()
    for line in lines:
        longest = max(map(len, line.split()), default=0)
        console.print(printable(line), markup=False, emoji=False, soft_wrap=longest > _LONG * console.width)


def table(columns: Sequence[str], rows: Iterable[Sequence[Any]], title: str = "") -> None:
    """Write a table; numbers are right-aligned and rounded for reading."""
    made = Table(title=title or None, title_justify="left", box=None, pad_edge=False, header_style="bold")
    rows = [list(row) for row in rows]
    for index, column in enumerate(columns):
        numeric = bool(rows) and all(
            isinstance(row[index], (int, float)) or row[index] is None for row in rows
        )
        made.add_column(column, justify="right" if numeric else "left", overflow="fold")
    for row in rows:
        made.add_row(*(Text(printable(number(cell))) for cell in row))
    _console().print(made)
