"""Contrast transfer of a slanted edge, after the steps of ISO 12233."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from voidless.errors import InputError

__all__ = ["EdgeTransfer", "edge_transfer", "half_contrast_frequency"]

Floats = NDArray[np.float64]

_FINE = 4
"""Bins a pixel of the projected edge: ISO 12233."""
_FEWEST = 16
_STEEPEST = 0.25
"""Slope of the edge above which it is no longer near an axis. [px/px]"""
_FLATTEST = 0.01


@dataclass(frozen=True)
class EdgeTransfer:
    """
    How a picture carries contrast.

    Attributes
    ----------
    frequency : (n,) float array
        Spatial frequency, 0 to 1. [1/px]
    transfer : (n,) float array
        Contrast carried through, 1 at frequency 0. [1]
    bright, dark : float
        Levels far from the edge on both sides. [1]
    slope : float
        Of the edge against the axis. [px/px]
    wide : bool
        Whether the edge is so wide for the region that transfer is biased.
    """

    frequency: Floats
    transfer: Floats
    bright: float
    dark: float
    slope: float
    wide: bool

    def at(self, frequency: float) -> float:
        """Return the transfer at a frequency in 1/px, drawn between computed ones. [1]"""
        return float(np.interp(frequency, self.frequency, self.transfer))

    @property
    def contrast(self) -> float:
        """Michelson contrast of the far levels. [1]"""
        return (self.bright - self.dark) / (self.bright + self.dark)


def edge_transfer(light: ArrayLike, where: str = "edge") -> EdgeTransfer:
    """
    Return the contrast transfer that one straight edge shows.

    Parameters
    ----------
    light : (h, w) float array
        Linear light about one edge that runs nearly along rows or columns, slanted by some degrees. [1]
    where : str
        Name for errors.

    Returns
    -------
    transfer : EdgeTransfer
        Along the normal of the edge.

    Raises
    ------
    InputError
        The region is small, the edge is not straight, not slanted, or there is none.

    Notes
    -----
    Place of the edge in each line by the centroid of its derivative; straight line; four bins a pixel; derivative
    [-1/2, 0, 1/2]; Tukey taper; discrete Fourier transform. The derivative's loss sinc(f/2), f in 1/px, is divided
    out: the correction is derived, since the printed one of the 2014 and 2017 editions is reported as wrong.
    The loss of the bins, sinc(f/4), is left.
    """
    values = np.asarray(light, dtype=float)
    if values.ndim != 2 or min(values.shape) < _FEWEST or not np.all(np.isfinite(values)):
        raise InputError(
            where, f"a region of {values.shape}", "16 x 16 pixels or more", "Take a larger region."
        )
    if np.abs(np.diff(values.mean(axis=0))).max() < np.abs(np.diff(values.mean(axis=1))).max():
        values = values.T
    if values[:, : values.shape[1] // 4].mean() > values[:, -values.shape[1] // 4 :].mean():
        values = values[:, ::-1]
    slope, start = _line(values, where)
    distance = (
        np.arange(values.shape[1])[None, :] - start - slope * np.arange(values.shape[0])[:, None]
    ) / np.sqrt(1.0 + slope**2)
    profile = _projected(values, distance, where)
    spread = np.zeros(len(profile))
    spread[1:-1] = 0.5 * (profile[2:] - profile[:-2])
    width = _width(profile)
    taper = _taper(len(spread), int(np.argmax(_soft(spread))))
    size = 8 * len(spread)
    frequency = np.arange(size // 2) * _FINE / size
    transfer = np.abs(np.fft.fft(spread * taper, size)[: size // 2])
    if not transfer[0] > 0.0:
        raise InputError(
            where,
            "the two sides of the edge are equally bright",
            "a dark and a bright side",
            "Frame one edge.",
        )
    keep = frequency <= 1.0
    frequency, transfer = frequency[keep], transfer[keep] / transfer[0]
    corrected = transfer / np.sinc(frequency / 2.0)
    margin = max(len(profile) // 10, 2)
    dark, bright = float(np.median(profile[:margin])), float(np.median(profile[-margin:]))
    if not (bright > dark and bright + dark > 0):
        raise InputError(where, "no edge", "a dark and a bright side", "Check the region.")
    return EdgeTransfer(frequency, corrected, bright, dark, slope, width > len(profile) / 8.0)


def _soft(values: Floats) -> Floats:
    return np.convolve(values, np.ones(5) / 5.0, mode="same")


def _line(values: Floats, where: str) -> tuple[float, float]:
    """Return slope and start of the edge, from centroids of the derivative, the later ones near the line before."""
    slopes = np.diff(values, axis=1)
    place = np.arange(slopes.shape[1]) + 0.5
    rows = np.arange(len(values))
    taper = np.hanning(slopes.shape[1] + 2)[1:-1][None, :]
    line = None
    for _ in range(3):
        weight = slopes * taper
        total = weight.sum(axis=1)
        if not np.all(total > 0.2 * np.median(total)) or not np.median(total) > 0:
            raise InputError(
                where, "no single edge in every line", "one straight edge", "Take a tighter region."
            )
        centres = weight @ place / total
        line = np.polyfit(rows, centres, 1)
        taper = np.maximum(
            np.cos(
                np.clip((place[None, :] - np.polyval(line, rows)[:, None]) / values.shape[1] * 2, -0.5, 0.5)
                * np.pi
            ),
            0.0,
        )
    assert line is not None
    stray = float(np.std(centres - np.polyval(line, rows)))
    if not _FLATTEST <= abs(line[0]) <= _STEEPEST:
        raise InputError(
            where,
            f"an edge of {np.degrees(np.arctan(line[0])):.1f}° against the axis",
            "1 to 14°, best 5°",
            "Slant it.",
        )
    if not stray <= 1.0 + 0.05 * values.shape[1]:
        raise InputError(
            where, f"an edge that strays by {stray:.1f} px", "a straight edge", "Check the target."
        )
    return float(line[0]), float(line[1])


def _projected(values: Floats, distance: Floats, where: str) -> Floats:
    """Return the edge's profile, four bins a pixel, of bins that every part of the edge fills."""
    low = max(float(distance[:, 0].max()), -0.5 * values.shape[1])
    high = min(float(distance[:, -1].min()), 0.5 * values.shape[1])
    bins = np.floor((distance - low) * _FINE).astype(int)
    count = int((high - low) * _FINE)
    if count < 8 * _FINE:
        raise InputError(
            where, "an edge too near the border", "8 pixels on both sides", "Take a wider region."
        )
    inside = (bins >= 0) & (bins < count)
    filled = np.bincount(bins[inside], minlength=count)
    sums = np.bincount(bins[inside], weights=values[inside], minlength=count)
    known = filled > 0
    return np.interp(np.arange(count), np.flatnonzero(known), sums[known] / filled[known])


