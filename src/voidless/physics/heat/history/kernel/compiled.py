"""How the kernel is compiled, what differs between processors, and how scratch is laid out."""

# mypy: disable-error-code="untyped-decorator, no-any-return, call-overload, assignment"

from __future__ import annotations

from typing import Any

import numba
import numpy as np

__all__ = [
    "CAPACITY", "END", "FIELDS", "INVERSE", "LANES", "LOSS", "MIDDLE", "ONE", "RATE", "ROW", "SOURCE", "START",
    "STRIDE", "UP", "add", "append", "at", "called", "inlined", "wait", "worker",
]  # fmt: skip

LANES = 8
"""Columns that are solved side by side; the processor works on them at once."""

FIELDS = 9
# Scratch is one flat array, rows × fields × lanes: distances between entries are constants, so that loops over
# lanes become vector instructions. Unsigned, since signed indices are checked for counting from the end.
START, CAPACITY, SOURCE, LOSS, UP, MIDDLE, END, RATE, INVERSE = (np.uint64(LANES * k) for k in range(FIELDS))
ROW = np.uint64(FIELDS * LANES)
STRIDE = np.uint64(LANES)
ONE = np.uint64(1)

inlined = numba.njit(nogil=True, error_model="numpy", fastmath={"contract"}, _nrt=False, forceinline=True)
"""Into the caller: passing the state from function to function costs more than most of the arithmetic."""

called = numba.njit(nogil=True, error_model="numpy", fastmath={"contract"}, _nrt=False)
"""Compiled once and called, where a call is rare: inlining all would double the time of compilation."""

# Neither is kept on disk: the kept function is `advance`, whose key holds the text of all of them.


@inlined
def worker() -> Any:
    """Return the number of this worker and how many there are."""
    return 0, 1


@inlined
def wait() -> None:
    """Wait until every worker is here."""


@inlined
def add(array: Any, index: Any, value: Any) -> None:
    """Add to an entry, safely where others add too."""
    array[index] += value


@inlined
def append(entries: Any, counts: Any, which: int, value: int) -> None:
    """Append to a list whose length is an entry of `counts`."""
    place = counts[which]
    counts[which] = place + 1
    entries[place] = value


@inlined
def at(row: int, field: Any, lane: int) -> Any:
    """Return where an entry of the scratch lies."""
    return np.uint64(row) * ROW + field + np.uint64(lane)
