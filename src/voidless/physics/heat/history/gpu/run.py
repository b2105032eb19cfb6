"""Heat histories of a batch of settings on one path, on a graphics processor."""

# mypy: disable-error-code="untyped-decorator, no-any-return, no-untyped-call, attr-defined"

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass
from typing import Any

import numpy as np

from voidless.errors import InputError
from voidless.physics.heat.history.gpu.gang import Case, Gang, gangs_of
from voidless.physics.heat.history.gpu.memory import (
    COMMON,
    GIVEN,
    KEPT,
    NAMES,
    OWN,
    Layout,
    filled,
    layout_of,
    read,
)  # fmt: skip
from voidless.physics.heat.history.grid import Cells, cells_of
from voidless.physics.heat.history.run import History, energy_left, healing_left, scale_of
from voidless.physics.heat.history.state import Facts, State
from voidless.physics.heat.history.types import Method

__all__ = ["Case", "Teams", "graphics_processor", "heat_histories"]

_PARTS = 20  # launches of a run: progress is told, and no launch lasts so long that a screen freezes
_OWN = ("stop", "bed", "bed_contact")  # numbers that differ between the settings of a gang


@dataclass(frozen=True)
class Teams:
    """
    Who steps the columns of a gang of settings.

    Attributes
    ----------
    count : int
        Warps, each of which steps a column.
    registers : int
        Most registers of a thread: fewer let more threads wait at a time, more spare memory.
    """

    count: int = 32
    registers: int = 64


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
    teams: Teams = Teams(),
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
        Who steps the columns.

    Returns
    -------
    histories : list of History
        As `heat_history` returns. Settings of the same times differ from it by rounding, since sums are taken in
        another order; of different times they share ticks, of which none lasts longer than the method allows.

    Raises
    ------
    InputError
        No graphics processor, beads that lie differently, or more rows in a column than a team takes.
    """
    graphics_processor()
    from voidless.physics.heat.history.gpu.kernel import WIDTH

    grid = cells_of(cases[0].beads, method) if cells is None else cells
    # what is prepared and collected for thousands of settings takes longer than the processor
    with ThreadPoolExecutor() as pool:
        groups = list(gangs_of(cases, grid, method, WIDTH, pool))
        found: list[Future[dict[int, History]]] = []
        for number, gangs in enumerate(groups):

            def told(share: float, done: int = number) -> None:
                progress((done + share) / len(groups))

            for gang, layout, left in _computed(gangs, told, teams, WIDTH):
                found.append(pool.submit(_collected, gang, layout, left, cases, WIDTH))
    histories = {k: history for part in found for k, history in part.result().items()}
    return [histories[k] for k in range(len(cases))]


def _collected(
    gang: Gang, layout: Layout, left: dict[int, Any], cases: Sequence[Case], width: int
) -> dict[int, History]:
    """Return the histories of the cases of a gang from what it has left."""
    state = gang.state._replace(**read(layout, width, left))
    through, beside = healing_left(gang.cells[0], state)
    scale = scale_of(gang.cells[0], cases[gang.members[0]].polymer)
    kept, steps = energy_left(gang.cells[0], state) * scale, int(state.steps.sum())
    return {
        member: History(
            cells=cells,
            through=np.ascontiguousarray(through[..., k]),
            beside=np.ascontiguousarray(beside[..., k]),
            energy=state.ledger[:, k] * scale,
            kept=float(kept[k]),
            steps=steps,
            until=float(cells.event_time[0] + gang.state.clock[-1, k]),
        )
        for k, (member, cells) in enumerate(zip(gang.members, gang.cells, strict=True))
    }


def _computed(
    gangs: list[Gang], progress: Callable[[float], None], teams: Teams, width: int
) -> Iterator[tuple[Gang, Layout, dict[int, Any]]]:
    """Yield gangs with what they leave in memory."""
    from numba import cuda

    from voidless.physics.heat.history.gpu.launch import compiled_batch, zeros

    counts = np.array([(len(gang.members), gang.state.tick_first.size - 2) for gang in gangs], dtype=np.int32)
    longest = int(counts[:, 1].max())
    states = [_padded(gang.state, longest) for gang in gangs]
    # what settings are given has an axis for them, which the layout knows of by itself
    one = states[0]._replace(**{name: getattr(states[0], name)[:, 0] for name in NAMES[GIVEN]})
    _check_rows(one)
    layout = layout_of(one, width)
    memory = (
        *(cuda.to_device(part) for part in filled(states, layout, width)),
        *(zeros((len(gangs), layout.bytes[which] * width)) for which in (OWN, KEPT)),
    )
    own = cuda.to_device(np.array([gang.lanes for gang in gangs]))
    numbers = (*_numbers(gangs[0].facts), own, cuda.to_device(counts), memory, layout.numbers)
    run = compiled_batch(teams.registers, layout.parts)[len(gangs), teams.count * width]
    bounds = np.linspace(0, longest, _PARTS + 1).astype(np.int32)
    for begin, stop in itertools.pairwise(bounds):
        run(begin, stop, False, *numbers)
        cuda.synchronize()
        progress(float(stop / bounds[-1]))
    run(bounds[0], bounds[0], True, *numbers)
    for k, gang in enumerate(gangs):
        yield gang, layout, {which: memory[which][k].copy_to_host() for which in (COMMON, KEPT)}


def _numbers(facts: Facts) -> tuple[Any, Any]:
    """Return the real and the whole numbers that the settings of a batch share."""
    shared = {name: value for name, value in facts._asdict().items() if name not in _OWN}
    names = list(shared)
    cut = names.index("sub")  # what comes before it is real
    reals = np.hstack([shared[name] for name in names[:cut]])
    return tuple(float(x) for x in reals), tuple(np.int32(shared[name]) for name in names[cut:])


def _check_rows(state: State) -> None:
    """Raise InputError if columns have more rows than a team has room for."""
    from voidless.physics.heat.history.gpu.kernel.compiled import MOST

    rows = state.warm.shape[1]
    if rows > MOST:
        raise InputError(
            "heat history", f"{rows} rows in a column", f"at most {MOST} here", "Use fewer rows, or the CPU."
        )


def _padded(state: State, longest: int) -> State:
    """Return a state with as many ticks as the longest; what is beyond its own end is not read."""
    more = longest + 2 - state.tick_first.size
    return state._replace(
        tick_first=np.pad(state.tick_first, (0, more), mode="edge"),
        clock=np.pad(state.clock, ((0, more), (0, 0)), mode="edge"),
    )
