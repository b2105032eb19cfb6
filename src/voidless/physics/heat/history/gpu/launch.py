"""`advance` compiled for a graphics processor, for a batch of jobs on one grid."""

# mypy: disable-error-code="untyped-decorator, no-any-return, no-untyped-call, attr-defined"

from __future__ import annotations

import importlib
from functools import cache
from types import ModuleType
from typing import Any

from numba import config, cuda, float64, int32

from voidless.physics.heat.history.state import Facts, Work

__all__ = ["compiled_batch", "kernel_of"]


def kernel_of(warps: bool) -> ModuleType:
    """Return the package whose files make the kernel."""
    return importlib.import_module(f"voidless.physics.heat.history.gpu.{'warp' if warps else 'lane'}")


@cache
def compiled_batch(warps: bool, teams: int, registers: int, parts: tuple[tuple[str, int, int], ...]) -> Any:
    """
    Return a kernel of a batch.

    Parameters
    ----------
    warps : bool
        Whether a warp steps a column, or a thread.
    teams : int
        Warps or threads of a job.
    registers : int
        Most registers of a thread.
    parts : tuple of (str, int, int)
        Parts of a state, of a `Layout`.

    Returns
    -------
    run : kernel
        Of first tick, tick after the last, whether to close instead, facts, memory, layout and scratch; a block a job.
    """
    package = kernel_of(warps)
    compiled = importlib.import_module(f"{package.__name__}.compiled")
    advance = importlib.import_module(f"{package.__name__}.advance").advance
    places = importlib.import_module(
        f"voidless.physics.heat.history.gpu.{'simulated' if config.ENABLE_CUDASIM else 'places'}"
    )
    wait, size = compiled.wait, package.TEAM
    # neighbouring threads read what lies side by side: rows where a warp shares a column, else one row of all
    step = 1 if warps else teams
    apart = compiled.SCRATCH if warps else 1
    # each thread turns its rows' part of these into the fields themselves; the last is free until the solve
    fields = (compiled.START, compiled.SOURCE, compiled.LOSS, compiled.MIDDLE)
    own, got, lost, moved = (int(field) * step for field in fields)
    state_at, rows, single = places.state_reader(parts), places.tail(step), places.tail(1)
    scratch_of = _near(compiled, teams) if warps else _far(compiled)

    @cuda.jit(**({} if config.ENABLE_CUDASIM else {"max_registers": registers}))
    def run(
        first: int,
        stop: int,
        close: bool,
        reals: Any,
        wholes: Any,
        lasts: Any,
        memory: Any,
        layout: Any,
        scratch: Any,
    ) -> None:
        job = cuda.blockIdx.x
        v, n = reals[job], wholes[job]
        facts = Facts(
            v[0], v[1], v[2], v[3], v[4], v[5], v[6], (v[7], v[8]), (v[9], v[10]), (v[11], v[12]),
            (v[13], v[14]), (v[15], v[16]), v[17], v[18],
            n[0], n[1], n[2], n[3], n[4], n[5], n[6], n[7], n[8], n[9], n[10],
        )  # fmt: skip
        s = state_at((memory[0][0], memory[1][job], memory[2][job]), layout)
        mine = cuda.threadIdx.x // size
        x, one, many = scratch_of(scratch, job)
        here = mine * apart
        w = Work(
            rows(x, here), single(one, mine * 5), single(one, mine * 5 + 1), single(one, mine * 5 + 2),
            single(one, mine * 5 + 3), single(one, mine * 5 + 4), single(many, mine * 2), single(many, mine * 2 + 1),
            rows(x, here + own), rows(x, here + got), rows(x, here + lost), rows(x, here + moved),
        )  # fmt: skip
        last = lasts[job]
        if close:  # everything steps to the same time at the end
            for entity in range(cuda.threadIdx.x, s.due.shape[0], cuda.blockDim.x):
                s.due[entity] = min(s.due[entity], last)
            for block in range(cuda.threadIdx.x, s.soon.shape[0], cuda.blockDim.x):
                s.soon[block] = 0
            wait()
            first, stop = last, last + 1
        else:
            stop = min(stop, last)
        advance(first, stop, facts, s, w)

    return run


def _near(compiled: ModuleType, teams: int) -> Any:
    """Return a function that finds scratch beside the threads, where each answer takes a tenth of the time."""
    whole, lanes, counts = teams * compiled.SCRATCH, teams * 5, teams * 2

    @compiled.inlined
    def scratch_of(scratch: Any, job: int) -> Any:  # noqa: ARG001 - one signature for both
        x = cuda.shared.array(whole, float64)
        one = cuda.shared.array(lanes, float64)
        many = cuda.shared.array(counts, int32)
        return x, one, many

    return scratch_of


def _far(compiled: ModuleType) -> Any:
    """Return a function that finds scratch in the processor's memory: too much for any nearer place."""

    @compiled.inlined
    def scratch_of(scratch: Any, job: int) -> Any:
        return scratch[0][job], scratch[1][job], scratch[2][job]

    return scratch_of
