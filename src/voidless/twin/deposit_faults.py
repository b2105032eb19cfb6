"""What a layer encloses, and which of its open cells nothing leads out of."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

__all__ = ["enclosed", "footprint"]

Cells = NDArray[np.float32]
Bools = NDArray[np.bool_]

_OPEN = 0.5
"""A cell filled to less of its room than this is open. [1]"""


def footprint(fill: Cells, bead_cells: int) -> Bools:
    """
    Return the section that the beads of a layer enclose.

    Parameters
    ----------
    fill : (rows, columns) float array
        Melt in each cell, in layer thicknesses. [1]
    bead_cells : int
        Bead width. [cells]

    Returns
    -------
    inside : (rows, columns) bool array
        Laid cells, and gaps between them up to a bead wide.
    """
    from scipy.ndimage import maximum_filter, minimum_filter

    window = 2 * (bead_cells // 2) + 1
    laid: Any = fill > _OPEN
    grown = maximum_filter(laid, window)
    return np.asarray(minimum_filter(grown, window), dtype=bool)


def enclosed(fill: Cells, room: Cells, inside: Bools) -> Bools:
    """
    Return the open cells that are shut in by melt.

    Parameters
    ----------
    fill, room : (rows, columns) float array
        Melt in each cell and room for it, in layer thicknesses. [1]
    inside : (rows, columns) bool array
        The layer's section.

    Returns
    -------
    void : (rows, columns) bool array
        Candidates for voids; a gap with a way out over the edges of cells is none.
    """
    from scipy.ndimage import label

    free = (fill < _OPEN * room) & (room > 0.0)
    parts, _ = label(free)
    return np.asarray(free & inside & (parts != parts[0, 0]))
