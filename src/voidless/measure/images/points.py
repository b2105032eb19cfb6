"""Void share by counted points and by fields, with its confidence."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import stdtrit

from voidless.errors import InputError

__all__ = ["PointCount", "field_shares", "grid_hits", "point_count", "unseen_share"]

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class PointCount:
    """
    A share from fields.

    Attributes
    ----------
    mean_pct, deviation_pct : float
        Mean and standard deviation between fields. [%]
    reach_pct : float
        Half-width of the 95 % interval of the mean. [%]
    relative_pct : float
        That half-width over the mean, infinite where the mean is 0; about 10 is aimed at. [%]
    fields : int
        How many. [1]
    """

    mean_pct: float
    deviation_pct: float
    reach_pct: float
    relative_pct: float
    fields: int


def point_count(shares_pct: ArrayLike, where: str = "fields") -> PointCount:
    """
    Return mean and confidence of the shares that fields show.

    Parameters
    ----------
    shares_pct : (n,) float array
        Points on voids over all points, by field; a point on a border counts half. [%]
    where : str
        Place that an error names.

    Returns
    -------
    count : PointCount
        95 % interval by Student's t.

    Raises
    ------
    InputError
        There are fewer than two fields or a share lies outside 0 to 100.

    Notes
    -----
    ASTM E562 (scope seen, table of t from memory and equal to Student's). Voids of printed parts run along the
    beads: cut across them, and let each field hold whole periods of beads.
    """
    shares = np.asarray(shares_pct, dtype=float)
    if shares.ndim != 1 or len(shares) < 2 or not np.all((shares >= 0) & (shares <= 100)):
        raise InputError(
            where, f"shares {shares[:5]}", "two fields or more, 0 to 100 %", "Count more fields."
        )
    mean, deviation = float(shares.mean()), float(shares.std(ddof=1))
    reach = float(stdtrit(len(shares) - 1, 0.975)) * deviation / sqrt(len(shares))
    return PointCount(mean, deviation, reach, 100.0 * reach / mean if mean > 0 else float("inf"), len(shares))


def unseen_share(points: int) -> float:
    """
    Return the largest share that no hit among so many independent points leaves open, at 95 %.

    Parameters
    ----------
    points : int
        Points, none of them on a void. [1]

    Returns
    -------
    share : float
        1 - 0.05^(1/n). [1]

    Raises
    ------
    InputError
        There are no points.

    Examples
    --------
    >>> round(100 * unseen_share(3000), 4)
    0.0998
    """
    if not points > 0:
        raise InputError("unseen_share", f"{points} points", "one or more", "Count points.")
    return float(1.0 - 0.05 ** (1.0 / points))


def field_shares(weight: ArrayLike, size: tuple[float, float]) -> Floats:
    """
    Return the share of voids of each whole field of a picture.

    Parameters
    ----------
    weight : (h, w) float array
        How much of each pixel is void. [1]
    size : (float, float)
        Height and width of a field, best whole periods of layers and beads. [px]

    Returns
    -------
    shares : (n,) float array
        By field, rows first; what is left at the far edges is not used. [1]

    Raises
    ------
    InputError
        A field is larger than the picture or smaller than a pixel.
    """
    values = np.asarray(weight, dtype=float)
    if not all(1 <= part <= whole for part, whole in zip(size, values.shape, strict=True)):
        raise InputError("field_shares", f"fields of {size} px", f"1 px to {values.shape}", "Correct it.")
    edges = [
        np.round(np.arange(0, whole + 1e-9, part)).astype(int)
        for part, whole in zip(size, values.shape, strict=True)
    ]
    return np.array(
        [
            values[top:below, left:right].mean()
            for top, below in zip(edges[0], edges[0][1:], strict=False)
            for left, right in zip(edges[1], edges[1][1:], strict=False)
        ]
    )


def grid_hits(mask: NDArray[np.bool_], spacing: int, rng: np.random.Generator) -> tuple[int, int]:
    """
    Return how many points of a square grid fall on voids, and how many there are.

    Parameters
    ----------
    mask : (h, w) bool array
        Voids.
    spacing : int
        Between points. [px]
    rng : Generator
        Lays the grid.

    Returns
    -------
    hits : (int, int)
        Points on voids, and all points. [1]

    Raises
    ------
    InputError
        The spacing is below one pixel.
    """
    if not spacing >= 1:
        raise InputError("grid_hits", f"spacing {spacing} px", "1 px or more", "Correct it.")
    down, right = rng.integers(0, spacing, 2)
    chosen = mask[down::spacing, right::spacing]
    return int(chosen.sum()), int(chosen.size)
