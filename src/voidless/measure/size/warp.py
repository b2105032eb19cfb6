"""Heights of a face over its best plane."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from voidless.errors import InputError

__all__ = ["Warp", "warp_of"]

Floats = NDArray[np.float64]

FEWEST = 6


@dataclass(frozen=True)
class Warp:
    """
    Warp of a face.

    Attributes
    ----------
    flatness_mm : float
        Highest less lowest point about the best plane. [mm]
    bow_mm : float
        Lift of the rim over the middle by the best paraboloid, over the longer side; negative where it bulges. [mm]
    bow_uncertainty_mm : float
        Standard uncertainty by the scatter of the heights. [mm]
    tilt_mm : float
        Rise of the plane over the longer side, which is no warp. [mm]
    """

    flatness_mm: float
    bow_mm: float
    bow_uncertainty_mm: float
    tilt_mm: float


def warp_of(x_mm: Floats, y_mm: Floats, height_mm: Floats) -> Warp:
    """
    Return the warp of a face from heights at places on it.

    Parameters
    ----------
    x_mm, y_mm : (n,) float array
        Places. [mm]
    height_mm : (n,) float array
        Heights, upwards from the plate. [mm]

    Returns
    -------
    warp : Warp
        About the least-squares plane, as a dial gauge on a plate sees it.

    Raises
    ------
    InputError
        Fewer than six places, or all on one line.
    """
    x, y, z = (np.asarray(item, dtype=float) for item in (x_mm, y_mm, height_mm))
    if not (x.size == y.size == z.size >= FEWEST and np.all(np.isfinite(np.concatenate([x, y, z])))):
        raise InputError(
            "warp", f"{z.size} heights", f"at least {FEWEST} with their places", "Measure more places."
        )
    side = max(float(np.ptp(x)), float(np.ptp(y)))
    u, v = (x - x.mean()) / (side or 1.0), (y - y.mean()) / (side or 1.0)
    plane = np.column_stack([np.ones_like(u), u, v])
    if np.linalg.matrix_rank(plane, tol=1e-6) < 3:
        raise InputError("warp", "all places on one line", "places over a face", "Measure across it as well.")
    flat = np.linalg.lstsq(plane, z, rcond=None)[0]
    apart = z - plane @ flat
    basis = np.column_stack([plane, u**2 + v**2])
    normal = np.linalg.pinv(basis.T @ basis)
    weights = normal @ (basis.T @ z)
    left = z - basis @ weights
    scatter = float(left @ left) / max(z.size - 4, 1)
    return Warp(
        float(np.ptp(apart)),
        0.25 * float(weights[3]),
        0.25 * float(np.sqrt(scatter * normal[3, 3])),
        float(np.hypot(flat[1], flat[2])),
    )
