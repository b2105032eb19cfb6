"""The setting to name where nothing passes: the one that misses the specifications by least."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from voidless.infer.question import Question
from voidless.infer.search import candidates, near

__all__ = ["least_short"]

Floats = NDArray[np.float64]

_EVEN = 1024
_DRAWS = 64
_CENTRES = 12
_EACH = 24
_ROUNDS = 8


def least_short(question: Question, rng: np.random.Generator) -> Floats:
    """
    Return the point `(k,)` whose expected responses miss the specifications by least. [shop units]

    Parameters
    ----------
    question : Question
        Model, specifications and machine.
    rng : numpy.random.Generator
        Source of randomness.

    Notes
    -----
    What each response misses is taken in units of its own spread over the space, squared and added. A probability
    would favour places of which little is known.
    """
    luck = int(rng.integers(2**32))

    def expected(points: Floats, glance: bool) -> dict[str, Floats]:
        draws = question.model.draws(
            points, _DRAWS, question.kind, np.random.default_rng(luck), marginal=False, glance=glance
        )
        return {name: values.mean(axis=0) for name, values in draws.items()}

    def short(means: dict[str, Floats]) -> Floats:
        total = np.zeros(1)
        for item in question.criteria:
            for name in item.outputs:
                missed = np.maximum(np.maximum(item.low - means[name], means[name] - item.high), 0.0)
                total = total + (missed / spread[name]) ** 2
        return np.asarray(total)

    pool = candidates(question.space, question.feasible, _EVEN, rng)
    means = expected(pool, glance=True)
    spread = {name: max(float(np.std(values)), 1e-12) for name, values in means.items()}
    pool = pool[np.argsort(short(means), kind="stable")[:_CENTRES]]
    for _ in range(_ROUNDS):
        pool = near(question.space, question.feasible, pool, _EACH, rng)
        pool = pool[np.argsort(short(expected(pool, glance=False)), kind="stable")[:_CENTRES]]
    return np.asarray(pool[0])
