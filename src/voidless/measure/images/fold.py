"""Where voids sit within a layer and within a bead: the picture folded at the pitch."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from voidless.errors import InputError

__all__ = ["Fold", "find_pitch", "fold"]

Floats = NDArray[np.float64]

_FEWEST_PERIODS = 3
_DRAWS = 999
_MANY = 1000
"""Voids beyond which the sum of random phases is as good as normal, so that no draws are needed. [1]"""


@dataclass(frozen=True)
class Fold:
    """
    A picture of voids folded at a pitch.

    Attributes
    ----------
    phase : (n,) float array
        Middle of each class, 0 to 1; 0 is `origin`. [1]
    share : (n,) float array
        Share of voids in it. [1]
    gathered : float
        0 where voids are spread evenly over the pitch, 1 where all sit at one place. [1]
    place : float
        Where they gather, as phase. [1]
    chance : float
        How often voids laid at random places gather as much. [1]
    periods : float
        Pitches within the picture. [1]
    """

    phase: Floats
    share: Floats
    gathered: float
    place: float
    chance: float
    periods: float


def fold(
    weight: ArrayLike,
    pitch_px: float,
    rng: np.random.Generator,
    angle: float = 0.0,
    origin_px: float = 0.0,
    classes: int = 20,
) -> Fold:
    """
    Return the share of voids against the place within a pitch.

    Parameters
    ----------
    weight : (h, w) float array
        How much of each pixel is void. [1]
    pitch_px : float
        Layer thickness or bead pitch. [px]
    rng : Generator
        For the test against chance.
    angle : float
        Direction in which the pitch is counted, 0 down the rows, π/2 along the columns. [rad]
    origin_px : float
        Where an interface lies along that direction; without it the place is relative. [px]
    classes : int
        Classes of a pitch. [1]

    Returns
    -------
    fold : Fold
        Phase 0 is at `origin_px`.

    Raises
    ------
    InputError
        The picture holds fewer than three pitches, or a pitch fewer than four pixels.

    Notes
    -----
    Length of the mean vector of phases (Rayleigh). The chance compares it with voids moved as wholes to random
    phases, so that many pixels of one void do not count as many voids.
    """
    from scipy import ndimage

    voids = np.asarray(weight, dtype=float)
    rows, columns = np.indices(voids.shape)
    along = rows * np.cos(angle) + columns * np.sin(angle) - origin_px
    periods = float(np.ptp(along)) / pitch_px if pitch_px > 0 else 0.0
    if not (periods >= _FEWEST_PERIODS and pitch_px >= 4.0):
        raise InputError(
            "fold",
            f"{periods:.1f} pitches of {pitch_px:g} px",
            "three or more, of 4 px or more",
            "Take a larger field.",
        )
    phase = np.mod(along / pitch_px, 1.0)
    which = np.minimum((phase * classes).astype(int), classes - 1).ravel()
    area = np.bincount(which, minlength=classes)
    held = np.bincount(which, weights=voids.ravel(), minlength=classes)
    total = float(voids.sum())
    share = np.where(area > 0, held / np.maximum(area, 1), np.nan)
    middle = (np.arange(classes) + 0.5) / classes
    if not total > 0:
        return Fold(middle, share, 0.0, 0.0, 1.0, periods)
    turns = voids * np.exp(2j * np.pi * phase)
    labels, count = ndimage.label(voids > 0, structure=np.ones((3, 3)))
    each = np.array(ndimage.sum_labels(turns.real, labels, np.arange(1, count + 1))) + 1j * np.array(
        ndimage.sum_labels(turns.imag, labels, np.arange(1, count + 1))
    )
    mean = complex(each.sum()) / total
    place = float(np.mod(np.angle(mean) / (2 * np.pi), 1.0))
    return Fold(middle, share, abs(mean), place, _chance(np.abs(each), abs(each.sum()), rng), periods)


def _chance(lengths: Floats, reached: float, rng: np.random.Generator) -> float:
    """
    Return how often arrows of these lengths, each turned at random, reach as far together.

    Of many, each part of the sum is normal with half the sum of squares as its variance (Rayleigh 1880).
    """
    if len(lengths) > _MANY:
        return float(np.exp(-(reached**2) / (lengths**2).sum()))
    random = np.abs(np.exp(2j * np.pi * rng.random((_DRAWS, len(lengths)))) @ lengths)
    return (1.0 + float((random >= reached).sum())) / (_DRAWS + 1.0)


def find_pitch(values: ArrayLike, low_px: float, high_px: float, axis: int = 0) -> float:
    """
    Return the pitch at which a picture repeats.

    Parameters
    ----------
    values : (h, w) float array
        Picture or voids. [1]
    low_px, high_px : float
        Between which the pitch lies. [px]
    axis : int
        0 down the rows, 1 along the columns. [1]

    Returns
    -------
    pitch : float
        Of the strongest period of the profile. [px]

    Raises
    ------
    InputError
        The bounds do not fit the picture.
    """
    profile = np.asarray(values, dtype=float).mean(axis=1 - axis)
    n = len(profile)
    if not 2.0 <= low_px < high_px <= n / 2:
        raise InputError("find_pitch", f"{low_px:g} to {high_px:g} px", f"2 to {n / 2:g} px", "Correct them.")
    place = np.arange(n)
    straight = profile - np.polyval(np.polyfit(place, profile, 1), place)
    taper = np.hanning(n)
    tried = np.arange(1.0 / high_px, 1.0 / low_px, 0.05 / n)
    power = np.abs(np.exp(-2j * np.pi * np.outer(tried, place)) @ (straight * taper))
    best = int(np.argmax(power))
    if 0 < best < len(tried) - 1:
        a, b, c = power[best - 1 : best + 2]
        return float(1.0 / (tried[best] + 0.5 * (a - c) / (a - 2 * b + c) * (tried[1] - tried[0])))
    return float(1.0 / tried[best])
