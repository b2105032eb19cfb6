"""The rule by which every way with a model recommends, and the start that all of them share."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from benchmarks.labs.bench import SPACE, USUAL, build_minutes, feasible
from numpy.typing import NDArray

from voidless.infer.search import candidates

Floats = NDArray[np.float64]

CONFIDENCE = 0.9
START = 4
_AS_LIKELY = 0.95


@dataclass(frozen=True)
class Step:
    """
    What a way of choosing says after some builds.

    Attributes
    ----------
    recipe : (k,) float array or None
        Setting it recommends; None: nothing yet.
    probability : float
        Probability that the next build passes, as it states it; NaN where it states none. [1]
    following : (k,) float array
        Setting of the next build.
    levels : mapping of float to (point, probability)
        Fastest setting at other levels of confidence, where it states any.
    """

    recipe: Floats | None
    probability: float
    following: Floats
    levels: dict[float, tuple[Floats, float]] = field(default_factory=dict)


def start(seed: int) -> list[Floats]:
    """Return the usual settings and three more, even over the allowed space."""
    rng = np.random.default_rng([seed, 23])
    return [USUAL, *candidates(SPACE, feasible, START - 1, rng)]


def recommended(points: Floats, probability: Floats) -> int:
    """Return the row of the fastest point that reaches the confidence, else the fastest of the likeliest."""
    level = min(CONFIDENCE, _AS_LIKELY * float(probability.max()))
    enough = np.flatnonzero(probability >= level)
    return int(enough[np.argmin(build_minutes(points[enough]))])


def levels_of(points: Floats, probability: Floats) -> dict[float, tuple[Floats, float]]:
    """Return the fastest point at several levels, where one reaches them."""
    found = {}
    for level in (0.5, 0.8, 0.9, 0.95):
        enough = np.flatnonzero(probability >= level)
        if enough.size:
            row = enough[np.argmin(build_minutes(points[enough]))]
            found[level] = (points[row], float(probability[row]))
    return found
