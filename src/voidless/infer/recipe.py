"""The recipe: the best objective among points that pass with the confidence asked for."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from voidless.infer.hopeless import least_short
from voidless.infer.question import Question

__all__ = ["LEVELS", "Recipe", "choose"]

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

LEVELS = (0.8, 0.9, 0.95)
# Where nothing can be claimed, the recipe is the setting that gives most good builds for its time, but never one
# that is much less likely to pass than another: the last hundredth of probability often costs several times the
# build time, and half the probability is no recipe.
_AS_LIKELY = 0.6
# How far below and above a level points are kept for the second look.
_BELOW, _ABOVE = 0.02, 0.015
# How far above a level the fastest points are confirmed, in turn: those just above it are there by luck in part.
_ABOVES = (0.0, 0.008, 0.016, 0.024)
_AGAIN = 2400
# Below this probability everywhere, times of build say nothing about which setting to name.
_NONE = 0.01
# Fresh draws at the chosen point: a Monte-Carlo error of 0.005 at 0.9.
_CONFIRMING = 4000


@dataclass(frozen=True)
class Recipe:
    """A point and the probability that it passes; `objective` is in the unit of the campaign's objective."""

    point: Floats
    settings: dict[str, float]
    probability: float
    objective: float


def choose(
    question: Question, pool: Floats, judged: Floats, rng: np.random.Generator
) -> tuple[Recipe, dict[float, Recipe]]:
    """Return the recipe and the best at every level, each judged again on fresh draws."""
    cost = question.cost(pool)
    levels = sorted({question.confidence, *LEVELS})
    about = [level + shift for level in levels for shift in (-_BELOW, 0.0, _ABOVE)]
    short = np.concatenate([_fastest(cost, judged, level, 12) for level in about])
    likeliest = np.argsort(-judged, kind="stable")[:16]
    nearly = _hopeful(question, cost, judged, 24)
    finalists = np.unique(np.concatenate([short, likeliest, nearly]))
    again, _ = question.pass_shares(pool[finalists], _AGAIN, rng)
    exact = question.cost(pool[finalists], exact=True)
    found = {}
    for level in levels:
        best = np.concatenate([_fastest(exact, again, level + above, 4) for above in _ABOVES])
        for row in best:
            item = _recipe(question, pool[finalists[row]], float(exact[row]), rng)
            if item.probability >= level:
                found[level] = item
                break
    chosen = found.get(question.confidence)
    if chosen is None and not float(again.max()) > _NONE:
        point = least_short(question, rng)
        return _recipe(question, point, float(question.cost(point[None, :], exact=True)[0]), rng), {}
    if chosen is None:
        top = int(_hopeful(question, exact, again, 1)[0])
        chosen = _recipe(question, pool[finalists[top]], float(exact[top]), rng)
    return chosen, {level: found[level] for level in LEVELS if level in found}


def _fastest(cost: Floats, probability: Floats, level: float, count: int) -> Ints:
    """Return rows that reach a level, best objective first; among equals (0.1 %) the likelier first."""
    enough = np.flatnonzero(probability >= level)
    scale = max(float(np.median(np.abs(cost))), 1e-12)
    order = np.lexsort((-probability[enough], np.round(cost[enough] / scale, 3)))
    return np.asarray(enough[order][:count])


def _hopeful(question: Question, cost: Floats, probability: Floats, count: int) -> Ints:
    """Return rows by probability of passing times merit, none much less likely than the likeliest."""
    enough = np.flatnonzero(probability >= _AS_LIKELY * float(probability.max()))
    chance = np.maximum(probability[enough], 1e-12)
    worth = np.log(chance) + question.merit(cost[enough])
    return np.asarray(enough[np.argsort(-worth, kind="stable")][:count])


def _recipe(question: Question, point: Floats, cost: float, rng: np.random.Generator) -> Recipe:
    probability = float(question.pass_shares(point[None, :], _CONFIRMING, rng)[0][0])
    return Recipe(point, question.space.settings(point), probability, question.signed(cost))
