"""Grey levels of solid and void: even light, noise, mid-level, and why blind thresholds are not trusted."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = ["Split", "even_light", "otsu", "robust_spread", "trust_split"]

Floats = NDArray[np.float64]
Mask = NDArray[np.bool_]

SEPARATION = 3.0
"""Pooled standard deviations between two classes below which a blind threshold is not believed. [1]"""
MINORITY = 0.02
"""Share of the smaller class below which a blind threshold is not believed. [1]"""
_TILE = 64
_MAD = 1.4826
"""Standard deviation of a normal law over its median absolute deviation. [1]"""


@dataclass(frozen=True)
class Split:
    """
    A histogram cut in two.

    Attributes
    ----------
    level : int
        Last class of the lower part.
    share : float
        Share of the lower part. [1]
    between, within : float
        Variance between and within the two parts. [class²]
    separation : float
        Distance of their means over their pooled standard deviation. [1]
    """

    level: int
    share: float
    between: float
    within: float
    separation: float


def otsu(counts: ArrayLike) -> Split:
    """
    Return where a histogram splits with the largest variance between its parts.

    Parameters
    ----------
    counts : (n,) float array
        Pixels by class. [1]

    Returns
    -------
    split : Split
        To be believed only where `trust_split` says so.

    Notes
    -----
    N. Otsu, "A threshold selection method from gray-level histograms", IEEE Trans. SMC 9 (1979) 62. With one part below
    a few per cent it cuts the larger part in half: 0.1 % of voids read as 50 %.
    """
    weight = np.asarray(counts, dtype=float)
    total = weight.sum()
    grey = np.arange(len(weight), dtype=float)
    below = np.cumsum(weight)[:-1] / total
    mean = float(weight @ grey) / total
    sums = np.cumsum(weight * grey)[:-1] / total
    inside = (below > 0) & (below < 1)
    between = np.zeros(len(below))
    between[inside] = (mean * below[inside] - sums[inside]) ** 2 / (below[inside] * (1.0 - below[inside]))
    level = int(np.argmax(between))
    variance = float(weight @ (grey - mean) ** 2) / total
    within = variance - float(between[level])
    share = float(below[level])
    gap = mean - float(sums[level]) / share if 0 < share < 1 else 0.0
    distance = gap / (1.0 - share) if share < 1 else 0.0
    return Split(level, share, float(between[level]), within, distance / max(within, 1e-300) ** 0.5)


def trust_split(split: Split) -> bool:
    """
    Return whether a blind threshold may be believed.

    Parameters
    ----------
    split : Split
        Of a histogram.

    Returns
    -------
    trusted : bool
        Two classes three pooled standard deviations apart, neither below 2 %.
    """
    return split.separation >= SEPARATION and MINORITY <= split.share <= 1.0 - MINORITY


def robust_spread(values: Floats) -> float:
    """Return the standard deviation of the bulk of (n,) values, blind to a few strays: 1.4826 MAD. [as given]"""
    if values.size == 0:
        return float("nan")
    return _MAD * float(np.median(np.abs(values - np.median(values))))


def even_light(grey: Floats, solid: Mask, tile: int = _TILE) -> Floats:
    """
    Return the light that falls on each pixel, from the solid around it.

    Parameters
    ----------
    grey : (h, w) float array
        Picture. [1]
    solid : (h, w) bool array
        Pixels that are surely solid.
    tile : int
        Width over which light counts as even. [1]

    Returns
    -------
    light : (h, w) float array
        Tile medians of solid pixels, drawn between tile centres. [1]
    """
    from scipy import ndimage

    rows, columns = (max(1, round(side / tile)) for side in grey.shape)
    edges = [
        np.linspace(0, side, n + 1).astype(int) for side, n in zip(grey.shape, (rows, columns), strict=True)
    ]
    medians = np.full((rows, columns), np.nan)
    for i in range(rows):
        for k in range(columns):
            place = np.s_[edges[0][i] : edges[0][i + 1], edges[1][k] : edges[1][k + 1]]
            inside = grey[place][solid[place]]
            if inside.size >= 0.1 * grey[place].size:
                medians[i, k] = np.median(inside)
    if np.all(np.isnan(medians)):
        return np.full(grey.shape, float(np.median(grey)))
    near = ndimage.distance_transform_edt(np.isnan(medians), return_distances=False, return_indices=True)
    medians = medians[tuple(near)]  # not smoothed: that would flatten light that falls off in a curve
    places = [
        (np.arange(side) + 0.5) * n / side - 0.5 for side, n in zip(grey.shape, (rows, columns), strict=True)
    ]
    return _between(medians, places[0], places[1])


def _between(values: Floats, rows: Floats, columns: Floats) -> Floats:
    """Return values at fractional rows and columns, linear between and straight on beyond the outer centres."""
    for axis, places in enumerate((rows, columns)):
        count = values.shape[axis]
        if count == 1:
            values = np.repeat(values, len(places), axis=axis)
            continue
        low = np.clip(np.floor(places).astype(int), 0, count - 2)
        share = np.expand_dims(places - low, 1 - axis)
        values = np.take(values, low, axis=axis) * (1.0 - share) + np.take(values, low + 1, axis=axis) * share
    return values
