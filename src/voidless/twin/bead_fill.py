"""What the deposit map says of each bead: the mean height of melt over the room that it was laid for."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

from voidless.toolpath.view import BeadView
from voidless.twin.deposit import LayerDeposit

__all__ = ["bead_fill"]

Floats = NDArray[np.float64]

_ACROSS = 7
_STEP_CELLS = 2.0


def bead_fill(layers: Iterable[LayerDeposit], view: BeadView) -> Floats:
    """
    Return how far the room of each bead is filled, its neighbours' melt included.

    Parameters
    ----------
    layers : iterable of LayerDeposit
        Deposit map of the same moves.
    view : BeadView
        Beads; those of layers that the map lacks stay unknown.

    Returns
    -------
    fill : (n,) float array
        Mean height of melt over layer thickness, over a bead's width and length; NaN where unknown. [1]

    Notes
    -----
    Seven places across the width, along it one every other cell, at least one: 0.93 is a bead of which a fourteenth
    part is open on either side. Bounded in detail by the cells of the map.
    """
    fill = np.full(len(view), np.nan)
    for layer in layers:
        mine = np.flatnonzero(view.layer == layer.layer)
        if len(mine):
            fill[mine] = _means(layer, view, mine)
    return fill


def _means(layer: LayerDeposit, view: BeadView, mine: NDArray[np.int64]) -> Floats:
    grid = layer.grid
    start, way = view.start_mm[mine, :2], (view.end_mm - view.start_mm)[mine, :2]
    length = np.hypot(*way.T)
    along = np.maximum(np.ceil(length / (_STEP_CELLS * grid.cell_mm)), 1.0).astype(np.int64)
    bead = np.repeat(np.arange(len(mine)), along)
    first = np.repeat(np.cumsum(along) - along, along)
    share = (np.arange(len(bead)) - first + 0.5) / along[bead]
    middle = start[bead] + share[:, None] * way[bead]
    aside = np.column_stack([-way[:, 1], way[:, 0]]) / length[:, None] * view.width_mm[mine, None]
    total = np.zeros(len(mine))
    for across in (np.arange(_ACROSS) + 0.5) / _ACROSS - 0.5:
        place = (middle + across * aside[bead] - (grid.x_mm, grid.y_mm)) / grid.cell_mm
        column, row = np.floor(place).astype(np.int64).T
        total += np.bincount(bead, weights=layer.fill[row, column], minlength=len(mine))
    return np.asarray(total / (_ACROSS * along))
