"""`advance` compiled for a graphics processor: a block of threads computes the settings that go side by side."""

# mypy: disable-error-code="untyped-decorator, no-any-return, no-untyped-call, attr-defined"

from __future__ import annotations

import importlib
from functools import cache
from typing import Any

import numpy as np
from numba import config, cuda, float64, int32

from voidless.physics.heat.history.state import Facts, Work

__all__ = ["compiled_batch", "zeros"]


@cache
def compiled_batch(registers: int, parts: tuple[tuple[str, int, int], ...]) -> Any:
    """
    Return a kernel of a batch.

    Parameters
    ----------
    registers : int
        Most registers of a thread.
    parts : tuple of (str, int, int)
        Parts of a state, of a `Layout`.

    Returns
    -------
    run : kernel
        Of first tick, tick after the last, whether to close instead, numbers that are common and that are not, ticks,
        memory and layout.
    """
    from voidless.physics.heat.history.gpu.kernel import WIDTH, compiled

    advance = importlib.import_module("voidless.physics.heat.history.gpu.kernel.advance").advance
    places = importlib.import_module(
        f"voidless.physics.heat.history.gpu.{'simulated' if config.ENABLE_CUDASIM else 'places'}"
    )
    wait, team, scratch_length = compiled.wait, compiled.team, int(compiled.SCRATCH)
    # a column is gathered in the fields that it is solved in; the last is free until then
    own, got, lost, moved = (
        int(field) for field in (compiled.START, compiled.SOURCE, compiled.LOSS, compiled.MIDDLE)
    )
    state_at, single = places.state_reader(parts, WIDTH), places.tail(1)

    @cuda.jit(**({} if config.ENABLE_CUDASIM else {"max_registers": registers}))
    def run(
        first: int,
        stop: int,
        close: bool,
        v: Any,
        n: Any,
        lanes: Any,
        counts: Any,
        memory: Any,
        layout: Any,
    ) -> None:
        job, lane = cuda.blockIdx.x, cuda.threadIdx.x % WIDTH
        if lane >= counts[job, 0]:  # nobody waits for a thread that has ended
            return
        facts = Facts(
            v[0], v[1], lanes[job, 0, lane], v[2], lanes[job, 1, lane], lanes[job, 2, lane], v[3],
            (v[4], v[5]), (v[6], v[7]), (v[8], v[9]), (v[10], v[11]), (v[12], v[13]), v[14], v[15], v[16],
            n[0], n[1], n[2], n[3], n[4], n[5], n[6], n[7], n[8], n[9], n[10],
        )  # fmt: skip
        s = state_at(
            (memory[0][0], memory[1][job], memory[2][job], memory[3][job], memory[4][job]), layout, lane
        )
        x, one, many = (
            cuda.local.array(scratch_length, float64),
            cuda.local.array(5, float64),
            cuda.local.array(2, int32),
        )
        for place in range(scratch_length):
            x[place] = 0.0
        w = Work(
            single(x, 0), single(one, 0), single(one, 1), single(one, 2), single(one, 3), single(one, 4),
            single(many, 0), single(many, 1),
            single(x, own), single(x, got), single(x, lost), single(x, moved),
        )  # fmt: skip
        last = counts[job, 1]
        if close:  # everything steps to the same time at the end
            mine, teams = team()
            for entity in range(mine, s.due.shape[0], teams):
                s.due[entity] = min(s.due[entity], last)
            for block in range(mine, s.soon.shape[0], teams):
                s.soon[block] = 0
            wait()
            first, stop = last, last + 1
        else:
            stop = min(stop, last)
        advance(first, stop, facts, s, w)

    return run


@cuda.jit
def _clear(words: Any) -> None:
    for place in range(cuda.grid(1), words.size, cuda.gridsize(1)):
        words[place] = 0.0


def zeros(shape: tuple[int, int]) -> Any:
    """Return bytes of the processor's memory that are zero, a multiple of eight in a row."""
    if config.ENABLE_CUDASIM:
        return cuda.to_device(np.zeros(shape, np.uint8))
    made = cuda.device_array(shape, np.uint8)
    _clear[1056, 256](made.reshape(shape[0] * shape[1]).view(np.float64))
    return made
