"""What `places` does, for the simulator: arrays as they are."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

from voidless.physics.heat.history.state import State

__all__ = ["state_reader", "tail"]


def tail(step: int) -> Callable[[Any, int], Any]:
    """Return a function of an array of one row and a start: what follows there, every `step` entries."""
    return lambda array, start: array[start::step]


def state_reader(parts: tuple[tuple[str, int, int], ...]) -> Callable[[Any, Any], State]:
    """Return a function that finds a state in memory: rows of bytes, then starts and shapes of all parts."""

    def state_at(memory: Any, layout: Any) -> State:
        numbers, found = iter(layout), []
        for name, ndim, which in parts:
            dtype, start = np.dtype(name), int(next(numbers))
            shape = [int(next(numbers)) for _ in range(ndim)]
            size = int(np.prod(shape)) * dtype.itemsize
            row = memory[which][start * dtype.itemsize : start * dtype.itemsize + size]
            found.append(row.view(dtype).reshape(shape))
        return State(*found)

    return state_at
