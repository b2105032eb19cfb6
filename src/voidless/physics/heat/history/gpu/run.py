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

__all__ = ["Case", "Teams", "graphics_processor", "heat_histories"]

_PARTS = 20  # launches of a run: progress is told, and no launch lasts so long that a screen freezes
_REALS = Facts._fields.index("sub")  # facts before it are real numbers, the others whole ones
_WARPS = 10  # whose scratch fits beside them
_FEW = 16  # cases up to which as many warps as fit step columns


@dataclass(frozen=True, eq=False)
class Case:
    """One setting of a batch: beads that lie as those of the others do, polymer and surroundings."""

    beads: Beads
    polymer: Polymer
    around: Surroundings


@dataclass(frozen=True)
class Teams:
    """
    Who steps the columns of a case.

    Attributes
    ----------
    warps : bool
        Whether a warp steps a column, or a thread.
    count : int
        How many of them work on a case.
    registers : int
        Most registers of a thread: fewer let more threads wait at a time, more spare memory.
    """

    warps: bool
    count: int
    registers: int = 128


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
    teams: Teams | None = None,
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
    teams : Teams or None
        Who steps the columns; chosen by the number of cases where not given.

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
    from voidless.physics.heat.history.gpu.memory import KEPT, filled, layout_of, read

    first = cases[0]
    grid = cells_of(first.beads, method) if cells is None else cells
    grids = [grid, *(retimed(grid, first.beads, case.beads) for case in cases[1:])]
    facts = [facts_of(g, c.polymer, c.around, method) for g, c in zip(grids, cases, strict=True)]
    states = [state_of(g, c.polymer, c.around, method) for g, c in zip(grids, cases, strict=True)]
    lasts = np.array([state.tick_first.size - 2 for state in states], dtype=np.int32)
    longest = int(lasts.max())
    states = [s._replace(tick_first=_padded(s.tick_first, longest + 2)) for s in states]
    if teams is None:
        teams = Teams(True, _WARPS) if len(cases) <= _FEW else Teams(False, 64)
    layout = layout_of(states[0])
    memory = tuple(cuda.to_device(part) for part in filled(states, layout))
    scratch = _scratch(states[0], teams, len(cases))
    numbers = tuple(cuda.to_device(part) for part in (*_numbers(facts), lasts))
    threads = teams.count * kernel_of(teams.warps).TEAM
    run = compiled_batch(teams.warps, teams.count, teams.registers, layout.parts)
    bounds = np.linspace(0, longest, _PARTS + 1).astype(np.int32)
    for begin, stop in itertools.pairwise(bounds):
        run[len(cases), threads](begin, stop, False, *numbers, memory, layout.numbers, scratch)
        cuda.synchronize()
        progress(float(stop / bounds[-1]))
    run[len(cases), threads](bounds[0], bounds[0], True, *numbers, memory, layout.numbers, scratch)
    kept = memory[KEPT].copy_to_host()
    return [
        collect(g, read(state, layout, kept[k]), case.polymer, method.tick)
        for k, (g, state, case) in enumerate(zip(grids, states, cases, strict=True))
    ]


def _numbers(facts: list[Facts]) -> tuple[Any, Any]:
    """Return the real and the whole numbers of all jobs, a row each."""
    reals = [np.hstack(f[:_REALS]) for f in facts]
    return np.array(reals), np.array([f[_REALS:] for f in facts], dtype=np.int32)


def _scratch(state: State, teams: Teams, jobs: int) -> tuple[Any, ...]:
    """Return scratch in the memory of the processor."""
    from numba import cuda

    from voidless.physics.heat.history.gpu.kernel.compiled import MOST, SCRATCH

    # warps keep their scratch beside them
    rows, count = state.warm.shape[1], 0 if teams.warps else teams.count
    if rows > MOST:
        raise InputError(
            "heat history", f"{rows} rows in a column", f"at most {MOST} here", "Use fewer rows, or the CPU."
        )
    parts = (
        np.zeros((jobs, max(1, count * SCRATCH))),
        np.zeros((jobs, max(1, count * 5))),
        np.zeros((jobs, max(1, count * 2)), np.int32),
    )
    return tuple(cuda.to_device(part) for part in parts)


def _padded(part: Any, length: int) -> Any:
    """Return a list of that length; what is beyond its own end is not read."""
    return np.pad(part, (0, length - part.size), mode="edge")
