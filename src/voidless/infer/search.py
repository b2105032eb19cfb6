"""Candidate points: even over the space, and close to good points."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from voidless.campaign.space import Space
from voidless.errors import InputError

__all__ = ["Feasible", "between", "candidates", "even_points", "front", "near"]

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
Ints = NDArray[np.int64]
Feasible = Callable[[Floats], Bools]

_REACH = (0.15, 0.06, 0.025)


def even_points(count: int, k: int, rng: np.random.Generator) -> Floats:
    """
    Return points spread evenly over the unit cube, `(count, k)`. [1]

    Notes
    -----
    Additive recurrence with the powers of the root of x^(k+1) = x + 1 (a generalised golden ratio; Roberts
    2018, from memory), shifted at random.
    """
    root = 2.0
    for _ in range(40):
        root = (1.0 + root) ** (1.0 / (k + 1))
    steps = root ** -np.arange(1.0, k + 1.0)
    return np.asarray((rng.uniform(size=k) + np.outer(np.arange(1, count + 1), steps)) % 1.0)


@dataclass(frozen=True)
class _Pool:
    space: Space
    feasible: Feasible

    def allowed(self, unit: Floats) -> Floats:
        points = np.unique(self.space.snap(self.space.from_unit(unit)), axis=0)
        mask = np.asarray(self.feasible(points), dtype=bool)
        return np.asarray(points[mask])


def candidates(space: Space, feasible: Feasible, count: int, rng: np.random.Generator) -> Floats:
    """
    Return up to `count` distinct feasible points, even over the space. [shop units]

    Raises
    ------
    InputError
        No point that was tried is feasible.
    """
    pool = _Pool(space, feasible)
    found = np.zeros((0, len(space.factors)))
    for _ in range(6):
        tried = pool.allowed(even_points(count, len(space.factors), rng))
        found = np.unique(np.vstack([found, tried]), axis=0)
        if len(found) >= count // 2:
            break
    if not len(found):
        raise InputError(
            "factors",
            "no combination of the factors' ranges is within the limits of machine and material",
            "ranges that hold some feasible point",
            "Widen a range, or lower speed, layer thickness or width.",
        )
    return np.asarray(found[rng.permutation(len(found))[:count]])


def front(cost: Floats, chance: Floats, levels: Sequence[float], each: int) -> Ints:
    """Return rows of least cost at every level of probability, levels as shares of the highest one."""
    highest, order = float(chance.max()), np.argsort(cost, kind="stable")
    kept = [order[chance[order] >= level * highest][:each] for level in levels]
    return np.unique(np.concatenate([*kept, np.argsort(-chance, kind="stable")[:each]]))


def between(
    space: Space, feasible: Feasible, centres: Floats, count: int, rng: np.random.Generator
) -> Floats:
    """
    Return feasible points on the straight lines between pairs of centres. [shop units]

    Parameters
    ----------
    centres : (m, k) float array
        Points. [shop units]
    count : int
        Points tried.
    """
    unit = space.to_unit(centres)
    one, other = rng.integers(0, len(unit), (2, count))
    share = rng.random((count, 1))
    return _Pool(space, feasible).allowed(share * unit[one] + (1.0 - share) * unit[other])


def near(space: Space, feasible: Feasible, centres: Floats, each: int, rng: np.random.Generator) -> Floats:
    """
    Return feasible points close to some centres, the centres included. [shop units]

    Parameters
    ----------
    centres : (m, k) float array
        Points. [shop units]
    each : int
        Points tried around each centre.
    """
    unit = space.to_unit(centres)
    k = unit.shape[1]
    reach = np.repeat(_REACH, -(-each // len(_REACH)))[:each]
    moves = reach[None, :, None] * rng.standard_normal((len(unit), each, k))
    kept = rng.random((len(unit), each, k)) < max(0.4, 2.0 / k)  # move a few factors at a time
    tried = np.clip(unit[:, None, :] + np.where(kept, moves, 0.0), 0.0, 1.0)
    return _Pool(space, feasible).allowed(np.vstack([unit, tried.reshape(-1, k)]))
