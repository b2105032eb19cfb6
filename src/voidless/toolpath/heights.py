"""How high the layers of moves stand."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

__all__ = ["layer_tops"]

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]


def layer_tops(height_mm: Floats, layer: Integers) -> tuple[Integers, Floats]:
    """
    Return the numbers of the layers that occur, rising, and the height of each: the median of its moves.

    Parameters
    ----------
    height_mm : (n,) float array
        Height of each move. [mm]
    layer : (n,) int array
        Number of its layer.

    Returns
    -------
    numbers : (k,) int array
        Of the layers.
    tops : (k,) float array
        Their heights. [mm]
    """
    order = np.lexsort((height_mm, layer))
    numbers, first, count = np.unique(layer[order], return_index=True, return_counts=True)
    sorted_mm = height_mm[order]
    return numbers, 0.5 * (sorted_mm[first + (count - 1) // 2] + sorted_mm[first + count // 2])
