"""Scale of a picture from a grid of known pitch, and how straight the lens draws it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from voidless.errors import InputError
from voidless.measure.images.fold import find_pitch

__all__ = ["Scale", "grid_scale"]

_PARTS = 2


@dataclass(frozen=True)
class Scale:
    """
    Millimetres a pixel.

    Attributes
    ----------
    mm_per_px, uncertainty_mm : float
        Mean of both directions, and its standard uncertainty. [mm]
    skew : float
        Scale down the rows over that along the columns, less 1. [1]
    distortion : float
        Largest difference of a quarter of the picture from the whole. [1]
    """

    mm_per_px: float
    uncertainty_mm: float
    skew: float
    distortion: float


def grid_scale(
    grey: ArrayLike, pitch_mm: float, pitch_uncertainty_mm: float, low_px: float, high_px: float
) -> Scale:
    """
    Return the scale of a picture of a square grid whose lines run along rows and columns.

    Parameters
    ----------
    grey : (h, w) float array
        Picture of the grid. [1]
    pitch_mm, pitch_uncertainty_mm : float
        Distance after which the grid repeats (two squares of a chessboard), and its standard uncertainty. [mm]
    low_px, high_px : float
        Between which the pitch lies in the picture. [px]

    Returns
    -------
    scale : Scale
        Uncertainty: the grid's, and the difference between directions and between quarters.

    Raises
    ------
    InputError
        The pitch is not positive or the bounds do not fit the picture.
    """
    if not (pitch_mm > 0 and pitch_uncertainty_mm >= 0):
        raise InputError("grid_scale", f"a pitch of {pitch_mm:g} mm", "above 0", "Correct it.")
    values = np.asarray(grey, dtype=float)
    found = [_one_way(values, low_px, high_px, axis) for axis in (0, 1)]
    rows, columns = (float(pitch) for pitch, _ in found)
    mean = 0.5 * (rows + columns)
    stray = max(spread for _, spread in found)
    relative = np.hypot(
        pitch_uncertainty_mm / pitch_mm, np.hypot(rows - columns, stray * mean) / mean / np.sqrt(12.0)
    )
    return Scale(pitch_mm / mean, pitch_mm / mean * float(relative), columns / rows - 1.0, stray)


def _one_way(values: NDArray[np.float64], low: float, high: float, axis: int) -> tuple[float, float]:
    """
    Return the pitch along one axis, and how far parts across it stray.

    A chessboard repeats along each line though not in their mean, so lines are turned to one sign first.
    """
    lines = values if axis == 1 else values.T
    whole = _pitch(lines, low, high)
    parts = [_pitch(part, low, high) for part in np.array_split(lines, _PARTS)]
    return whole, max(abs(part / whole - 1.0) for part in parts)


def _pitch(lines: NDArray[np.float64], low: float, high: float) -> float:
    first = lines - lines.mean()
    # turn each line to the sign of the strongest one, so that alternate squares add up
    lead = first[int(np.argmax(first.std(axis=1)))]
    signs = np.sign(first @ lead)
    return find_pitch((first * signs[:, None]).mean(axis=0)[None, :], low, high, axis=1)
