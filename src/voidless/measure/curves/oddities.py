"""What is odd about the columns of a curve: a mark at the end, a force that is pressed, names that are swapped."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from voidless.errors import InputError
from voidless.measure.curves.blocks import MIN_POINTS, Block
from voidless.measure.curves.numbers import split_head
from voidless.measure.curves.units import Column
from voidless.measure.files.rows import number

__all__ = ["NAMES_EXPECTED", "check_force", "unknown_names", "without_end_mark"]

Floats = NDArray[np.float64]

# Shares of a range, and readings: our choices.
AT_ONCE, STEADY = 0.5, 0.02
SOON = 3
SHOWN = 60

NAMES_EXPECTED = (
    "names such as Time and Force above them",
    "Add a line of names, or name the force by such a word.",
)


def unknown_names(block: Block, delimiter: str) -> str:
    """
    Return words on what stands above rows of numbers that no column name is known of.

    Parameters
    ----------
    block : Block
        The rows and their head.
    delimiter : str
        What separates cells.

    Returns
    -------
    words : str
        For example `below 'Wavelength [nm], Transmittance [%]', none of which is a force`.
    """
    line = block.head[-1][1] if block.head else ""
    cells = [cell.strip() for cell in split_head(line, delimiter) if cell.strip()]
    if len(cells) < 2 or any(number(cell) is not None for cell in cells):
        return "without column names"
    return f"below {', '.join(cells)[:SHOWN]!r}, none of which is a force"


def check_force(channels: Mapping[str, Floats], where: str) -> None:
    """
    Pass channels whose force can be one of tension.

    Parameters
    ----------
    channels : mapping of str to (n,) float array
        `force_n`, `travel_mm` and so on. [unit in the name]
    where : str
        File and line, for errors.

    Raises
    ------
    InputError
        The force is mainly negative, or it grows steadily to the end while the travel falls back at once: a bar that
        broke, under the other one's name.
    """
    force = channels.get("force_n")
    if force is None:
        return
    if -force.min() > force.max():
        raise InputError(
            where,
            "the force is mainly negative",
            "tension as a positive force",
            "Turn its sign and read again.",
        )
    travel = channels.get("travel_mm", channels.get("extension_mm"))
    if travel is not None and _grows(force) and (fall := _falls_at_once(travel)):
        drop = f"from {fall[0]:.4g} to {fall[1]:.4g} mm"
        raise InputError(
            where,
            f"the force grows steadily to the end while the travel falls {drop} at once",
            "a travel that grows and a force that falls when the bar breaks",
            "The names of the two columns may be swapped: correct them.",
        )


def _grows(values: Floats) -> bool:
    """Return whether readings grow from begin to end, but for a little noise."""
    span = float(np.ptp(values))
    back = np.maximum.accumulate(values) - values
    return span > 0 and float(back.max()) <= STEADY * span and values[0] - values.min() <= STEADY * span


def _falls_at_once(values: Floats) -> tuple[float, float] | None:
    """Return between which readings most of a range is lost within a few steps after the top, None where it is not."""
    top = int(np.argmax(values))
    after = values[top:]
    lost = after[:-SOON] - after[SOON:] if after.size > SOON else after[:1] - after[-1:]
    if not lost.size or float(lost.max()) <= AT_ONCE * float(np.ptp(values)):
        return None
    place = int(np.argmax(lost))
    return float(after[place]), float(after[min(place + SOON, after.size - 1)])


def without_end_mark(columns: list[Column], where: str) -> tuple[list[Column], list[str]]:
    """
    Leave out a last row of zeros that jumps back from a last time or index above zero.

    Parameters
    ----------
    columns : list of Column
        Columns of one specimen.
    where : str
        File and line, for words.

    Returns
    -------
    left : (list of Column, list of str)
        The columns, and what was left out.
    """
    rows = np.column_stack([column.values for column in columns])
    clock = next((column.values for column in columns if column.channel in ("time", "point")), None)
    if clock is None or len(rows) <= MIN_POINTS or np.any(rows[-1]) or not clock[-2] > 0:
        return columns, []
    shorter = [replace(column, values=column.values[:-1]) for column in columns]
    return shorter, [f"{where}: the last row is all zeros, an end mark; left out"]
