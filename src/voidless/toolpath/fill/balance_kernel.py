"""Which bead is nearest, compiled."""

from __future__ import annotations

from typing import Any

import numpy as np
from numba import njit

__all__ = ["nearest_beads"]


@njit(cache=True, nogil=True)
def nearest_beads(starts: Any, ends: Any, laid: Any, rows: int, columns: int, reach: float) -> Any:
    """
    Return for each place of a grid the number of the nearest bead within reach, the last one of several.

    Parameters
    ----------
    starts, ends : (n, 2) float array
        Row and column of the ends of straight beads, in places.
    laid : (n,) bool array
        Which of them count.
    rows, columns : int
        Size of the grid.
    reach : float
        In places.

    Returns
    -------
    nearest : (rows, columns) int array
        -1 where no bead is in reach.
    """
    least = np.full((rows, columns), reach * reach)
    nearest = np.full((rows, columns), -1, np.int64)
    for bead in range(len(laid)):
        if not laid[bead]:
            continue
        y0, x0 = starts[bead, 0], starts[bead, 1]
        dy, dx = ends[bead, 0] - y0, ends[bead, 1] - x0
        size = dy * dy + dx * dx
        low, high = min(y0, y0 + dy) - reach, max(y0, y0 + dy) + reach
        left, right = min(x0, x0 + dx) - reach, max(x0, x0 + dx) + reach
        for row in range(max(0, int(low)), min(rows, int(high) + 1)):
            y = row + 0.5 - y0
            for column in range(max(0, int(left)), min(columns, int(right) + 1)):
                x = column + 0.5 - x0
                along = min(1.0, max(0.0, (y * dy + x * dx) / size))
                apart = (y - along * dy) ** 2 + (x - along * dx) ** 2
                if apart <= least[row, column]:
                    least[row, column] = apart
                    nearest[row, column] = bead
    return nearest
