"""How the kernel is compiled for a graphics processor, where a team is a warp and each thread another setting."""

# mypy: disable-error-code="untyped-decorator, no-any-return, call-overload, assignment, attr-defined"
# mypy: disable-error-code="call-arg, no-untyped-call"

from __future__ import annotations

from typing import Any

import numpy as np
from numba import config, cuda

from . import WIDTH

__all__ = [
    "CAPACITY", "END", "FIELDS", "INVERSE", "LANES", "LOSS", "MIDDLE", "MOST", "ONE", "RATE", "ROW", "SCRATCH",
    "SOURCE", "START", "STRIDE", "UP", "add", "alone", "append", "at", "called", "each", "inlined", "merged",
    "nth", "rows_in", "some", "span", "team", "together", "wait",
]  # fmt: skip

LANES = 1
MOST = 40
"""Most rows of a column."""

# Scratch is fields × rows × settings. What flows in, its rate and the end of the step share a field: a row's source
# is turned into its rate and that into its end, each before the next row is looked at.
FIELDS = 7
SCRATCH = FIELDS * MOST
"""Length of a team's scratch, of one setting."""
START, CAPACITY, SOURCE, LOSS, UP, MIDDLE, INVERSE = (np.int32(MOST * k) for k in range(FIELDS))
RATE = END = SOURCE
ROW = np.int32(1)
STRIDE = np.int32(1)
ONE = np.int32(1)

inlined = cuda.jit(device=True) if config.ENABLE_CUDASIM else cuda.jit(device=True, forceinline=True)
called = merged = inlined
"""All goes into the caller: a call would put hundreds of addresses on the stack of every thread."""


@inlined
def team() -> Any:
    """Return the number of this team and how many there are."""
    return cuda.threadIdx.x // WIDTH, cuda.blockDim.x // WIDTH


@inlined
def alone() -> bool:
    """Return whether this thread does what its team must do once: what is common to the settings side by side."""
    return cuda.threadIdx.x & (WIDTH - 1) == 0


@inlined
def some(holds: bool) -> bool:
    """Return whether something holds in any of the settings side by side."""
    if WIDTH == 1:
        return holds
    return cuda.any_sync(0xFFFFFFFF, holds)


@inlined
def span(since: int, tick: int, facts: Any, s: Any) -> float:  # noqa: ARG001 - one signature for all processors
    """Return the time between two ticks, which last longer in a slow setting than in a fast one. [s]"""
    return s.clock[tick] - s.clock[since]


@inlined
def together() -> None:
    """Wait until every thread of the team is here."""
    if WIDTH > 1:
        cuda.syncwarp(0xFFFFFFFF)


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
    rows_in = each = range

    @inlined
    def add(array: Any, index: Any, value: Any) -> None:
        """Add to an entry, safely where other teams add too."""
        cuda.atomic.add(array, index, value)

    @inlined
    def append(entries: Any, counts: Any, which: int, value: int) -> None:
        """Append to a list whose length is an entry of `counts`."""
        entries[cuda.atomic.add(counts, which, 1)] = value

else:
    from voidless.physics.heat.history.gpu.places import add_at, taken
    from voidless.physics.heat.history.gpu.walk import walk

    @inlined
    def rows_in(first: Any, stop: Any) -> Any:
        """Return the rows of a range as numbers that find places fast."""
        return walk(first, stop)

    @inlined
    def each(first: int, stop: int) -> Any:
        """Return a range as numbers that are counted fast."""
        return walk(first, stop)

    @inlined
    def add(array: Any, index: Any, value: Any) -> None:
        """Add to an entry, safely where other teams add too."""
        add_at(array, index, value)

    @inlined
    def append(entries: Any, counts: Any, which: int, value: int) -> None:
        """Append to a list whose length is an entry of `counts`, once for all settings."""
        if alone():
            entries[taken(counts, which)] = value
