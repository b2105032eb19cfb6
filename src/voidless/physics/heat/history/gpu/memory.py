"""A job's state as one piece of memory: what lies where, written there and read back."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from voidless.errors import InputError
from voidless.physics.heat.history.state import State

__all__ = ["GRID", "KEPT", "MINE", "Layout", "filled", "layout_of", "read"]

GRID, MINE, KEPT = 0, 1, 2
"""Memory that all jobs share, that a job works in, and whose end a job's results are read from."""

_RESULTS = (
    "healed", "asleep", "base", "block_healed", "body_healed", "ledger", "steps", "warm", "pending", "share", "rows",
    "body", "body_capacity", "body_pending",
)  # fmt: skip
_WORKS = (
    "gaps", "top_known", "slot", "last", "due", "seen", "born", "top", "wake", "slept", "stirred", "soon", "before",
    "body_old", "body_air", "body_up", "body_inverse", "body_rows", "body_last", "row_up", "rates", "event_warm",
    "event_air", "tick_first", "now", "counts", "awake", "listed", "fresh",
)  # fmt: skip
_APART = 256  # bytes: parts begin where the processor reads a line


@dataclass(frozen=True)
class Layout:
    """
    What lies where.

    Attributes
    ----------
    parts : tuple of (str, int, int)
        Type of the entries, number of dimensions and which memory, for each part of a state.
    numbers : tuple of int32
        Where each part starts, in entries, and its shape.
    bytes : (int, int, int)
        Length of each memory.
    """

    parts: tuple[tuple[str, int, int], ...]
    numbers: tuple[Any, ...]
    bytes: tuple[int, int, int]


def _narrow(dtype: Any) -> Any:
    return np.dtype(np.int32) if dtype == np.int64 else dtype


def layout_of(state: State) -> Layout:
    """Return where the parts of states like this one lie; whole numbers take 32 bits."""
    sizes, parts, numbers = [0, 0, 0], [], []
    for name, part in state._asdict().items():
        which = KEPT if name in _RESULTS else MINE if name in _WORKS else GRID
        dtype = _narrow(part.dtype)
        numbers += [np.int32(sizes[which] // dtype.itemsize), *map(np.int32, part.shape)]
        parts.append((dtype.name, part.ndim, which))
        sizes[which] += -(-part.size * dtype.itemsize // _APART) * _APART
    if max(sizes) >= 2**31:
        raise InputError(
            "heat history", f"a job of {max(sizes) / 2**30:.1f} GiB", "less than 2 GiB", "Use the CPU."
        )
    return Layout(tuple(parts), tuple(numbers), (sizes[0], sizes[1], sizes[2]))


def _places(layout: Layout) -> Any:
    """Yield name, type, memory, first entry and shape of every part."""
    numbers = iter(layout.numbers)
    for name, (dtype, ndim, which) in zip(State._fields, layout.parts, strict=True):
        yield name, np.dtype(dtype), which, int(next(numbers)), tuple(int(next(numbers)) for _ in range(ndim))


def filled(states: list[State], layout: Layout) -> list[Any]:
    """Return the three memories of a batch as bytes; of the shared one a single row."""
    memories = [
        np.zeros((1 if which == GRID else len(states), max(size, _APART)), dtype=np.uint8)
        for which, size in enumerate(layout.bytes)
    ]
    for name, dtype, which, start, shape in _places(layout):
        for row, state in zip(memories[which], states, strict=False):
            part = np.asarray(getattr(state, name))
            if part.dtype != dtype and part.size and np.abs(part).max() >= 2**31:
                raise InputError("heat history", f"{name} beyond 32 bits", "fewer cells", "Use the CPU.")
            whole = row[start * dtype.itemsize :][: int(np.prod(shape)) * dtype.itemsize].view(dtype)
            whole[: part.size] = part.ravel()
    return memories


def read(state: State, layout: Layout, kept: Any) -> State:
    """Return a state with the results that a job has left."""
    found = {}
    for name, dtype, which, start, shape in _places(layout):
        if which == KEPT:
            size = int(np.prod(shape)) * dtype.itemsize
            part = kept[start * dtype.itemsize :][:size].view(dtype).reshape(shape)
            found[name] = part.astype(getattr(state, name).dtype)
    return state._replace(**found)
