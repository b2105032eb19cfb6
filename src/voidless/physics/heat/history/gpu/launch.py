"""`advance` compiled for a graphics processor, for a batch of jobs on one grid."""

# mypy: disable-error-code="untyped-decorator, no-any-return, no-untyped-call, attr-defined"

from __future__ import annotations

import importlib
from functools import cache
from types import ModuleType
from typing import Any

from numba import config, cuda

from voidless.physics.heat.history.state import Facts, State, Work

__all__ = ["MINE", "compiled_batch", "kernel_of"]

MINE = (
    "warm", "pending", "share", "rows", "gaps", "top_known", "slot", "last", "due", "steps", "seen", "born", "top",
    "block_healed", "base", "asleep", "wake", "slept", "before", "body", "body_old", "body_pending", "body_capacity",
    "body_air", "body_up", "body_inverse", "body_healed", "body_rows", "body_last", "healed", "row_up", "rates",
    "event_warm", "event_air", "tick_first", "ledger", "now", "counts", "awake", "listed", "fresh",
)  # fmt: skip
"""Parts of a state that every job has for itself; the others are the grid, the same for all."""


def kernel_of(warps: bool) -> ModuleType:
    """Return the package whose files make the kernel."""
    return importlib.import_module(f"voidless.physics.heat.history.gpu.{'warp' if warps else 'lane'}")


@cache
def compiled_batch(warps: bool, registers: int) -> Any:
    """
    Return a kernel of a batch.

    Parameters
    ----------
    warps : bool
        Whether a warp steps a column, for least time, or a thread, for most columns at once.
    registers : int
        Most registers of a thread.

    Returns
    -------
    run : kernel
        Of first tick, tick after the last, whether to close instead, facts, states and scratch; a block a job.
    """
    package = kernel_of(warps)
    compiled = importlib.import_module(f"{package.__name__}.compiled")
    advance = importlib.import_module(f"{package.__name__}.advance").advance
    wait, team = compiled.wait, package.TEAM
    own = compiled.FIELDS * compiled.MOST
    got, lost, moved = own + compiled.MOST, own + 2 * compiled.MOST, own + 3 * compiled.MOST

    @cuda.jit(**({} if config.ENABLE_CUDASIM else {"max_registers": registers}))
    def run(
        first: int,
        stop: int,
        close: bool,
        reals: Any,
        wholes: Any,
        lasts: Any,
        b: Any,
        xs: Any,
        one: Any,
        many: Any,
    ) -> None:
        job = cuda.blockIdx.x
        v, n = reals[job], wholes[job]
        facts = Facts(
            v[0], v[1], v[2], v[3], v[4], v[5], v[6], (v[7], v[8]), (v[9], v[10]), (v[11], v[12]),
            n[0], n[1], n[2], n[3], n[4], n[5], n[6], n[7], n[8],
        )  # fmt: skip
        s = State(
            b.warm[job], b.pending[job], b.share[job], b.rows[job], b.gaps[job], b.top_known[job], b.slot[job],
            b.last[job], b.due[job], b.steps[job], b.f_block, b.neighbour, b.seen[job], b.born[job], b.top[job],
            b.first, b.cell_start, b.sides, b.member, b.block_first, b.block_cells, b.block_beside, b.block_border,
            b.block_air, b.block_healed[job], b.base[job], b.asleep[job], b.wake[job], b.slept[job], b.before[job],
            b.body[job], b.body_old[job], b.body_pending[job], b.body_capacity[job], b.body_air[job], b.body_up[job],
            b.body_inverse[job], b.body_healed[job], b.body_rows[job], b.body_last[job], b.body_thick,
            b.healed[job], b.welds, b.thick, b.layer_thick, b.row_thick, b.row_up[job], b.rates[job],
            b.event_column, b.event_layer, b.event_warm[job], b.event_air[job], b.tick_first[job], b.ledger[job],
            b.now[job], b.counts[job], b.awake[job], b.listed[job], b.fresh[job],
        )  # fmt: skip
        mine = cuda.threadIdx.x // team
        # neighbouring threads read what lies side by side: rows where a warp shares a column, else one row of all
        if warps:  # noqa: SIM108 - a compiler of one type a name takes no other form
            x = xs[job, mine]
        else:
            x = xs[job, :, mine]
        w = Work(
            x, one[job, mine, 0], one[job, mine, 1], one[job, mine, 2], one[job, mine, 3], one[job, mine, 4],
            many[job, mine, 0], many[job, mine, 1], x[own:got], x[got:lost], x[lost:moved], x[moved:],
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
