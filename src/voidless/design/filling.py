"""Space-filling plans and the default start of a campaign."""

from __future__ import annotations

import numpy as np

from voidless.design.ground import Ground, sample
from voidless.design.terms import model_terms
from voidless.design.types import Draft, Floats, Size

__all__ = ["crowding", "fill", "space_filling", "start"]

POOL = 3000
PASSES = 20


def crowding(unit: Floats, others: Floats, size: int) -> Floats:
    """
    Return how crowded points are among others: large when close in any projection.

    Parameters
    ----------
    unit : (m, k) float array
        Points in the unit cube. [1]
    others : (n, k) float array
        Points already there. [1]
    size : int
        Points of the finished plan, which set the distance below which two levels count as equal. [1]

    Returns
    -------
    crowding : (m,) float array
        Sum over others of the product over factors of 1 / (difference² + 1 / size²). [1]

    Notes
    -----
    The maximum-projection criterion of Joseph, Gul & Ba, "Maximum projection designs for computer
    experiments", Biometrika 102 (2015) 371-380 (from memory), with a floor so that factors of few
    levels may repeat a level.
    """
    apart = (unit[:, None, :] - others[None, :, :]) ** 2 + 1.0 / size**2
    return np.asarray(np.sum(1.0 / np.prod(apart, axis=2), axis=1))


def fill(base: Ground, fixed: Floats, count: int, rng: np.random.Generator) -> Floats:
    """
    Return points that fill the allowed region around points already there.

    Parameters
    ----------
    base : Ground
        Factors and limits.
    fixed : (m, k) float array
        Points already there. [shop units]
    count : int
        Points wanted. [1]
    rng : numpy.random.Generator
        Source of randomness.

    Returns
    -------
    points : (count, k) float array
        Fewer where the factors have fewer distinct allowed combinations. [shop units]
    """
    pool = np.unique(sample(base, POOL, rng), axis=0)
    pool = pool[~(pool[:, None, :] == fixed[None, :, :]).all(axis=2).any(axis=1)] if len(fixed) else pool
    count = min(count, len(pool))
    if count <= 0:
        return np.zeros((0, len(base.names)))
    unit, there = base.space.to_unit(pool), base.space.to_unit(fixed)
    total = len(fixed) + count
    chosen: list[int] = []
    crowd = crowding(unit, there, total)
    for _ in range(count):  # one by one, each where it is least crowded; ties and the first at random
        order = rng.permutation(len(pool))
        best = int(order[np.argmin(crowd[order])])
        chosen.append(best)
        crowd = crowd + crowding(unit, unit[[best]], total)
        crowd[best] = np.inf
    return np.asarray(pool[_exchange(unit, there, chosen, total)])


def _exchange(unit: Floats, there: Floats, chosen: list[int], total: int) -> list[int]:
    """Move one point after the other to where it is least crowded, until none moves."""
    around = crowding(unit, there, total)
    share = np.stack([crowding(unit, unit[[index]], total) for index in chosen])
    for _ in range(PASSES):
        moved = False
        for place, now in enumerate(chosen):
            # summed anew: a point's share at itself is so large that taking it off a sum leaves rounding
            crowd = around + share[:place].sum(axis=0) + share[place + 1 :].sum(axis=0)
            crowd[chosen[:place] + chosen[place + 1 :]] = np.inf
            best = int(np.argmin(crowd))
            if crowd[best] < crowd[now] * (1.0 - 1e-9):
                chosen[place] = best
                share[place] = crowding(unit, unit[[best]], total)
                moved = True
        if not moved:
            break
    return chosen


def _terms(base: Ground, distinct: int) -> tuple[str, ...]:
    linear = model_terms(base.names, "linear")
    return linear if distinct >= len(linear) else ()


def _with_usual(
    base: Ground, distinct: int, equal: int, notes: tuple[str, ...], rng: np.random.Generator
) -> Draft:
    usual = np.repeat(base.usual[None, :], equal, axis=0)
    filled = fill(base, np.concatenate([base.earlier, base.usual[None, :]]), distinct - 1, rng)
    if len(filled) < distinct - 1:
        notes += (f"Only {len(filled) + 1} distinct allowed combinations were found; all are in the plan.",)
    rows = np.concatenate([usual, filled])
    return Draft(rows, _terms(base, len(filled) + 1), notes, np.arange(len(rows)) < equal)


def _equal_builds(size: Size, room: int) -> int:
    """Return how many builds of the usual settings `room` builds hold: three, or one per session if more."""
    if size.repeats is not None:
        return max(1, min(size.repeats + 1, room))
    spare = 3 if room >= 6 else 2 if room >= 4 else 1
    return max(1, min(max(spare, size.sessions if size.sessions > 1 else 0), room))


def space_filling(base: Ground, size: Size, rng: np.random.Generator) -> Draft:
    """Return the usual settings, three times, and points spread evenly over what is allowed."""
    natural = 2 * len(base.names) + 4
    room = size.asked if size.asked is not None else min(natural + 2, size.most or natural + 2)
    equal = _equal_builds(size, room)
    notes = (
        "Made for surrogate models that learn a smooth response, not for reading off effects one by one.",
        *_scatter_note(equal),
    )
    return _with_usual(base, room - equal + 1, equal, notes, rng)


def start(base: Ground, size: Size, rng: np.random.Generator) -> Draft:
    """
    Return the few builds from which a campaign goes on with `next`.

    max(4, ceil(k/2) + 2) distinct runs that fill the allowed region, the usual settings among them, and
    those three times (once per session if sessions are more).
    """
    distinct = max(4, -(-len(base.names) // 2) + 2)
    if size.asked is None:
        equal = (
            size.repeats + 1
            if size.repeats is not None
            else max(3, size.sessions if size.sessions > 1 else 0)
        )
        if size.most is not None and distinct + equal - 1 > size.most:
            equal = _equal_builds(size, size.most)
            distinct = size.most - equal + 1
    else:
        equal = _equal_builds(size, size.asked)
        distinct = size.asked - equal + 1
    notes = (
        "A start, not an answer: print it, read in the results, then ask `next`. Effects cannot be read off.",
        *_scatter_note(equal),
    )
    return _with_usual(base, distinct, equal, notes, rng)


def _scatter_note(equal: int) -> tuple[str, ...]:
    if equal >= 2:
        return (
            f"The usual settings are printed {equal} times: their scatter is what every interval rests on.",
        )
    return ("Nothing is repeated: scatter between builds cannot be told from differences between settings.",)
