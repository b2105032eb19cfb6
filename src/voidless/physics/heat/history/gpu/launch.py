"""`advance` compiled for a graphics processor, for a batch of jobs on one grid."""

# mypy: disable-error-code="untyped-decorator, no-any-return, no-untyped-call"

from __future__ import annotations

import importlib
import sys
from functools import cache
from importlib import resources
from types import ModuleType
from typing import Any

from numba import config, cuda

from voidless.physics.heat.history.state import Facts, State, Work

__all__ = ["MINE", "compiled_batch"]

_NAME = "voidless.physics.heat.history.gpu_kernel"

MINE = (
    "warm", "pending", "share", "rows", "gaps", "top_known", "slot", "last", "due", "steps", "seen", "born", "top",
    "block_healed", "base", "asleep", "wake", "slept", "before", "body", "body_old", "body_pending", "body_capacity",
    "body_air", "body_up", "body_inverse", "body_healed", "body_rows", "body_last", "healed", "row_up", "rates",
    "event_warm", "event_air", "tick_first", "ledger", "now", "counts", "awake", "listed", "fresh",
)  # fmt: skip
"""Parts of a state that every job has for itself; the others are the grid, the same for all."""


def _kernel() -> ModuleType:
    """Return `history.kernel` loaded once more, with the files of `gpu.kernel` in place of its own."""
    if _NAME not in sys.modules:
        package = ModuleType(_NAME)
        folders = ("voidless.physics.heat.history.gpu.kernel", "voidless.physics.heat.history.kernel")
        package.__path__ = [str(resources.files(name)) for name in folders]
        sys.modules[_NAME] = package
    return importlib.import_module(_NAME + ".advance")


@cache
def compiled_batch(registers: int) -> Any:
    """Return a kernel of a batch: first tick, tick after the last, whether to end there, facts, states, scratch."""
    kernel = _kernel()
    advance = kernel.advance
    compiled = importlib.import_module(_NAME + ".compiled")
    wait, own = compiled.wait, compiled.FIELDS * compiled.MOST
    got, lost, moved = own + compiled.MOST, own + 2 * compiled.MOST, own + 3 * compiled.MOST

    @cuda.jit(**({} if config.ENABLE_CUDASIM else {"max_registers": registers}))
    def run(
        first: int,
        stop: int,
        end: bool,
        reals: Any,
        wholes: Any,
        lasts: Any,
        b: Any,
        x: Any,
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
        mine = cuda.threadIdx.x // (cuda.blockDim.x // x.shape[1])
        w = Work(
            x[job, mine], one[job, mine, 0], one[job, mine, 1], one[job, mine, 2], one[job, mine, 3],
            one[job, mine, 4], many[job, mine, 0], many[job, mine, 1], x[job, mine, own:got],
            x[job, mine, got:lost], x[job, mine, lost:moved], x[job, mine, moved:],
        )  # fmt: skip
        last = lasts[job]
        advance(first, min(stop, last), facts, s, w)
        if end:
            wait()
            for entity in range(cuda.threadIdx.x, s.due.shape[0], cuda.blockDim.x):
                s.due[entity] = min(s.due[entity], last)
            wait()
            advance(last, last + 1, facts, s, w)

    return run