def _width(profile: Floats) -> float:
    """Return the rise of the profile from 10 to 90 %. [bins]"""
    low, high = np.median(profile[: len(profile) // 8]), np.median(profile[-len(profile) // 8 :])
    scaled = (_soft(profile)[2:-2] - low) / (high - low)
    return float(np.sum((scaled > 0.1) & (scaled < 0.9)))


def _taper(n: int, centre: int) -> Floats:
    """Return a Tukey taper about the edge, flat over its inner half."""
    half = max(min(centre, n - 1 - centre), 1)
    away = np.abs(np.arange(n) - centre) / half
    return np.asarray(
        np.where(away <= 0.5, 1.0, np.where(away < 1.0, 0.5 * (1 + np.cos(2 * np.pi * (away - 0.5))), 0.0))
    )


def half_contrast_frequency(edge: EdgeTransfer) -> float:
    """
    Return the frequency at which half of the contrast is left.

    Parameters
    ----------
    edge : EdgeTransfer
        Of a picture.

    Returns
    -------
    frequency : float
        First crossing of 0.5. [1/px]

    Raises
    ------
    InputError
        The transfer stays above one half up to 1/px.
    """
    below = np.flatnonzero(edge.transfer < 0.5)
    if below.size == 0 or below[0] == 0:
        raise InputError("half_contrast_frequency", "contrast stays above one half", "a blurred edge", "")
    k = int(below[0])
    f, m = edge.frequency[k - 1 : k + 1], edge.transfer[k - 1 : k + 1]
    return float(f[0] + (m[0] - 0.5) / (m[0] - m[1]) * (f[1] - f[0]))
