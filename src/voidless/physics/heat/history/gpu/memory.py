"""The state of a gang of settings in a few pieces of memory: what lies where, written there and read back."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np

from voidless.errors import InputError
from voidless.physics.heat.history.state import State

__all__ = [
    "BESIDE",
    "COMMON",
    "GIVEN",
    "GRID",
    "KEPT",
    "NAMES",
    "OWN",
    "Layout",
    "filled",
    "layout_of",
    "read",
]

GRID, COMMON, GIVEN, OWN, KEPT = range(5)
"""Memory that all share, that a gang shares, what each setting is given, works in, and leaves as its result."""

BESIDE = (GIVEN, OWN, KEPT)
"""Memory in which entries of the settings of a gang lie side by side."""

NAMES = {
    COMMON: (
        "share", "rows", "gaps", "top_known", "slot", "last", "due", "steps", "seen", "born", "top", "base", "asleep",
        "wake", "slept", "stirred", "soon", "body_capacity", "body_air", "body_rows", "body_last", "rates",
        "tick_first", "counts", "awake", "listed",
    ),
    GIVEN: ("event_warm", "event_air", "clock"),
    OWN: ("before", "under", "body_old", "body_up", "body_inverse", "now", "fresh"),
    KEPT: ("warm", "pending", "block_healed", "body", "body_pending", "body_healed", "healed", "ledger"),
}  # fmt: skip
"""Parts that do not lie in the memory that all share."""

_MEMORY = {name: which for which, names in NAMES.items() for name in names}
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
        Where each part starts, in entries of one setting, and its shape.
    bytes : tuple of int
        Length of each memory, of one setting.
    """

    parts: tuple[tuple[str, int, int], ...]
    numbers: tuple[Any, ...]
    bytes: tuple[int, ...]


def _narrow(dtype: Any) -> Any:
    return np.dtype(np.int32) if dtype == np.int64 else dtype


def layout_of(state: State, width: int) -> Layout:
    """Return where the parts of states like this one lie, `width` of them side by side; whole numbers take 32 bits."""
    sizes, parts, numbers = [0] * 5, [], []
    for name, part in state._asdict().items():
        which = _MEMORY.get(name, GRID)
        dtype = _narrow(part.dtype)
        numbers += [np.int32(sizes[which] // dtype.itemsize), *map(np.int32, part.shape)]
        parts.append((dtype.name, part.ndim, which))
        sizes[which] += max(1, -(-part.size * dtype.itemsize // _APART)) * _APART
    most = max(size * (width if which in BESIDE else 1) for which, size in enumerate(sizes))
    if most >= 2**33:  # 32 bits count entries of four bytes and more
        raise InputError(
            "heat history", f"{width} settings of {most / 2**30:.1f} GiB", "less than 8 GiB", "Use the CPU."
        )
    return Layout(tuple(parts), tuple(numbers), tuple(max(size, _APART) for size in sizes))


def _places(layout: Layout) -> Iterator[tuple[str, Any, int, int, tuple[int, ...]]]:
    """Yield name, type, memory, first entry and shape of every part."""
    numbers = iter(layout.numbers)
    for name, (dtype, ndim, which) in zip(State._fields, layout.parts, strict=True):
        yield name, np.dtype(dtype), which, int(next(numbers)), tuple(int(next(numbers)) for _ in range(ndim))


def filled(states: list[State], layout: Layout, width: int) -> tuple[Any, Any, Any]:
    """Return what all share, what gangs share and what settings are given, as bytes; the rest begins as zeros."""
    memories = (
        np.zeros((1, layout.bytes[GRID]), np.uint8),
        np.zeros((len(states), layout.bytes[COMMON]), np.uint8),
        np.zeros((len(states), layout.bytes[GIVEN] * width), np.uint8),
    )
    for name, dtype, which, start, _ in _places(layout):
        if which > GIVEN:
            continue
        apart = dtype.itemsize * (width if which in BESIDE else 1)
        for row, state in zip(memories[which], states, strict=False):
            part = np.asarray(getattr(state, name))
            if part.dtype != dtype and part.size and np.abs(part).max() >= 2**31:
                raise InputError("heat history", f"{name} beyond 32 bits", "fewer cells", "Use the CPU.")
            row[start * apart :].view(dtype)[: part.size] = part.ravel()
    return memories


def read(layout: Layout, width: int, memories: dict[int, Any]) -> dict[str, Any]:
    """Return the parts that lie in pieces of a gang's memory, its settings on a last axis where they differ."""
    found = {}
    for name, dtype, which, start, shape in _places(layout):
        if which in memories:
            beside = (width,) if which in BESIDE else ()
            whole = memories[which][start * int(np.prod(beside)) * dtype.itemsize :].view(dtype)
            found[name] = whole[: int(np.prod(shape + beside))].reshape(shape + beside)
    return found
