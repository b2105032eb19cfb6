"""
Deposit map: melt laid over room available, layer by layer, on a grid of a fraction of the bead width.

Every layer's beads spread over what is free (`voidless.beads.spread`), bounded by what lies there already and
by the layer below: a pit that it left is room too, down to half a layer.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from voidless.beads.spread import REACH_NOZZLES, Grid, grid_over, spread
from voidless.errors import InputError
from voidless.toolpath.heights import layer_steps, layer_tops
from voidless.toolpath.moves import Moves
from voidless.twin.deposit_faults import enclosed, footprint

__all__ = ["DepositSummary", "LayerDeposit", "deposit_layers", "summarise"]

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]
Cells = NDArray[np.float32]
Bools = NDArray[np.bool_]

_MOST_CELLS = 100_000_000
"""Half a gigabyte for each number kept of a cell; a bed of 0.75 m with beads of 0.45 mm. [1]"""
_AT_ONCE = 1 << 17  # beads: bounds the memory taken
_PIT = 0.5
"""Deepest pit of the layer below that melt finds, in layer thicknesses; assumed. [1]"""


@dataclass(frozen=True, eq=False)
class LayerDeposit:
    """
    One layer of a deposit map.

    Attributes
    ----------
    layer : int
        Number of the layer, from 0.
    height_mm, layer_mm : float
        Height of its top, and its thickness. [mm]
    grid : Grid
        Place of the cells.
    fill, room : (rows, columns) float array
        Melt in each cell, and room there before it was laid, in layer thicknesses. [1]
    inside : (rows, columns) bool array
        What the beads of the layer enclose: its section as laid.
    void : (rows, columns) bool array
        Cells left open that no way leads to from outside: candidates for voids.
    fed_mm3 : float
        Volume fed to the layer's beads. [mm³]
    """

    layer: int
    height_mm: float
    layer_mm: float
    grid: Grid
    fill: Cells
    room: Cells
    inside: Bools
    void: Bools
    fed_mm3: float

    @property
    def cell_mm3(self) -> float:
        """Volume of a cell filled to the layer thickness. [mm³]"""
        return self.grid.cell_mm**2 * self.layer_mm

    @property
    def laid_mm3(self) -> float:
        """Volume found in the cells. [mm³]"""
        return float(self.fill.sum(dtype=float)) * self.cell_mm3

    @property
    def room_mm3(self) -> float:
        """Room of the layer's own thickness inside of its section. [mm³]"""
        return float(self.inside.sum()) * self.cell_mm3

    @property
    def sunk_mm3(self) -> float:
        """Melt that sank into pits of the layer below. [mm³]"""
        sunk = np.clip(self.fill - 1.0, 0.0, self.room - 1.0)
        return float(sunk.sum(dtype=float)) * self.cell_mm3

    @property
    def under_mm3(self) -> float:
        """Room of the layer's own thickness that is left open. [mm³]"""
        lack = np.maximum(1.0 - self.fill, 0.0)[self.inside]
        return float(lack.sum(dtype=float)) * self.cell_mm3

    @property
    def over_mm3(self) -> float:
        """Melt that found no room. [mm³]"""
        return float(np.maximum(self.fill - self.room, 0.0).sum(dtype=float)) * self.cell_mm3

    @property
    def void_mm3(self) -> float:
        """Volume of the candidates for voids, before the next layer sinks into them. [mm³]"""
        return float(np.maximum(1.0 - self.fill, 0.0)[self.void].sum(dtype=float)) * self.cell_mm3


@dataclass(frozen=True)
class DepositSummary:
    """
    A deposit map in numbers.

    Attributes
    ----------
    layers : int
        Layers with beads.
    fed_mm3, laid_mm3, room_mm3 : float
        Volume fed, found in the cells, and available inside. [mm³]
    under_pct, over_pct, void_pct, sunk_pct : float
        Room left open, melt without room, enclosed voids as each layer leaves them, and melt that sank into
        pits of the layer below, over the room inside. [%]
    worst_layer : int
        Layer with the largest share of enclosed voids.
    worst_pct : float
        That share. [%]
    """

    layers: int
    fed_mm3: float
    laid_mm3: float
    room_mm3: float
    under_pct: float
    over_pct: float
    void_pct: float
    sunk_pct: float
    worst_layer: int
    worst_pct: float


def _room(lack: Cells) -> Cells:
    """Return the room of each cell in layer thicknesses: its own layer, and the pit that the layer below left."""
    return np.asarray(1.0 + np.minimum(lack, _PIT), dtype=np.float32)


def _lack(fill: Cells, room: Cells, inside: Bools) -> Cells:
    """Return how deep each cell of a layer's section stays under the height of its nozzle, in thicknesses."""
    return np.where(inside, np.maximum(room - fill, 0.0), 0.0).astype(np.float32)


