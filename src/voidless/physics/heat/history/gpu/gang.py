"""Settings of one path that go side by side: they share the order of beads and the number of every tick."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from voidless.physics.heat.history.grid import Beads, Cells, retimed
from voidless.physics.heat.history.state import Facts, State, facts_of, state_of
from voidless.physics.heat.history.types import Method, Polymer, Surroundings

__all__ = ["Case", "Gang", "gangs_of"]

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Case:
    """One setting of a batch: beads that lie as those of the others do, polymer and surroundings."""

    beads: Beads
    polymer: Polymer
    around: Surroundings


@dataclass(frozen=True, eq=False)
class Gang:
    """
    Settings side by side.

    Attributes
    ----------
    members : tuple of int
        Which cases they are; there may be fewer than lie side by side.
    cells : tuple of Cells
        Cells of each, laid in its own time.
    facts : Facts
        Numbers that they share.
    lanes : (3, width) float array
        Numbers that they do not: where healing begins, bed, contact with the bed.
    state : State
        State before the first tick; what settings are given has one axis more, a setting each.
    """

    members: tuple[int, ...]
    cells: tuple[Cells, ...]
    facts: Facts
    lanes: Floats
    state: State


def _shared(cells: Sequence[Cells]) -> Cells:
    """Return cells laid at times of which none passes faster than in the slowest setting at that moment."""
    steps = [np.diff(one.event_time) for one in cells]
    most = np.max(steps, axis=0)
    slowest = int(np.argmax([one.event_time[-1] - one.event_time[0] for one in cells]))
    if np.allclose(
        steps[slowest], most, rtol=1e-9, atol=1e-12
    ):  # its own times as they are, without rounding
        time = cells[slowest].event_time - cells[slowest].event_time[0]
    else:
        time = np.concatenate([[0.0], np.cumsum(np.maximum(most, 0.0))])
    return replace(cells[slowest], event_time=time)


def _clock(shared: Cells, own: Cells, ticks: int, tick: float) -> Floats:
    """Return the time of every shared tick in one setting; after the last bead it passes as it did on average. [s]"""
    time, there = tick * np.arange(ticks), own.event_time - own.event_time[0]
    end = shared.event_time[-1]
    ratio = there[-1] / end if end > 0.0 else 1.0
    laid, after = np.interp(time, shared.event_time, there), there[-1] + ratio * (time - end)
    return np.asarray(np.where(time <= end, laid, after))


def _gang(members: tuple[int, ...], cases: Sequence[Case], grid: Cells, method: Method, width: int) -> Gang:
    """Return a gang of some cases, the last repeated until there are enough."""
    mine = [cases[k] for k in members]
    cells = [retimed(grid, cases[0].beads, case.beads) for case in mine]
    shared = _shared(cells)
    whole = [one.event_time[-1] - one.event_time[0] for one in cells]
    end = shared.event_time[-1]
    # long enough for the fastest, whose ticks are the shortest
    longest = replace(method, after=method.after * (end / min(whole) if min(whole) > 0.0 else 1.0))
    polymer, first = mine[0].polymer, mine[0].around
    facts = facts_of(shared, polymer, first, longest)
    state = state_of(shared, polymer, first, longest)
    ticks = state.tick_first.size - 1
    again = [*range(len(mine)), *[len(mine) - 1] * (width - len(mine))]
    lanes = [
        (
            facts.stop + first.air - case.around.air,
            case.around.bed - case.around.air,
            case.around.bed_coefficient / polymer.heat_per_volume,
        )
        for case in mine
    ]
    state = state._replace(
        event_warm=np.stack([mine[k].beads.warm - mine[k].around.air for k in again], axis=1)[
            grid.event_bead
        ],
        event_air=np.stack([mine[k].beads.air / polymer.heat_per_volume for k in again], axis=1)[
            grid.event_bead
        ],
        clock=np.stack([_clock(shared, cells[k], ticks, method.tick) for k in again], axis=1),
    )
    return Gang(members, tuple(cells), facts, np.array([lanes[k] for k in again]).T.copy(), state)


def gangs_of(
    cases: Sequence[Case], grid: Cells, method: Method, width: int, pool: Executor
) -> Iterator[list[Gang]]:
    """Yield gangs of cases that take about as long, for each polymer."""
    time = [float(case.beads.time_end[-1] - case.beads.time_start[0]) for case in cases]
    polymers: list[Any] = []
    for case in cases:
        if case.polymer not in polymers:
            polymers.append(case.polymer)
    for polymer in polymers:
        order = sorted((k for k, case in enumerate(cases) if case.polymer == polymer), key=time.__getitem__)
        parts = [tuple(order[k : k + width]) for k in range(0, len(order), width)]
        yield list(pool.map(lambda members: _gang(members, cases, grid, method, width), parts))
