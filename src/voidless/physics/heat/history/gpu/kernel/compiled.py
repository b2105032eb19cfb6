"""How the kernel is compiled for a graphics processor, where a team is a warp or a single thread."""

# mypy: disable-error-code="untyped-decorator, no-any-return, call-overload, assignment, attr-defined"
# mypy: disable-error-code="call-arg, no-untyped-call"

from __future__ import annotations

from typing import Any

import numpy as np
from numba import config, cuda

from . import TEAM

__all__ = [
    "CAPACITY",
    "END",
    "FIELDS",
    "INVERSE",
    "LANES",
    "LOSS",
    "MIDDLE",
    "MOST",
    "NEXT",
    "ONE",
    "RATE",
    "ROW",
    "SCRATCH",
    "SINGLE",
    "SOURCE",
    "START",
    "STRIDE",
    "UP",
    "A",
    "C",
    "F",
    "add",
    "alone",
    "append",
    "at",
    "called",
    "each",
    "inlined",
    "merged",
    "nth",
    "owns",
    "rows_in",
    "summed",
    "team",
    "thread",
    "together",
    "wait",
]  # fmt: skip

LANES = 1
SINGLE = TEAM == 1
MOST = 40
"""Most rows of a column."""

FIELDS = 15
SCRATCH = FIELDS * MOST
"""Length of a team's scratch."""

# Scratch is one flat array, fields × rows: lanes that follow each other read what lies side by side.
(
    START, CAPACITY, SOURCE, LOSS, UP, MIDDLE, END, RATE, INVERSE, A, C, F,
) = (np.int32(MOST * k) for k in range(12))  # fmt: skip
NEXT = np.int32(3 * MOST)  # from A, C, F to the fields that the next level of the solve goes to
ROW = np.int32(1)
STRIDE = np.int32(1)
ONE = np.int32(1)

inlined = cuda.jit(device=True) if config.ENABLE_CUDASIM else cuda.jit(device=True, forceinline=True)
called = merged = inlined
"""All goes into the caller: a call would put hundreds of addresses on the stack of every thread."""


@inlined
def lane() -> Any:
    """Return the number of this thread in its team."""
    return cuda.threadIdx.x & (TEAM - 1)


@inlined
def team() -> Any:
    """Return the number of this team and how many there are."""
    return cuda.threadIdx.x // TEAM, cuda.blockDim.x // TEAM


@inlined
def thread() -> Any:
    """Return the number of this thread and how many there are in all teams."""
    return cuda.threadIdx.x, cuda.blockDim.x


@inlined
def rows_in(first: Any, stop: Any) -> Any:
    """Return the rows of a range that are this thread's, always the same ones, as unsigned numbers."""
    start = np.int32(first)
    start = np.int32(start + ((lane() - start) & (TEAM - 1)))
    return range(start, np.int32(stop), np.int32(TEAM))


@inlined
def owns(row: Any) -> bool:
    """Return whether a row is this thread's."""
    return (np.int32(row) - lane()) & (TEAM - 1) == 0


@inlined
def each(first: int, stop: int) -> Any:
    """Return this thread's share of a range that its team goes through."""
    return range(np.int32(first + lane()), np.int32(stop), np.int32(TEAM))


@inlined
def alone() -> bool:
    """Return whether this thread does what its team must do once."""
    return lane() == 0


@inlined
def mates() -> Any:
    """Return the lanes of this thread's team, a bit each."""
    return (0xFFFFFFFF >> (32 - TEAM)) << (cuda.threadIdx.x & 31 & ~(TEAM - 1))


@inlined
def summed(value: float) -> float:
    """Return the sum of a value over the threads of a team."""
    if TEAM > 1:
        step = TEAM >> 1
        while step > 0:
            value += cuda.shfl_xor_sync(mates(), value, step)
            step >>= 1
    return value


@inlined
def together() -> None:
    """Wait until every thread of the team is here."""
    if TEAM > 1:
        cuda.syncwarp(mates())


@inlined
def wait() -> None:
    """Wait until every thread of every team is here."""
    cuda.syncthreads()


@inlined
def nth(number: Any) -> Any:
    """Return a number as the processor best finds a place in an array by it."""
    return np.int32(number)


@inlined
def at(row: Any, field: Any, lane: int) -> Any:  # noqa: ARG001 - one signature for all processors
    """Return where an entry of the scratch lies."""
    return np.int32(np.int32(row) + field)


if config.ENABLE_CUDASIM:

    @inlined
    def add(array: Any, index: Any, value: Any) -> None:
        """Add to an entry, safely where others add too."""
        cuda.atomic.add(array, index, value)

    @inlined
    def append(entries: Any, counts: Any, which: int, value: int) -> None:
        """Append to a list whose length is an entry of `counts`."""
        entries[cuda.atomic.add(counts, which, 1)] = value

else:
    from voidless.physics.heat.history.gpu.places import add_at, taken

    @inlined
    def add(array: Any, index: Any, value: Any) -> None:
        """Add to an entry, safely where others add too."""
        add_at(array, index, value)

    @inlined
    def append(entries: Any, counts: Any, which: int, value: int) -> None:
        """Append to a list whose length is an entry of `counts`."""
        entries[taken(counts, which)] = value
