"""Heat histories of a batch of settings on one path, on a graphics processor."""

# mypy: disable-error-code="untyped-decorator, no-any-return, no-untyped-call, attr-defined"

from __future__ import annotations

import itertools
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from voidless.errors import InputError
from voidless.physics.heat.history.grid import Beads, Cells, cells_of, retimed
from voidless.physics.heat.history.run import History, collect
from voidless.physics.heat.history.state import Facts, State, facts_of, state_of
from voidless.physics.heat.history.types import Method, Polymer, Surroundings

__all__ = ["Case", "graphics_processor", "heat_histories"]

_PARTS = 20  # launches of a run: progress is told, and no launch lasts so long that a screen freezes
_FEW = 16  # cases up to which a warp steps a column; more fill the processor with a thread each
_TEAMS = {True: 16, False: 64}  # a case, by whether they are warps
_REGISTERS = 128
_RESULTS = (
    "healed", "asleep", "base", "block_healed", "body_healed", "ledger", "steps", "warm", "pending", "share", "rows",
    "body", "body_capacity", "body_pending",
)  # fmt: skip


@dataclass(frozen=True, eq=False)
class Case:
    """One setting of a batch: beads that lie as those of the others do, polymer and surroundings."""

    beads: Beads
    polymer: Polymer
    around: Surroundings


def graphics_processor() -> str:
    """
    Return the name of the graphics processor that histories run on.

    Raises
    ------
    InputError
        There is none, or its driver or compiler is missing.
    """
    import importlib.util

    from numba import config, cuda

    if config.ENABLE_CUDASIM:
        return "simulated"
    if importlib.util.find_spec("numba_cuda") is None:
        raise _none("the compiler numba-cuda is not installed")
    try:
        found = cuda.get_current_device().name
    except Exception as error:
        raise _none(type(error).__name__) from error
    return found.decode() if isinstance(found, bytes) else str(found)


def _none(why: str) -> InputError:
    return InputError(
        "heat history",
        f"no graphics processor ({why})",
        "one that CUDA knows, its driver and numba-cuda",
        "Install voidless[gpu], or run on the CPU.",
    )


def heat_histories(
    cases: Sequence[Case],
    method: Method,
    cells: Cells | None = None,
    progress: Callable[[float], None] = lambda _: None,
) -> list[History]:
    """
    Return the healing of every weld of a path, for each of several settings.

    Parameters
    ----------
    cases : sequence of Case
        Settings. Their beads lie in the same places and are laid in the same order.
    method : Method
        How finely to compute; the same for all.
    cells : Cells or None
        Grid of the first case where it is known already.
    progress : function
        Called with the share of time that is done.

    Returns
    -------
    histories : list of History
        As `heat_history` returns, but for rounding: the order in which sums are taken differs.

    Raises
    ------
    InputError
        No graphics processor, beads that lie differently, or more rows in a column than a team takes.
    """
    graphics_processor()
    from numba import cuda

    from voidless.physics.heat.history.gpu.launch import compiled_batch, kernel_of

    first = cases[0]
    grid = cells_of(first.beads, method) if cells is None else cells
    grids = [grid, *(retimed(grid, first.beads, case.beads) for case in cases[1:])]
    facts = [facts_of(g, c.polymer, c.around, method) for g, c in zip(grids, cases, strict=True)]
    states = [state_of(g, c.polymer, c.around, method) for g, c in zip(grids, cases, strict=True)]
    lasts = np.array([state.tick_first.size - 2 for state in states])
    warps = len(cases) <= _FEW
    batch, scratch = _on_device(states, warps)
    numbers = tuple(cuda.to_device(part) for part in (*_numbers(facts), lasts))
    threads = _TEAMS[warps] * kernel_of(warps).TEAM
    run = compiled_batch(warps, _REGISTERS)
    bounds = np.linspace(0, int(lasts.max()), _PARTS + 1).astype(int).tolist()
    for begin, stop in itertools.pairwise(bounds):
        run[len(cases), threads](begin, stop, False, *numbers, batch, *scratch)
        cuda.synchronize()
        progress(stop / bounds[-1])
    run[len(cases), threads](0, 0, True, *numbers, batch, *scratch)
    found = {name: getattr(batch, name).copy_to_host() for name in _RESULTS}
    return [
        collect(g, state._replace(**{n: v[k] for n, v in found.items()}), case.polymer, method.tick)
        for k, (g, state, case) in enumerate(zip(grids, states, cases, strict=True))
    ]


def _numbers(facts: list[Facts]) -> tuple[Any, Any]:
    """Return the real and the whole numbers of all jobs, a row each."""
    reals = [[*f[:7], *f.across, *f.block_across, *f.crossing] for f in facts]
    return np.array(reals), np.array([f[10:] for f in facts], dtype=np.int64)


def _on_device(states: list[State], warps: bool) -> tuple[State, tuple[Any, ...]]:
    """Return states and scratch in the memory of the processor."""
    from numba import cuda

    from voidless.physics.heat.history.gpu.kernel.compiled import MOST, SCRATCH
    from voidless.physics.heat.history.gpu.launch import MINE

    rows = states[0].warm.shape[1]
    if rows > MOST:
        raise InputError(
            "heat history", f"{rows} rows in a column", f"at most {MOST} here", "Use fewer rows, or the CPU."
        )
    parts = {}
    for name in State._fields:
        if name == "tick_first":
            whole = _padded([state.tick_first for state in states])
        elif name in MINE:
            whole = np.stack([getattr(state, name) for state in states])
        else:
            whole = getattr(states[0], name)
        parts[name] = cuda.to_device(np.ascontiguousarray(whole))
    jobs, teams = len(states), _TEAMS[warps]
    scratch = (
        np.zeros((jobs, teams, SCRATCH) if warps else (jobs, SCRATCH, teams)),
        np.zeros((jobs, teams, 5, 1)),
        np.zeros((jobs, teams, 2, 1), dtype=np.int64),
    )
    return State(**parts), tuple(cuda.to_device(part) for part in scratch)


def _padded(parts: list[Any]) -> Any:
    """Return lists of different length as one table; what is beyond the end of one is not read."""
    longest = max(part.size for part in parts)
    return np.stack([np.pad(part, (0, longest - part.size), mode="edge") for part in parts])
