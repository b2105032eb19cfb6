"""One factor at a time: offered because people ask for it."""

from __future__ import annotations

import numpy as np

from voidless.design.ground import Ground
from voidless.design.terms import model_terms
from voidless.design.types import Draft, Size

__all__ = ["ladder"]

RUNGS = 4
WARNING = (
    "A ladder changes one factor at a time. It cannot show interactions (whether the best flow depends on "
    "the temperature), it is blind to anything off its axes, most builds tell about one factor only, and the "
    "best rung is flattered by chance. In simulated campaigns ladders came within 2 % of the best settings "
    "in fewer than one case in ten. `start` followed by `next` needs fewer builds and sees interactions."
)


def ladder(base: Ground, size: Size, rng: np.random.Generator) -> Draft:  # noqa: ARG001
    """
    Return the usual settings and, per factor, rungs from its lower to its upper bound.

    Parameters
    ----------
    base : Ground
        Factors and usual settings.
    size : Size
        Builds asked or allowed: rungs per factor follow from it, at least two.
    rng : numpy.random.Generator
        Not used; every builder takes one.
    """
    count = len(base.names)
    again = size.repeats if size.repeats is not None else max(1, size.sessions - 1)
    rungs = RUNGS if size.room is None else max(2, (size.room - 1 - again) // count)
    if size.asked is None:
        rungs = min(rungs, RUNGS)
    if size.room is not None:
        again = min(again, max(size.room - 1 - rungs * count, 0)) if size.asked is None else again
    rows = [base.usual]
    for column in range(count):
        levels = np.linspace(base.space.low[column], base.space.high[column], rungs + 1)
        levels = np.delete(
            levels, np.argmin(np.abs(levels - base.usual[column]))
        )  # the usual rung stands for it
        points = np.repeat(base.usual[None, :], rungs, axis=0)
        points[:, column] = levels
        rungs_here = np.unique(base.space.snap(points), axis=0)
        rows.extend(point for point in rungs_here if not np.array_equal(point, base.usual))
    spare = 0 if size.asked is None else size.asked - len(rows) - again
    again = max(again + spare, 0) if size.asked is not None else again
    built = np.concatenate([np.array(rows), np.repeat(base.usual[None, :], again, axis=0)])
    anchors = np.all(built == base.usual, axis=1)
    return Draft(built, model_terms(base.names, "linear"), (WARNING,), anchors)
