"""Heights of a face over its best plane."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from voidless.errors import InputError
from voidless.measure.series.trend import coverage_factor

__all__ = ["Warp", "warp_of"]

Floats = NDArray[np.float64]

FEWEST = 6
FEWEST_BY_DIRECTION = 8
"""Fewest places from which a bow may have a direction: six unknowns, and two places that judge their scatter. [1]"""


@dataclass(frozen=True)
class Warp:
    """
    Warp of a face.

    Attributes
    ----------
    flatness_mm : float
        Highest less lowest point about the best plane. [mm]
    bow_mm : float
        Lift of the rim over the middle in the direction in which the face bows most; negative where it bulges. [mm]
    bow_uncertainty_mm : float
        Standard uncertainty by the scatter of the heights and by how they were read. [mm]
    tilt_mm : float
        Rise of the plane over the longer side, which is no warp. [mm]
    direction_deg : float or None
        Where the face bows most, from x to y; None where its places cannot tell directions apart. [deg]
    bow_across_mm : float
        Lift in the other direction. [mm]
    """

    flatness_mm: float
    bow_mm: float
    bow_uncertainty_mm: float
    tilt_mm: float
    direction_deg: float | None
    bow_across_mm: float


def warp_of(x_mm: Floats, y_mm: Floats, height_mm: Floats, unsure_mm: float = 0.0) -> Warp:
    """
    Return the warp of a face from heights at places on it.

    Parameters
    ----------
    x_mm, y_mm : (n,) float array
        Places. [mm]
    height_mm : (n,) float array
        Heights, upwards from the plate. [mm]
    unsure_mm : float
        Standard uncertainty of one height by its gauge or its last digit; scatter above it counts. [mm]

    Returns
    -------
    warp : Warp
        About the least-squares plane, as a dial gauge on a plate sees it.

    Raises
    ------
    InputError
        Fewer than six places, or all on one line.

    Notes
    -----
    Heights follow a quadric whose two directions bow differently, each lift taken from the middle to the rim of the
    ellipse in the rectangle of the places. Below 8 places, or on two rows, both are taken to bow alike.
    """
    x, y, z = (np.asarray(item, dtype=float) for item in (x_mm, y_mm, height_mm))
    if not (x.size == y.size == z.size >= FEWEST and np.all(np.isfinite(np.concatenate([x, y, z])))):
        raise InputError(
            "warp", f"{z.size} heights", f"at least {FEWEST} with their places", "Measure more places."
        )
    wide, deep = float(np.ptp(x)), float(np.ptp(y))
    side = max(wide, deep)
    u, v = (x - x.mean()) / (side or 1.0), (y - y.mean()) / (side or 1.0)
    plane = np.column_stack([np.ones_like(u), u, v])
    if np.linalg.matrix_rank(plane, tol=1e-6) < 3:
        raise InputError("warp", "all places on one line", "places over a face", "Measure across it as well.")
    flat = np.linalg.lstsq(plane, z, rcond=None)[0]
    apart = z - plane @ flat
    a, b = u * side / wide, v * side / deep
    quadric = np.column_stack([plane, a**2, a * b, b**2])
    if z.size < FEWEST_BY_DIRECTION or np.linalg.matrix_rank(quadric, tol=1e-6) < quadric.shape[1]:
        lifts, unsure, axis = _alike(np.column_stack([plane, u**2 + v**2]), apart, unsure_mm)
    else:
        lifts, unsure, axis = _by_direction(quadric, apart, unsure_mm)
    direction = (
        None if axis is None else float(np.degrees(np.arctan2(axis[1] * deep, axis[0] * wide))) % 180.0
    )
    return Warp(
        float(np.ptp(apart)), lifts[0], unsure, float(np.hypot(flat[1], flat[2])), direction, lifts[1]
    )


Bow = tuple[tuple[float, float], float, Floats | None]
"""Both lifts, the standard uncertainty of the first, and its direction in a square of side 1."""


def _fitted(basis: Floats, height: Floats, unsure: float) -> tuple[Floats, Floats]:
    """Return least-squares weights and their covariance."""
    normal = np.linalg.pinv(basis.T @ basis)
    weights = normal @ (basis.T @ height)
    left = height - basis @ weights
    freedom = height.size - basis.shape[1]
    scatter = float(np.linalg.norm(left)) / freedom**0.5 * coverage_factor(freedom)
    return weights, normal * max(scatter, unsure) ** 2


def _alike(basis: Floats, height: Floats, unsure: float) -> Bow:
    weights, covariance = _fitted(basis, height, unsure)
    lift = 0.25 * float(weights[3])
    return (lift, lift), 0.25 * float(covariance[3, 3]) ** 0.5, None


def _by_direction(basis: Floats, height: Floats, unsure: float) -> Bow:
    weights, covariance = _fitted(basis, height, unsure)
    bends, axes = np.linalg.eigh([[weights[3], weights[4] / 2.0], [weights[4] / 2.0, weights[5]]])
    most = int(np.argmax(np.abs(bends)))
    along, across = axes[:, most], axes[:, 1 - most]
    first, second = (np.array([n[0] ** 2, n[0] * n[1], n[1] ** 2]) for n in (along, across))
    own = covariance[3:, 3:]
    # The larger of two lifts is too large where noise decides which it is: the doubt of their difference counts then.
    between = float((first - second) @ own @ (first - second)) ** 0.5
    ahead = abs(float(bends[most])) - abs(float(bends[1 - most]))
    chosen = between * min(between / ahead, 1.0) if ahead > 0 else between
    lifts = 0.25 * float(bends[most]), 0.25 * float(bends[1 - most])
    return lifts, 0.25 * float(np.hypot(chosen, float(first @ own @ first) ** 0.5)), along
