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

_ROUNDS = 16
_CLOUD = 256
_SCALES = (1.0, 0.6, 0.35, 0.2)
_INSIDE = 192
_CHECKED = 1024
_DRAWS = 400
_MOST_CORNERS = 256
# A side ends this much nearer to the recipe than the point that failed, for those between the points tried.
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
    question: Question,
    at: Floats,
    probability: float,
    alone: Tolerances,
    level: float,
    rng: np.random.Generator,
) -> Box | None:
    """
    Return a large box about a point in which the probability stays at `level` or above.

    Parameters
    ----------
    question : Question
        Model, specifications and machine.
    at : (k,) float array
        Recipe. [shop units]
    probability : float
        That of the recipe, from more draws; what fewer draws miss there is added everywhere (`tolerances`). [1]
    alone : Tolerances
        How far each factor may move alone: the box is sought inside these ranges.
    level : float
        Probability to keep. [1]
    rng : numpy.random.Generator
        Source of randomness.

    Returns
    -------
    box : Box or None
        None where not even the recipe keeps the level, or no box was found.

    Notes
    -----
    Points over the ranges of single factors, dense towards the recipe, show where the level fails. The box
    of their proportions grows until it meets the first such point, then side by side. Its corners and inside
    are tried, what fails is added, and the box is drawn anew until 1,024 points inside and all corners
    hold. A large box, not proven to be the largest.
    """
    low = np.array([item.low for item in alone.items])
    high = np.array([item.high for item in alone.items])
    luck = int(rng.integers(2**32))

    def judged(points: Floats) -> tuple[NDArray[np.bool_], float]:
        found, _ = question.pass_shares(np.vstack([at, points]), _DRAWS, np.random.default_rng(luck))
        chance = found[1:] + (probability - found[0])
        allowed = np.asarray(question.feasible(points), dtype=bool)
        return (chance >= level) & allowed, float(np.min(np.where(allowed, chance, 0.0)))

    if not judged(at[None, :])[0][0]:
        return None
    cloud = np.vstack([at + scale * (_tried(low, high, _CLOUD, rng) - at) for scale in _SCALES])
    bad = cloud[~judged(cloud)[0]]
    count = _INSIDE
    for round_ in range(_ROUNDS):
        box_low, box_high = _grown(at, low, high, bad)
        shrunk = (
            1.0 - round_ / _ROUNDS
        )  # corners that fail again and again mean that it is too large as a whole
        box_low, box_high = at + shrunk * (box_low - at), at + shrunk * (box_high - at)
        points = _tried(box_low, box_high, count, rng)
        held, lowest = judged(points)
        if held.all() and count == _CHECKED:
            return Box(question.space.names, box_low, box_high, lowest)
        count = _CHECKED if held.all() else count
        bad = np.vstack([bad, points[~held]])
    return None


def _grown(at: Floats, low: Floats, high: Floats, bad: Floats) -> tuple[Floats, Floats]:
    """Return the box inside `low` and `high` that holds none of the bad points: evenly first, then side by side."""
    above = bad > at
    room = np.where(above, high - at, at - low)
    away = np.abs(bad - at) / np.where(room > 0.0, room, np.inf)  # 1 at the end of a single factor's range
    even = min(1.0, _SHORT_OF * float(np.min(np.max(away, axis=1), initial=np.inf)))
    sides = np.full((2, at.size), even)  # below, above
    for share in (0.5, 0.5, 1.0):
        for column in range(at.size):
            for side in (0, 1):
                own = sides[above.astype(int), np.arange(at.size)]
                inside = away <= own
                inside[:, column] = above[:, column] == bool(side)
                blocking = away[inside.all(axis=1), column]
                limit = min(1.0, _SHORT_OF * float(np.min(blocking, initial=np.inf)))
                sides[side, column] += share * max(0.0, limit - sides[side, column])
    return at - sides[0] * (at - low), at + sides[1] * (high - at)


def _tried(low: Floats, high: Floats, count: int, rng: np.random.Generator) -> Floats:
    """Return the corners (some, where there are too many) and points inside."""
    k = low.size
    corners = np.array(list(product((0.0, 1.0), repeat=k))) if 2**k <= _MOST_CORNERS else None
    if corners is None:
        corners = rng.integers(0, 2, (_MOST_CORNERS, k)).astype(float)
    unit = np.vstack([corners, even_points(count, k, rng)])
    return np.unique(low + unit * (high - low), axis=0)
