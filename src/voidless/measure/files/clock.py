"""Times of day and dates that loggers write in place of seconds."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime

from voidless.measure.files.rows import Rows, has_decimal_comma

__all__ = ["in_seconds", "seconds_since_first"]

_MOMENT = re.compile(
    r"(?:(\d{4})-(\d\d)-(\d\d)[T ]|(\d{1,2})\.(\d{1,2})\.(\d{4})[ ])?"
    r"(\d{1,2}):(\d\d):(\d\d(?:[.,]\d{1,9})?)(?:Z|[+-]\d\d:\d\d)?",
    re.ASCII,
)
"""A time of day with seconds, perhaps after a date: year first, or day, month and year with points."""
_DAY = 86400.0


def seconds_since_first(cells: Sequence[str]) -> list[float] | None:
    """
    Return the seconds since the first of several moments, None where one of them is no moment.

    Parameters
    ----------
    cells : sequence of str
        Such as `14:03:07`, `2031-05-02T14:03:07.5` or `02.05.2031 14:03:07`. Times of day that fall back by
        more than half a day have passed midnight.

    Returns
    -------
    seconds : list of float or None
        [s]
    """
    found: list[float] = []
    days = 0.0
    for cell in cells:
        match = _MOMENT.fullmatch(cell.strip())
        moment = _moment(match) if match else None
        if match is None or moment is None:
            return None
        if match[1] is None and match[4] is None and found and moment + days < found[-1] - _DAY / 2:
            days += _DAY
        found.append(moment + days)
    return [each - found[0] for each in found] if found else None


def _moment(match: re.Match[str]) -> float | None:
    """Return the seconds of a moment since some day; None where there is no such day or time."""
    year, month, day = (match[1], match[2], match[3]) if match[1] else (match[6], match[5], match[4])
    second = float(match[9].replace(",", "."))
    if not second < 60.0:
        return None
    try:
        whole = datetime(int(year or 2000), int(month or 1), int(day or 1), int(match[7]), int(match[8]))
    except ValueError:
        return None
    return (whole - datetime(1, 1, 1)).total_seconds() + second


def in_seconds(rows: Rows, place: int) -> Rows | None:
    """
    Return a table with the moments of a column as seconds since the first, None where they are no moments.

    Parameters
    ----------
    rows : Rows
        The table.
    place : int
        The column. [1]

    Returns
    -------
    rows : Rows or None
        Seconds with the file's own decimal mark.
    """
    seconds = seconds_since_first([cells[place] for _, cells in rows.rows])
    if seconds is None:
        return None
    comma = has_decimal_comma(cell for _, cells in rows.rows for cell in cells)
    shown = [f"{each:.3f}".replace(".", "," if comma else ".") for each in seconds]
    changed = tuple(
        (line, (*cells[:place], text, *cells[place + 1 :]))
        for (line, cells), text in zip(rows.rows, shown, strict=True)
    )
    return replace(rows, rows=changed)
