"""How the kernel is compiled, what differs between processors, and how scratch is laid out."""

# mypy: disable-error-code="untyped-decorator, no-any-return, call-overload, assignment"

from __future__ import annotations

from functools import partial
from typing import Any

import numba
import numpy as np

__all__ = [
    "CAPACITY", "END", "FIELDS", "INVERSE", "LANES", "LOSS", "MIDDLE", "ONE", "RATE", "ROW", "SOURCE",
    "START", "STRIDE", "UP", "add", "alone", "append", "at", "called", "each", "inlined", "merged", "nth",
    "rows_in", "some", "span", "team", "together", "wait",
]  # fmt: skip

LANES = 16
"""Columns that are solved side by side; the processor works on them at once."""

FIELDS = 9
# Scratch is one flat array, rows × fields × lanes: distances between entries are constants, so that loops over
# lanes become vector instructions. Unsigned, since signed indices are checked for counting from the end.
START, CAPACITY, SOURCE, LOSS, UP, MIDDLE, END, RATE, INVERSE = (np.uint64(LANES * k) for k in range(FIELDS))
ROW = np.uint64(FIELDS * LANES)
STRIDE = np.uint64(LANES)
ONE = np.uint64(1)

_part = partial(
    numba.njit,
    nogil=True,
    error_model="numpy",
    fastmath={"contract"},
    _nrt=False,
    # only the kept function is called from Python: doors of their own would double the time of compilation
    no_cpython_wrapper=True,
    no_cfunc_wrapper=True,
)

inlined = _part(forceinline=True)
"""Into the caller: passing the state from function to function costs more than most of the arithmetic."""

merged = _part(inline="always")
"""Into its only caller before anything is compiled, so that large parts are not compiled again with each caller."""

called = _part()
"""Compiled once and called, where a call is rare: inlining all would double the time of compilation."""

# Neither is kept on disk: the kept function is `advance`, whose key holds the text of all of them.


# A processor works in teams of threads: a team steps one column, each of its threads at another setting. Here there
# is one team of one thread; `history.gpu` has teams of 32, whose threads go the same way through all of this.


@inlined
def team() -> Any:
    """Return the number of this team and how many there are."""
    return 0, 1


@inlined
def rows_in(first: Any, stop: Any) -> Any:
    """Return the rows of a range as numbers that find places fast."""
    return range(np.uint64(first), np.uint64(stop))


@inlined
def each(first: int, stop: int) -> Any:
    """Return a range as numbers that are counted fast."""
    return range(first, stop)


@inlined
def alone() -> bool:
    """Return whether this thread does what its team must do once: what is common to the settings side by side."""
    return True


@inlined
def some(holds: bool) -> bool:
    """Return whether something holds in any of the settings side by side."""
    return holds


@inlined
def span(since: int, tick: int, facts: Any, s: Any) -> float:  # noqa: ARG001 - one signature for all processors
    """Return the time between two ticks. [s]"""
    return (tick - since) * facts.tick


@inlined
def together() -> None:
    """Wait until every thread of the team is here."""


@inlined
def wait() -> None:
    """Wait until every thread of every team is here."""


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
def nth(number: Any) -> Any:
    """Return a number as the processor best finds a place in an array by it: a signed one is tried for negative."""
    return np.uint64(number)


@inlined
def at(row: int, field: Any, lane: int) -> Any:
    """Return where an entry of the scratch lies."""
    return np.uint64(row) * ROW + field + np.uint64(lane)
