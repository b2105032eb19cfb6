"""The largest box of settings, all moving at once, that keeps a claim."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from voidless.infer.search import even_points

if TYPE_CHECKING:
    from voidless.infer.question import Question
    from voidless.infer.tolerance import Tolerances

__all__ = ["Box", "tolerance_box"]

Floats = NDArray[np.float64]

_ROUNDS = 12
_INSIDE = 192
_CHECKED = 1024
_DRAWS = 400
_MOST_CORNERS = 256
# A side is cut this much nearer to the recipe than the point that failed, for those between the points tried.
_SHORT_OF = 0.9


@dataclass(frozen=True)
class Box:
    """
    Ranges in which all settings may move at once.

    Attributes
    ----------
    low, high : (k,) float array
        Ends of the ranges; the recipe lies between. [shop units]
    lowest : float
        Lowest probability seen in the box: at its corners and 1,024 points inside. [1]
    """

    names: tuple[str, ...]
    low: Floats
    high: Floats
    lowest: float

    def to_dict(self) -> dict[str, Any]:
        """Return plain data for JSON."""
        ends = zip(self.names, self.low, self.high, strict=True)
        return {
            "factors": {name: {"low": float(low), "high": float(high)} for name, low, high in ends},
            "lowest_probability": self.lowest,
        }


def tolerance_box(
    question: Question, at: Floats, alone: Tolerances, level: float, rng: np.random.Generator
) -> Box | None:
    """
    Return a large box about a point in which the probability stays at `level` or above.

    Parameters
    ----------
    question : Question
        Model, specifications and machine.
    at : (k,) float array
        Recipe. [shop units]
    alone : Tolerances
        How far each factor may move alone: the box is sought inside these ranges.
    level : float
        Probability to keep. [1]
    rng : numpy.random.Generator
        Source of randomness.

    Returns
    -------
    box : Box or None
        None where not even the recipe keeps the level on fresh draws, or no box was found.

    Notes
    -----
    Starts from the ranges of single factors. Every point tried that fails cuts the side whose loss costs the
    least volume; points are tried anew until all corners and everything inside hold. A large box, not
    proven to be the largest.
    """
    low = np.array([item.low for item in alone.items])
    high = np.array([item.high for item in alone.items])
    luck = int(rng.integers(2**32))

    def failing(points: Floats) -> tuple[NDArray[np.bool_], float]:
        chance, _ = question.pass_shares(points, _DRAWS, np.random.default_rng(luck))
        allowed = np.asarray(question.feasible(points), dtype=bool)
        return ~((chance >= level) & allowed), float(np.min(np.where(allowed, chance, 0.0)))

    if failing(at[None, :])[0][0]:
        return None
    count = _INSIDE
    for _ in range(_ROUNDS):
        points = _tried(low, high, count, rng)
        bad, lowest = failing(points)
        if not bad.any():
            if count == _CHECKED:
                return Box(question.space.names, low, high, lowest)
            count = _CHECKED
            continue
        low, high = _cut(at, low, high, points[bad])
    return None


def _tried(low: Floats, high: Floats, count: int, rng: np.random.Generator) -> Floats:
    """Return the corners (some, where there are too many) and points inside."""
    k = low.size
    corners = np.array(list(product((0.0, 1.0), repeat=k))) if 2**k <= _MOST_CORNERS else None
    if corners is None:
        corners = rng.integers(0, 2, (_MOST_CORNERS, k)).astype(float)
    unit = np.vstack([corners, even_points(count, k, rng)])
    return np.unique(low + unit * (high - low), axis=0)


def _cut(at: Floats, low: Floats, high: Floats, bad: Floats) -> tuple[Floats, Floats]:
    """Return the box without the failing points, cut where the least volume is lost."""
    low, high = low.copy(), high.copy()
    away = np.max(np.abs(bad - at) / np.where(high > low, high - low, 1.0), axis=1)
    for point in bad[np.argsort(away)]:
        if np.any((point < low) | (point > high)):
            continue  # an earlier cut took it off already
        kept = at + _SHORT_OF * (point - at)
        above = point > at
        width = np.where(above, kept - low, high - kept)
        with np.errstate(divide="ignore", invalid="ignore"):
            share = np.where((point != at) & (high > low), width / (high - low), -1.0)
        side = int(np.argmax(share))
        if above[side]:
            high[side] = kept[side]
        else:
            low[side] = kept[side]
    return low, high
