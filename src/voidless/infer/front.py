"""What a specification costs: the best objective for every limit that it could have instead."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from voidless.infer.criteria import Criterion, passing
from voidless.infer.failure import BUILD_OK

if TYPE_CHECKING:
    from voidless.infer.question import Question

__all__ = ["Trade", "trade_off"]

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Trade:
    """
    One point of a front.

    Attributes
    ----------
    limit : float
        Limit that this setting still holds with the confidence asked for, all other specifications held;
        for a band, how far its ends may be from its middle. [unit of the response]
    objective : float
        [unit of the objective]
    """

    limit: float
    objective: float
    settings: dict[str, float]


def trade_off(question: Question, points: Floats, rng: np.random.Generator) -> dict[str, list[Trade]]:
    """
    Return, per specification, the front of its limit against the objective, best objective first.

    Parameters
    ----------
    question : Question
        Model, specifications and machine; its confidence is the one that limits are held with.
    points : (n, k) float array
        Settings to choose from. [shop units]
    rng : numpy.random.Generator
        Source of randomness.

    Returns
    -------
    fronts : dict of str to list of Trade
        A specification that no setting holds at any limit has an empty front.
    """
    criteria = question.criteria
    draws = question.model.draws(points, 512, question.kind, rng, question.setting_sd)
    held = passing(draws, criteria)
    cost = question.cost(points)
    order = np.argsort(cost, kind="stable")
    fronts = {}
    for item in criteria:
        if item.name == BUILD_OK:
            continue
        room = _room(draws, item)
        for name, values in held.items():
            room = room if name == item.name else np.where(values, room, -np.inf)
        # the limit that a share `confidence` of the draws is better than
        best = np.quantile(room, 1.0 - question.confidence, axis=0, method="lower")
        fronts[item.name] = _front(question, points[order], cost[order], best[order], item)
    return fronts


def _room(draws: Mapping[str, Floats], item: Criterion) -> Floats:
    """Return how good the values of a criterion are, more is better, the worst of its outputs, `(c, n)`."""
    values = np.stack([draws[name] for name in item.outputs])
    if np.isfinite(item.low) and np.isfinite(item.high):
        return np.asarray(np.min(-np.abs(values - 0.5 * (item.low + item.high)), axis=0))
    return np.asarray(np.min(values if np.isfinite(item.low) else -values, axis=0))


def _front(question: Question, points: Floats, cost: Floats, best: Floats, item: Criterion) -> list[Trade]:
    so_far = np.concatenate([[-np.inf], np.maximum.accumulate(best)[:-1]])
    sign = 1.0 if np.isfinite(item.low) and not np.isfinite(item.high) else -1.0
    better = np.flatnonzero(best > so_far)
    return [
        Trade(
            sign * float(best[row]), question.signed(float(cost[row])), question.space.settings(points[row])
        )
        for row in better
    ]
