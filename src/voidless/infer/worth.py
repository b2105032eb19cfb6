"""What recipes may be worth: joint draws of all responses, each with its own best settings."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from voidless.campaign.types import Probability
from voidless.infer.failure import BUILD_OK
from voidless.infer.paths import surface_draws
from voidless.infer.question import Question

__all__ = ["Outlook", "outlook"]

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

_SCATTER_DRAWS = 96
# A recipe that passes with the confidence asked for is worth 1, one that passes less often less: this power
# of the ratio. It holds for choosing builds only; no probability that is shown knows of it.
_STEEP = 4.0
# Draws in which a candidate's worth is this near to the best one count for it.
_LIKE_BEST = 0.05


@dataclass(frozen=True)
class Outlook:
    """
    What a recipe at each candidate would be worth in each joint draw of all responses.

    Attributes
    ----------
    worth : (s, n) float array
        0 where it fails; where it passes, 1 and more, growing with the logarithm of how much better the
        objective is than the worst candidate's. [1]
    """

    worth: Floats

    def improvement(self, made: Ints) -> Floats:
        """
        Return the expected gain in worth over the best of the rows `made`, `(n,)`. [1]

        Notes
        -----
        Expected improvement under noise and constraints (Letham, Karrer, Ottoni & Bakshy, Bayesian Analysis 14
        (2019) 495): which build so far is best is not known either, so each draw has a best of its own.
        """
        best = self.worth[:, made].max(axis=1, initial=0.0)
        return np.asarray(np.maximum(self.worth - best[:, None], 0.0).mean(axis=0))

    def optimum(self) -> Floats:
        """Return the share of draws in which a candidate is about as good as the best one, `(n,)`. [1]"""
        best = self.worth.max(axis=1)
        return np.asarray((self.worth >= best[:, None] - _LIKE_BEST).mean(axis=0))


def outlook(question: Question, points: Floats, draws: int, rng: np.random.Generator) -> Outlook:
    """
    Return joint draws at candidates and their worth.

    Parameters
    ----------
    question : Question
        Model, specifications, objective and machine.
    points : (n, k) float array
        Candidates. [shop units]
    draws : int
        Draws.
    rng : numpy.random.Generator
        Source of randomness.
    """
    model = question.model
    values = surface_draws(model, points, draws, rng, marginal=False)
    scatter = _scatter(question, points)
    chance = np.ones((draws, len(points)))
    for item in question.criteria:
        for name in item.outputs:
            spread = 1.0 if name == BUILD_OK else np.maximum(scatter[name], 1e-12)
            chance *= ndtr((item.high - values[name]) / spread) - ndtr((item.low - values[name]) / spread)
    share = np.minimum(1.0, chance / question.confidence) ** _STEEP
    return Outlook(share * (1.0 + question.merit(question.cost(points))))


def _scatter(question: Question, points: Floats) -> dict[str, Floats]:
    """Return the standard deviation of the next build about its mean, per response. [unit of the response]"""
    model = question.model
    mean, build = (
        model.draws(
            points, _SCATTER_DRAWS, kind, np.random.default_rng(1), question.setting_sd, marginal=False,
            glance=True,
        )
        for kind in (Probability.MEAN, question.kind)
    )  # fmt: skip
    return {name: np.std(build[name] - mean[name], axis=0) for name in mean}
