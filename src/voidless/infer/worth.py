"""What recipes may be worth: joint draws of all responses, each with its own best settings."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from voidless.campaign.types import Probability
from voidless.infer.criteria import Criterion
from voidless.infer.failure import BUILD_OK
from voidless.infer.paths import surface_draws
from voidless.infer.question import Question

__all__ = ["Outlook", "outlook", "pass_chance", "worth_of"]

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
        0 where it fails; where it passes, 1 and more, growing with `merit`. [1]
    surfaces : mapping of str to (s, n) float array
        Long-run means of every output that a criterion names. [unit of the output]
    scatter : mapping of str to (n,) float array
        Standard deviation of the next build about them. [unit of the output]
    merit : (n,) float array
        Logarithm of how much better the objective is than the worst candidate's. [1]
    """

    worth: Floats
    surfaces: Mapping[str, Floats]
    scatter: Mapping[str, Floats]
    merit: Floats
    criteria: tuple[Criterion, ...]
    confidence: float

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
    names = {name for item in question.criteria for name in item.outputs}
    drawn = surface_draws(question.model, points, draws, rng, marginal=False)
    surfaces = {name: values for name, values in drawn.items() if name in names}
    scatter = _scatter(question, points)
    spread = {
        name: np.ones(len(points)) if name == BUILD_OK else np.maximum(scatter[name], 1e-12)
        for name in surfaces
    }
    chance = np.ones((draws, len(points))) * pass_chance(question.criteria, surfaces, spread)
    merit = question.merit(question.cost(points))
    worth = worth_of(chance, question.confidence, merit, _STEEP)
    return Outlook(worth, surfaces, spread, merit, question.criteria, question.confidence)


def pass_chance(
    criteria: Sequence[Criterion], centre: Mapping[str, Floats], spread: Mapping[str, Floats]
) -> Floats:
    """Return the chance that outputs normal and independent about `centre` hold every criterion. [1]"""
    chance: Floats = np.ones(1)
    for item in criteria:
        for name in item.outputs:
            at, sd = centre[name], spread[name]
            chance = chance * (ndtr((item.high - at) / sd) - ndtr((item.low - at) / sd))
    return chance


def worth_of(chance: Floats, confidence: float, merit: Floats, steep: float) -> Floats:
    """Return what recipes that pass with a chance are worth: less below the confidence, the more so the steeper. [1]"""
    return np.asarray(np.minimum(1.0, chance / confidence) ** steep * (1.0 + merit))


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
