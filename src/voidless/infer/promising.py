"""Points worth judging with care: many are glanced at, and the best are refined where the recipe may lie."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from voidless.infer.question import Question
from voidless.infer.search import between, front, near

__all__ = ["promising", "refined"]

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

_FINALISTS = 320
# Shares of the highest probability at which the best objectives are looked at.
_OF_HIGHEST = (0.6, 0.75, 0.85, 0.95)
_ROUNDS = 4
_OF_EACH = 32
# Rounds close to the level asked for, seen as carefully as it is judged, and the levels beside it: the first rounds see
# too much probability, and the fastest point of a level lies in a thin shell.
_LAST_ROUNDS = 5
_BESIDE = (-0.1, -0.03, 0.0, 0.03)
_SEEN = 400


def promising(question: Question, even: Floats, chance: Floats, alone: Mapping[str, Floats]) -> Ints:
    """Return rows worth a second look: by merit, and the best of every specification by itself."""
    own = [np.argsort(-values, kind="stable")[:_OF_EACH] for values in alone.values()]
    return np.unique(np.concatenate([_merit(question, even, chance), *own]))


def _merit(question: Question, points: Floats, screen: Floats) -> Ints:
    """Return rows of promise: at several levels of probability the best objectives, and the likeliest."""
    share = question.confidence / max(float(screen.max()), 1e-9)
    return front(question.cost(points), screen, (*_OF_HIGHEST, min(share, 1.0)), _FINALISTS // 4)


def refined(question: Question, points: Floats, luck: int, rng: np.random.Generator) -> Floats:
    """Return the points worth judging with care, refined around the best ones; all seen with one luck."""
    pool = points[np.asarray(question.feasible(points), dtype=bool)]

    def screened(some: Floats, glance: bool) -> Floats:
        return question.pass_shares(some, 192, np.random.default_rng(luck), screen=True, glance=glance)[0]

    for _ in range(_ROUNDS):
        screen = screened(pool, glance=False)
        best = pool[front(question.cost(pool), screen, _OF_HIGHEST, 8)]
        fresh = near(question.space, question.feasible, best, 24, rng)
        fresh = fresh[_merit(question, fresh, screened(fresh, glance=True))]
        pool = np.unique(np.vstack([pool, fresh]), axis=0)
        pool = np.asarray(pool[_merit(question, pool, screened(pool, glance=False))])
    return _sharpened(question, pool, luck, rng)


def _sharpened(question: Question, pool: Floats, luck: int, rng: np.random.Generator) -> Floats:
    """Return the points and better ones beside the level asked for, close to and between its best."""

    def best(some: Floats, each: int) -> Ints:
        seen = question.pass_shares(some, _SEEN, np.random.default_rng(luck))[0]
        highest = max(float(seen.max()), 1e-9)
        shares = [min((question.confidence + beside) / highest, 1.0) for beside in _BESIDE]
        return front(question.cost(some), seen, (*_OF_HIGHEST, *shares), each)

    for _ in range(_LAST_ROUNDS):
        centres = pool[best(pool, 6)]
        fresh = np.vstack(
            [
                near(question.space, question.feasible, centres, 12, rng),
                between(question.space, question.feasible, centres, 12 * len(centres), rng),
            ]
        )
        pool = np.unique(np.vstack([pool, fresh[best(fresh, 12)]]), axis=0)
    return np.asarray(pool[best(pool, _FINALISTS // 4)])
