"""How high the layers of moves stand."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

__all__ = ["THICKEST_MM", "THINNEST_MM", "layer_steps", "layer_tops"]

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]

THICKEST_MM = 2.0
"""First layers above this begin high over the bed: no nozzle in use lays them so thick. [mm]"""
THINNEST_MM = 0.02
"""Heights nearer to each other are no layers: a path that rises along its way has such. Assumed. [mm]"""


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


def layer_steps(tops_mm: Floats) -> Floats:
    """
    Return how thick each layer is.

    Parameters
    ----------
    tops_mm : (k,) float array
        Heights of the layers, rising. [mm]

    Returns
    -------
    thickness_mm : (k,) float array
        The step from the layer below; of the first its height above 0, or the step that follows where it begins over
        `THICKEST_MM`, as the rest of a print that was taken up again does. [mm]
    """
    steps = np.asarray(np.diff(tops_mm, prepend=0.0), dtype=float)
    if len(steps) > 1 and steps[0] > THICKEST_MM and 0.0 < steps[1] < steps[0]:
        steps[0] = steps[1]
    return steps
