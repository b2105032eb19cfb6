"""First-layer gap from single beads, and the tilt of the bed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from voidless.errors import InputError

__all__ = ["Gap", "first_layer_gap"]


@dataclass(frozen=True)
class Gap:
    """
    True thickness of a first layer against the commanded one.

    Attributes
    ----------
    offset_mm, uncertainty_mm : float
        Measured less commanded in the middle of the bed: positive is too far from the bed. [mm]
    tilt_x_mm_m, tilt_y_mm_m : float
        Slope of the gap. [mm/m]
    range_mm : float
        Largest less smallest gap over the places. [mm]
    flags : tuple of str
        What to know.
    """

    offset_mm: float
    uncertainty_mm: float
    tilt_x_mm_m: float
    tilt_y_mm_m: float
    range_mm: float
    flags: tuple[str, ...]


def first_layer_gap(
    x_mm: Sequence[float],
    y_mm: Sequence[float],
    thickness_mm: Sequence[float],
    commanded_mm: float,
    instrument_uncertainty_mm: float,
) -> Gap:
    """
    Return the first-layer gap from the thickness of small first-layer squares.

    Parameters
    ----------
    x_mm, y_mm, thickness_mm : sequence of float
        Place of each square on the bed, and its thickness by a micrometer. [mm]
    commanded_mm : float
        Layer thickness as commanded. [mm]
    instrument_uncertainty_mm : float
        Standard uncertainty common to all readings. [mm]

    Returns
    -------
    gap : Gap
        A plane through the differences; fewer than four places give a mean and no tilt.

    Raises
    ------
    InputError
        No place, unequal numbers, or a thickness that is not above 0.

    Notes
    -----
    A square fed with more than fits stands up between the beads, and a micrometer touches crests: feed it at or
    slightly below full, and measure on the bed side up.
    """
    x, y, read = (np.asarray(item, dtype=float) for item in (x_mm, y_mm, thickness_mm))
    if not (x.size == y.size == read.size > 0 and np.all(read > 0) and commanded_mm > 0):
        raise InputError(
            "first-layer gap", f"{read.size} thicknesses", "places with a thickness above 0", "Measure."
        )
    gap = read - commanded_mm
    basis = np.column_stack([np.ones_like(x), x - x.mean(), y - y.mean()])
    flags = []
    if (
        x.size < 4
        or np.linalg.matrix_rank(basis, tol=1e-6 * max(float(np.ptp(x)), float(np.ptp(y)), 1.0)) < 3
    ):
        basis = basis[:, :1]
        flags.append("too few places for a tilt")
    weights = np.linalg.lstsq(basis, gap, rcond=None)[0]
    left = gap - basis @ weights
    freedom = x.size - basis.shape[1]
    scatter = float(np.sqrt(left @ left / freedom)) if freedom > 0 else 0.0
    if freedom <= 0:
        flags.append("no place beside those the fit needs: the scatter is not known")
    tilt = 1e3 * weights[1:] if weights.size > 1 else np.zeros(2)
    return Gap(
        float(weights[0]),
        float(np.hypot(scatter / x.size**0.5, instrument_uncertainty_mm)),
        float(tilt[0]),
        float(tilt[1]),
        float(np.ptp(gap)),
        tuple(flags),
    )
