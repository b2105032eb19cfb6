"""
A bead as a stadium: a rectangle whose two sides are half circles of the layer's height.

All functions work on arrays as well as on single numbers and raise `InputError` where a bead of that
size cannot be a stadium (thickness not positive, width below the layer thickness).
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

from voidless.errors import InputError

__all__ = [
    "ROUNDING",
    "bead_area",
    "bead_width",
    "filament_area",
    "filament_feed",
    "full_fill_flow",
    "full_fill_pitch",
    "void_share",
]

Floats = NDArray[np.float64]

ROUNDING = 1.0 - math.pi / 4.0
"""Share of a square that its inscribed circle leaves open. [1]"""


def _require(fine: ArrayLike, what: str, expected: str) -> None:
    if not np.all(fine):
        raise InputError("bead", what, expected, "Correct the layer thickness or the bead width.")


def bead_area(layer_mm: ArrayLike, width_mm: ArrayLike) -> Floats:
    """
    Return the area of the cross section of a bead.

    Parameters
    ----------
    layer_mm : float or (n,) float array
        Layer thickness. [mm]
    width_mm : float or (n,) float array
        Bead width, not below the layer thickness. [mm]

    Returns
    -------
    area_mm2 : float or (n,) float array
        h (w - h) + pi h² / 4. [mm²]

    Raises
    ------
    InputError
        The layer thickness is not positive or the width is below it.

    Notes
    -----
    Plane geometry; that beads are stadiums is a model: real beads are bounded by their neighbours.

    Examples
    --------
    >>> round(float(bead_area(0.2, 0.45)), 7)
    0.0814159
    """
    height, width = np.asarray(layer_mm, dtype=float), np.asarray(width_mm, dtype=float)
    _require(height > 0.0, f"layer_mm = {height}", "a layer thickness above 0 mm")
    _require(width >= height, f"width_mm = {width} with layer_mm = {height}", "a width not below the layer")
    return np.asarray(height * (width - height) + math.pi * height**2 / 4.0)


def bead_width(layer_mm: ArrayLike, area_mm2: ArrayLike) -> Floats:
    """
    Return the width of a bead of a given cross section.

    Parameters
    ----------
    layer_mm : float or (n,) float array
        Layer thickness. [mm]
    area_mm2 : float or (n,) float array
        Cross section, at least that of a full circle of the layer's height. [mm²]

    Returns
    -------
    width_mm : float or (n,) float array
        A / h + h (1 - pi / 4). [mm]

    Raises
    ------
    InputError
        The layer thickness is not positive or the area is below that of the circle.
    """
    height, area = np.asarray(layer_mm, dtype=float), np.asarray(area_mm2, dtype=float)
    _require(height > 0.0, f"layer_mm = {height}", "a layer thickness above 0 mm")
    _require(area >= math.pi * height**2 / 4.0 * (1 - 1e-12), f"area_mm2 = {area}", "at least pi h² / 4")
    return np.asarray(area / height + height * ROUNDING)


def full_fill_pitch(layer_mm: ArrayLike, width_mm: ArrayLike) -> Floats:
    """
    Return the pitch at which beads of this width fill a layer exactly.

    Parameters
    ----------
    layer_mm : float or (n,) float array
        Layer thickness. [mm]
    width_mm : float or (n,) float array
        Bead width, not below the layer thickness. [mm]

    Returns
    -------
    pitch_mm : float or (n,) float array
        Bead area over layer thickness, w - h (1 - pi / 4). [mm]

    Raises
    ------
    InputError
        The layer thickness is not positive or the width is below it.

    Examples
    --------
    >>> round(float(full_fill_pitch(0.2, 0.45)), 7)
    0.4070796
    """
    return np.asarray(bead_area(layer_mm, width_mm) / np.asarray(layer_mm, dtype=float))


def void_share(
    layer_mm: ArrayLike, width_mm: ArrayLike, pitch_mm: ArrayLike, flow: ArrayLike = 1.0
) -> Floats:
    """
    Return the share of a layer that rigid stadiums at a given pitch leave open.

    Parameters
    ----------
    layer_mm, width_mm : float or (n,) float array
        Layer thickness and bead width. [mm]
    pitch_mm : float or (n,) float array
        Distance between neighbouring beads, above 0. [mm]
    flow : float or (n,) float array
        Deposited volume over the volume of the stadium. [1]

    Returns
    -------
    void_share : float or (n,) float array
        max(0, 1 - M A / (h p)): what lacks in volume, not how it is shaped. [1]

    Raises
    ------
    InputError
        The sizes are not those of a stadium, or pitch or flow is not positive.
    """
    pitch, factor = np.asarray(pitch_mm, dtype=float), np.asarray(flow, dtype=float)
    _require(pitch > 0.0, f"pitch_mm = {pitch}", "a pitch above 0 mm")
    _require(factor > 0.0, f"flow = {factor}", "a flow above 0")
    area = bead_area(layer_mm, width_mm) * factor
    return np.asarray(
        np.maximum(0.0, 1.0 - area / (np.asarray(layer_mm, dtype=float) * np.asarray(pitch_mm)))
    )


def full_fill_flow(layer_mm: ArrayLike, width_mm: ArrayLike) -> Floats:
    """
    Return the flow that closes every void where the pitch equals the bead width.

    Parameters
    ----------
    layer_mm, width_mm : float or (n,) float array
        Layer thickness and bead width. [mm]

    Returns
    -------
    flow : float or (n,) float array
        h w / A, at least 1. [1]

    Raises
    ------
    InputError
        The sizes are not those of a stadium.
    """
    height, width = np.asarray(layer_mm, dtype=float), np.asarray(width_mm, dtype=float)
    return np.asarray(height * width / bead_area(height, width))


def filament_area(diameter_mm: float) -> float:
    """
    Return the cross section of the filament.

    Parameters
    ----------
    diameter_mm : float
        Filament diameter. [mm]

    Returns
    -------
    area_mm2 : float
        pi d² / 4. [mm²]

    Raises
    ------
    InputError
        The diameter is not positive.
    """
    _require(diameter_mm > 0.0, f"filament_diameter_mm = {diameter_mm}", "a filament diameter above 0 mm")
    return math.pi * diameter_mm**2 / 4.0


def filament_feed(layer_mm: ArrayLike, pitch_mm: ArrayLike, diameter_mm: float) -> Floats:
    """
    Return the length of filament that a bead takes per length of its path.

    Parameters
    ----------
    layer_mm : float or (n,) float array
        Layer thickness. [mm]
    pitch_mm : float or (n,) float array
        Full-fill pitch. [mm]
    diameter_mm : float
        Filament diameter. [mm]

    Returns
    -------
    feed : float or (n,) float array
        Filament per path. [mm/mm]

    Raises
    ------
    InputError
        The diameter is not positive.
    """
    return np.asarray(np.asarray(layer_mm, dtype=float) * np.asarray(pitch_mm) / filament_area(diameter_mm))