def deposit_layers(
    moves: Moves,
    nozzle_mm: float,
    bead_mm: float,
    volume_mm3: Floats | None = None,
    cells_per_bead: int = 12,
    first_layer_mm: float | None = None,
    specimen: int | None = None,
) -> Iterator[LayerDeposit]:
    """
    Return the deposit map of a build, one layer after the other.

    Parameters
    ----------
    moves : Moves
        Planned, or read from any file.
    nozzle_mm, bead_mm : float
        Nozzle diameter and usual bead width. [mm]
    volume_mm3 : (n,) float array or None
        Volume that each move really lays, as pressure lag makes it; None takes what is fed. [mm³]
    cells_per_bead : int
        Cells over a bead width.
    first_layer_mm : float or None
        Thickness of the first layer; None takes its height above 0. [mm]
    specimen : int or None
        Number of the specimen on the bed; None takes everything, on a grid over all of it.

    Returns
    -------
    layers : iterator of LayerDeposit
        From the bed upwards; only the layer at hand is held.

    Raises
    ------
    InputError
        There is no bead, cells are too coarse, or layers do not rise.

    Notes
    -----
    A layer's thickness is that of `layer_steps`. Each layer's section is not known to a file: it is what
    its beads close over (`deposit_faults.footprint`). Over thin air a bead has the room of its own layer. Left
    out: sagging, the time that flow takes, and where over-fill goes: no layer stands higher than its nozzle ran.
    """
    if not cells_per_bead >= 4:
        raise InputError("deposit map", f"{cells_per_bead} cells per bead", "at least 4", "Raise it.")
    chosen = moves.deposits & (moves.layer >= 0)
    if specimen is not None:
        chosen = chosen & (moves.specimen == specimen)
    if not chosen.any():
        what = "no bead above height 0" if moves.deposits.any() else "no bead"
        raise InputError("deposit map", what, "moves that lay beads", "Check the file.")
    grid = grid_over(_box(moves, chosen), 2.0 * REACH_NOZZLES * nozzle_mm + bead_mm, bead_mm / cells_per_bead)
    if grid.rows * grid.columns > _MOST_CELLS:
        far = grid.cell_mm * max(grid.rows, grid.columns)
        raise InputError(
            "deposit map",
            f"beads spread over {far:.4g} mm",
            f"a part of at most {_MOST_CELLS:,} cells of {grid.cell_mm:.3g} mm",
            "Check positions (G90, G91) and units (G20, G21).",
        )
    lack = np.zeros(grid.shape, dtype=np.float32)
    layers, tops = layer_tops(moves.z_mm[chosen], moves.layer[chosen])
    steps = layer_steps(tops)
    if first_layer_mm is not None:
        steps[0] = first_layer_mm
    for layer, height, thickness in zip(layers.tolist(), tops.tolist(), steps.tolist(), strict=True):
        mine = np.flatnonzero(chosen & (moves.layer == layer))
        if not thickness > 0.0:
            raise InputError(
                "deposit map", f"layer {layer} at {height} mm", "above the one below", "Sort the layers."
            )
        room = _room(lack)
        volume = moves.volume_mm3[mine] * moves.flow_factor[mine] if volume_mm3 is None else volume_mm3[mine]
        volume = np.maximum(volume, 0.0)
        fill = spread(*_ends(moves, mine), volume / thickness, grid, REACH_NOZZLES * nozzle_mm, room)
        inside = footprint(fill, cells_per_bead)
        void = enclosed(fill, room, inside)
        yield LayerDeposit(int(layer), height, thickness, grid, fill, room, inside, void, float(volume.sum()))
        lack = _lack(fill, room, inside)


def _box(moves: Moves, chosen: Bools) -> tuple[float, float, float, float]:
    """Return the lowest and the highest X and Y of these moves. [mm]"""
    low, high, rows = np.full(2, np.inf), np.full(2, -np.inf), np.flatnonzero(chosen)
    for part in np.split(rows, range(_AT_ONCE, len(rows), _AT_ONCE)):
        for points in _ends(moves, part):
            low, high = np.minimum(low, points.min(axis=0)), np.maximum(high, points.max(axis=0))
    return (*low.tolist(), *high.tolist())


def _ends(moves: Moves, rows: Integers) -> tuple[Floats, Floats]:
    """Return where these moves start and end in plan, `(k, 2)` each. [mm]"""
    ends = np.column_stack([moves.x_mm[rows], moves.y_mm[rows]])
    return ends - (ends - moves.starts_mm(rows)[:, :2]), ends


def summarise(layers: Iterator[LayerDeposit]) -> DepositSummary:
    """
    Return a deposit map in numbers.

    Parameters
    ----------
    layers : iterator of LayerDeposit
        From `deposit_layers`.

    Returns
    -------
    summary : DepositSummary
        Totals, and the worst layer.
    """
    rows = np.array(
        [
            (i.layer, i.fed_mm3, i.laid_mm3, i.room_mm3, i.under_mm3, i.over_mm3, i.void_mm3, i.sunk_mm3)
            for i in layers
        ]
    )
    fed, laid, room, under, over, void, sunk = rows[:, 1:].sum(axis=0).tolist()
    shares = rows[:, 6] / rows[:, 3]
    worst = int(shares.argmax())
    return DepositSummary(
        len(rows), fed, laid, room, 100.0 * under / room, 100.0 * over / room, 100.0 * void / room, 100.0 * sunk / room,
        int(rows[worst, 0]), 100.0 * float(shares[worst]),
    )  # fmt: skip
