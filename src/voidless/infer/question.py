"""What is asked of a model: limits, objective, kind of probability and the machine's own scatter."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from voidless.campaign.space import Space
from voidless.campaign.types import Objective, Probability, Sense, Specification
from voidless.errors import InputError
from voidless.infer.criteria import Criterion, criteria_for, passing
from voidless.infer.learned import CampaignModel
from voidless.infer.search import Feasible

__all__ = ["Question"]

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Question:
    """
    What is asked of a model: limits, objective, kind of probability and the machine's own scatter.

    Attributes
    ----------
    confidence : float
        Probability from which a recipe is claimed. [1]
    setting_sd : mapping of str to float
        Realised scatter of settings, by factor name. [shop units]
    exact_objective : callable or None
        Slow, exact objective of points `(n, k)`, used for the finalists only.
    """

    model: CampaignModel
    specifications: Sequence[Specification]
    objective: Objective
    space: Space
    feasible: Feasible
    confidence: float = 0.9
    kind: Probability = Probability.NEXT_BUILD
    setting_sd: Mapping[str, float] = field(default_factory=dict)
    exact_objective: Callable[[Floats], Floats] | None = None

    @property
    def criteria(self) -> tuple[Criterion, ...]:
        """Specifications on what the model knows."""
        return criteria_for(self.model, self.specifications)

    def signed(self, cost: float) -> float:
        """Return a cost as a value of the objective. [unit of the objective]"""
        return cost if self.objective.sense is Sense.MINIMISE else -cost

    def cost(self, points: Floats, exact: bool = False) -> Floats:
        """Return the objective, signed so that less is better, `(n,)`. [unit of the objective]"""
        sign = 1.0 if self.objective.sense is Sense.MINIMISE else -1.0
        name = self.objective.response
        if exact and self.exact_objective is not None:
            return np.asarray(sign * np.asarray(self.exact_objective(points), dtype=float))
        if name in self.model.known:
            return np.asarray(sign * np.asarray(self.model.known[name](points), dtype=float))
        if name not in self.model.responses:
            raise InputError(
                "objective", f"nothing is known about {name}", "a response with data, a prior or a formula",
                "Measure it, or name another objective.",
            )  # fmt: skip
        draws = self.model.draws(points, 48, Probability.MEAN, np.random.default_rng(0), marginal=False)
        return np.asarray(sign * draws[name].mean(axis=0))

    def merit(self, cost: Floats) -> Floats:
        """
        Return how much better than the worst each cost is, `(n,)`: as a logarithm where all have one sign. [1]

        One more is then a factor of 2.7 in the objective; otherwise a standard deviation of it.
        """
        value = cost if self.objective.sense is Sense.MINIMISE else -cost
        if np.all(value > 0.0):
            return np.asarray(np.abs(np.log(value) - np.log(value[np.argmax(cost)])))
        return np.asarray((cost.max() - cost) / max(float(np.std(cost)), 1e-12))

    def pass_shares(
        self,
        points: Floats,
        count: int,
        rng: np.random.Generator,
        screen: bool = False,
        glance: bool = False,
    ) -> tuple[Floats, dict[str, Floats]]:
        """
        Return the probability that all criteria hold and that each does, `(n,)`.

        `screen` answers fast: most probable hyper-parameters, settings as commanded; with `glance` faster
        still: physics parameters where the prior is expanded.
        """
        setting_sd = None if screen else self.setting_sd
        draws = self.model.draws(
            points, count, self.kind, rng, setting_sd, marginal=not screen, glance=glance
        )
        held = passing(draws, self.criteria)
        alone = {name: values.mean(axis=0) for name, values in held.items()}
        together = np.ones((count, len(points)), dtype=bool)
        for values in held.values():
            together &= values
        return together.mean(axis=0), alone
