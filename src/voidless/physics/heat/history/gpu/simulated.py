"""What `places` does, for the simulator: arrays as they are."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

from voidless.physics.heat.history.gpu.memory import BESIDE
from voidless.physics.heat.history.state import State

__all__ = ["state_reader", "tail"]


def tail(step: int) -> Callable[[Any, int], Any]:
    """Return a function of an array of one row and a start: what follows there, every `step` entries."""
    return lambda array, start: array[start::step]


def state_reader(parts: tuple[tuple[str, int, int], ...], width: int) -> Callable[[Any, Any, int], State]:
    """Return a function that finds a state in memory: rows of bytes, starts and shapes of all parts, which setting."""

    def state_at(memory: Any, layout: Any, lane: int) -> State:
        numbers, found = iter(layout), []
        for name, ndim, which in parts:
            dtype, start = np.dtype(name), int(next(numbers))
            shape = [int(next(numbers)) for _ in range(ndim)]
            apart = width if which in BESIDE else 1
            begin, size = start * apart * dtype.itemsize, int(np.prod(shape)) * apart * dtype.itemsize
            row = memory[which][begin : begin + size].view(dtype)
            found.append(row[lane if apart > 1 else 0 :: apart].reshape(shape))
        return State(*found)

    return state_at
