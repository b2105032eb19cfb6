"""Heat history of beads on the CPU."""

from __future__ import annotations

import itertools
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from voidless.physics.heat.history.grid import Beads, Cells, cells_of
from voidless.physics.heat.history.state import State, facts_of, state_of, work_of
from voidless.physics.heat.history.types import Method, Polymer, Surroundings

__all__ = ["History", "collect", "energy_left", "healing_left", "heat_history", "scale_of"]

Floats = NDArray[np.float64]

_PARTS = 50  # in which progress is told


@dataclass(frozen=True, eq=False)
class History:
    """
    What a heat history leaves, per event of `cells`: each cell in the order in which cells were laid.

    Attributes
    ----------
    cells : Cells
        The grid.
    through : (n,) float array
        Healing integral of the weld to the layer below; NaN where nothing lies below. [1]
    beside : (n, 4) float array
        Healing integrals of the welds to beads of the same layer laid earlier; NaN where there is none. [1]
    energy : (3,) float array
        Laid, lost to the air, lost to the bed; against the air. [J]
    kept : float
        Energy in the body at the end, against the air. [J]
    steps : int
        Steps of columns, blocks counted as one.
    until : float
        Time to which everything is computed, on the clock of the beads. [s]
    """

    cells: Cells
    through: Floats
    beside: Floats
    energy: Floats
    kept: float
    steps: int
    until: float

    @property
    def energy_residual(self) -> float:
        """What is missing of the energy laid, over it. [1]"""
        laid, air, bed = self.energy
        return float((laid - air - bed - self.kept) / laid)


def heat_history(
    beads: Beads,
    polymer: Polymer,
    around: Surroundings,
    method: Method,
    cells: Cells | None = None,
    progress: Callable[[float], None] = lambda _: None,
) -> History:
    """
    Return the healing of every weld of a path.

    Parameters
    ----------
    beads : Beads
        What is laid, where and when.
    polymer : Polymer
        Thermal data and healing law.
    around : Surroundings
        Air and bed.
    method : Method
        How finely to compute.
    cells : Cells or None
        The grid where it is known already, from `cells_of`.
    progress : function
        Called with the share of time that is done.

    Returns
    -------
    history : History
        Integrals per cell and the book of energy.

    Notes
    -----
    docs/methods/heat.md. Left out: heating by the nozzle's face, radiation, changing heat capacity, heat of
    crystallisation, partial contact of beads.
    """
    from voidless.physics.heat.history.kernel.compiled import FIELDS, LANES
    from voidless.physics.heat.history.kernel.cpu import compiled_advance

    grid = cells_of(beads, method) if cells is None else cells
    facts = facts_of(grid, polymer, around, method)
    state = state_of(grid, polymer, around, method)
    run, work = compiled_advance(), work_of(state, LANES, FIELDS)
    last = state.tick_first.size - 2
    for first, stop in itertools.pairwise(np.linspace(0, last, _PARTS + 1).astype(int).tolist()):
        run(first, stop, facts, state, work)
        progress(stop / max(last, 1))
    state.due[:] = np.minimum(state.due, last)  # everything steps to the same time at the end
    state.soon[:] = 0
    run(last, last + 1, facts, state, work)
    return collect(grid, state, polymer, method.tick)


def collect(cells: Cells, state: State, polymer: Polymer, tick: float) -> History:
    """Return the history that a finished state holds."""
    through, beside = healing_left(cells, state)
    scale = scale_of(cells, polymer)
    return History(
        cells=cells,
        through=through,
        beside=beside,
        energy=state.ledger * scale,
        kept=float(energy_left(cells, state)) * scale,
        steps=int(state.steps.sum()),
        until=float(cells.event_time[0]) + (state.tick_first.size - 2) * tick,
    )


def scale_of(cells: Cells, polymer: Polymer) -> float:
    """Return the energy per temperature and thickness of a cell. [J/(K m)]"""
    return polymer.heat_per_volume * (cells.across[0] * cells.across[1])


def _over(part: Any, whole: Any) -> Any:
    """Return numbers of which each counts for all that another array holds in its place."""
    return part.reshape(part.shape + (1,) * (whole.ndim - part.ndim))


def healing_left(cells: Cells, state: State) -> tuple[Floats, Floats]:
    """Return healing integrals through and beside; settings on the last axis of what differs stay there."""
    column, layer = cells.event_column, cells.event_layer
    block = cells.block_of[column]
    healed = state.healed[cells.event_cell].astype(float)
    # what sleeping blocks and the body have not handed out yet
    inside = layer - state.base[block]
    waiting = (state.asleep[block] == 1) & (inside >= 0)
    held = state.block_healed[block, np.maximum(inside, 0)]
    deep = state.body_healed[block, layer]
    more = held * _over(waiting, held) + deep * _over(inside < 0, deep)
    through, beside = healed[:, 0] + more[:, 0], healed[:, 1:] + more[:, 1, None]
    flags = (cells.welds[cells.event_cell][:, None] >> np.arange(4)) & 1
    lower = np.zeros(cells.cells, dtype=bool)
    lower[cells.event_cell] = True
    has_below = (layer > cells.first_layer[column]) & lower[np.maximum(cells.event_cell - 1, 0)]
    through[~has_below] = np.nan
    beside[flags == 0] = np.nan
    return through, beside


def energy_left(cells: Cells, state: State) -> Any:
    """Return the energy in columns, sleeping blocks and the body, for each setting on the last axis. [K m]"""
    fine = cells.columns
    row = np.arange(state.warm.shape[1])
    awake = state.asleep[cells.block_of] == 0
    total = (state.body * _over(state.body_capacity, state.body) + state.body_pending).sum(axis=(0, 1))
    for entities, blocks, weight in (
        (np.flatnonzero(awake), cells.block_of[awake], cells.area[awake]),
        (
            fine + np.flatnonzero(state.asleep),
            np.flatnonzero(state.asleep),
            cells.block_cells[state.asleep == 1],
        ),
    ):
        thick = state.row_thick[(state.base[blocks] + cells.coarse) // cells.group]
        there = row[None, :] < state.rows[entities][:, None]
        count = np.where(there, state.share[entities] * thick, 0.0) * weight[:, None]
        warm = state.warm[entities] + state.pending[entities]
        total = total + (warm * _over(count, warm)).sum(axis=(0, 1))
    return total
