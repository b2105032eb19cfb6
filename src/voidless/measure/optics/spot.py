"""The black spot: where it lies in the picture, and how far off its axis each pixel looks."""

from __future__ import annotations

from dataclasses import dataclass
from math import radians, sqrt, tan

import numpy as np
from numpy.typing import NDArray

from voidless.errors import InputError

__all__ = ["Spot", "find_spot", "off_axis"]

Floats = NDArray[np.float64]

NARROW_DEG = 2.5
"""Half-angle beyond which light counts as haze: ASTM D1003. [°]"""
REGION_DEG = 0.45
"""How far off the spot's axis pixels are used. [°]"""


@dataclass(frozen=True)
class Spot:
    """Centre and radius of the spot in the picture without plaque. [px]"""

    row: float
    column: float
    radius: float


def find_spot(open_: Floats, spot: Floats, where: str = "spot") -> Spot:
    """
    Return where the spot lies, from the frames without plaque.

    Parameters
    ----------
    open_, spot : (h, w) float array
        Panel without and with the spot, dark taken off. [1]
    where : str
        Name for errors.

    Returns
    -------
    spot : Spot
        Centre of gravity and radius of equal area of what is darker than halfway.

    Raises
    ------
    InputError
        No round dark spot is there, or it is cut by the edge of the picture.
    """
    from scipy import ndimage

    step = max(1, round(max(open_.shape) / 1500))
    ratio = spot[::step, ::step] / np.maximum(open_[::step, ::step], 1e-6)
    labels, count = ndimage.label(ndimage.median_filter(ratio, 3) < 0.5)
    sizes = np.bincount(labels.ravel())[1:] if count else np.zeros(0)
    if count == 0 or sizes.max() < 50:
        raise InputError(
            where, "no black spot", "a black disc on the lit panel", "Check which frame is which."
        )
    chosen = labels == int(np.argmax(sizes)) + 1
    if chosen[0].any() or chosen[-1].any() or chosen[:, 0].any() or chosen[:, -1].any():
        raise InputError(
            where, "the spot is cut by the edge", "the whole spot in the picture", "Move the camera."
        )
    rows, columns = np.nonzero(chosen)
    radius = sqrt(len(rows) / np.pi)
    longest = 2.0 * sqrt(float(np.linalg.eigvalsh(np.cov(rows, columns))[-1]))
    if longest > 1.1 * radius:
        raise InputError(
            where, "the spot is not round", "a disc seen straight on", "Square the camera to the panel."
        )
    centre = (np.array([rows.mean(), columns.mean()]) + 0.5) * step - 0.5
    return Spot(float(centre[0]), float(centre[1]), radius * step)


def off_axis(shape: tuple[int, ...], spot: Spot) -> tuple[tuple[slice, slice], Floats]:
    """
    Return the box about the spot that is used, and each pixel's angle off its axis.

    Parameters
    ----------
    shape : tuple of int
        Of the picture. [px]
    spot : Spot
        In that picture.

    Returns
    -------
    box : tuple of slice
        Rows and columns.
    angle : (h, w) float array
        Within the box. [°]

    Notes
    -----
    Seen from the plaque, a pixel as far from the centre as the spot's rim lies 2.5° off its axis, whatever the
    distance of the camera: perspective cancels.
    """
    reach = REGION_DEG / NARROW_DEG * spot.radius
    top, left = max(int(spot.row - reach), 0), max(int(spot.column - reach), 0)
    box = np.s_[top : int(spot.row + reach) + 2, left : int(spot.column + reach) + 2]
    rows, columns = np.arange(shape[0])[box[0], None], np.arange(shape[1])[None, box[1]]
    distance = np.hypot(rows - spot.row, columns - spot.column)
    return box, np.degrees(np.arctan(distance / spot.radius * tan(radians(NARROW_DEG))))
