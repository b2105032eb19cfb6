"""`advance` compiled for a graphics processor, for a batch of jobs on one grid."""

# mypy: disable-error-code="untyped-decorator, no-any-return, no-untyped-call, attr-defined"

from __future__ import annotations

import importlib
from functools import cache
from types import ModuleType
from typing import Any

from numba import config, cuda

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
    wait, size, most = compiled.wait, package.TEAM, compiled.MOST
    # neighbouring threads read what lies side by side: rows where a warp shares a column, else one row of all
    step = 1 if warps else teams
    apart = compiled.SCRATCH if warps else 1
    own, got = compiled.FIELDS * most * step, (compiled.FIELDS + 1) * most * step
    lost, moved = (compiled.FIELDS + 2) * most * step, (compiled.FIELDS + 3) * most * step
    state_at, rows, single = places.state_reader(parts), places.tail(step), places.tail(1)

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
            n[0], n[1], n[2], n[3], n[4], n[5], n[6], n[7], n[8], n[9],
        )  # fmt: skip
        s = state_at((memory[0][0], memory[1][job], memory[2][job]), layout)
        mine = cuda.threadIdx.x // size
        x, one, many = scratch[0][job], scratch[1][job], scratch[2][job]
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
            wait()
            first, stop = last, last + 1
        else:
            stop = min(stop, last)
        advance(first, stop, facts, s, w)

    return run
