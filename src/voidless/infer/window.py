"""The process window: where all specifications hold, the recipe in it, and how far it may drift."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from voidless.campaign.space import Space
from voidless.campaign.types import Objective, Probability, Specification
from voidless.infer.blocking import blocking
from voidless.infer.box import Box, tolerance_box
from voidless.infer.criteria import unknown_responses
from voidless.infer.front import Trade, trade_off
from voidless.infer.learned import CampaignModel
from voidless.infer.promising import promising, refined
from voidless.infer.question import Question
from voidless.infer.recipe import Recipe, choose
from voidless.infer.search import Feasible, candidates
from voidless.infer.tolerance import Tolerances, tolerances

__all__ = ["Question", "Window", "find_window"]

Floats = NDArray[np.float64]

_EVEN = 4096
# Draws by which points are judged: fewer, and the fastest of many that seem to reach a level are lucky ones only.
_JUDGING = 1000


@dataclass(frozen=True)
class Window:
    """
    What `find_window` found.

    Attributes
    ----------
    recipe : Recipe
        Best objective among points that pass with the confidence asked for, else among the likeliest.
    claim : bool
        Whether the recipe's probability reaches the confidence, on data, with every specification known.
    build_min : float or None
        Build time of the recipe. [min]
    predicted : dict
        Per response: mean, low, high, part_low, part_high at the recipe. [unit of the response]
    blocked_by : tuple of str
        Specifications that nothing in the space can meet, alone or together.
    certain, likely : float
        Share of the feasible space that passes with the confidence asked for, and with 0.5. [1]
    at_levels : dict of float to Recipe
        Best objective at 80, 90 and 95 % where there is one.
    tolerances : Tolerances
        How far each factor may move alone, and what stops it.
    alone : dict of str to float
        Probability of each specification by itself at the recipe. [1]
    box : Box or None
        Ranges in which all settings may move at once; None where nothing is claimed.
    fronts : dict of str to list of Trade
        What another limit of each specification would cost.
    points, probabilities : arrays
        The points that were judged with full care, `(n, k)` and `(n,)`.
    """

    recipe: Recipe
    claim: bool
    confidence: float
    kind: Probability
    basis: str
    build_min: float | None
    predicted: dict[str, dict[str, float]]
    blocked_by: tuple[str, ...]
    blocked_because: str
    certain: float
    likely: float
    at_levels: dict[float, Recipe]
    tolerances: Tolerances
    alone: dict[str, float]
    box: Box | None
    fronts: dict[str, list[Trade]]
    notes: tuple[str, ...]
    points: Floats
    probabilities: Floats

    def to_dict(self) -> dict[str, Any]:
        """Return the exchange form: `recipe` and what stands beside it."""
        return {
            "recipe": {
                "settings": self.recipe.settings,
                "probability_pass": self.recipe.probability,
                "build_min": self.build_min,
                "predicted": self.predicted,
                "claim": self.claim,
                "blocked_by": list(self.blocked_by),
                "basis": self.basis,
            },
            "confidence": self.confidence,
            "probability": self.kind.value,
            "blocked_because": self.blocked_because,
            "share_certain": self.certain,
            "share_likely": self.likely,
            "at_levels": [
                {
                    "confidence": level,
                    "settings": item.settings,
                    "probability_pass": item.probability,
                    "objective": item.objective,
                }
                for level, item in sorted(self.at_levels.items())
            ],
            "tolerances": self.tolerances.to_dict(),
            "tolerance_box": None if self.box is None else self.box.to_dict(),
            "trade_off": {
                name: [{"limit": t.limit, "objective": t.objective, "settings": t.settings} for t in front]
                for name, front in self.fronts.items()
            },
            "probability_alone": self.alone,
            "notes": list(self.notes),
        }


def find_window(
    model: CampaignModel,
    specifications: Sequence[Specification],
    objective: Objective,
    space: Space,
    feasible: Feasible,
    confidence: float = 0.9,
    kind: Probability = Probability.NEXT_BUILD,
    setting_sd: Mapping[str, float] | None = None,
    rng: np.random.Generator | None = None,
    exact_objective: Callable[[Floats], Floats] | None = None,
    seeds: Floats | None = None,
    brief: bool = False,
) -> Window:
    """
    Return the recipe, its probability, and the window around it.

    Parameters
    ----------
    model : CampaignModel
        Fitted model.
    specifications : sequence of Specification
        What must hold.
    objective : Objective
        What is best among what holds.
    space : Space
        Factors.
    feasible : callable
        Which points `(n, k)` in shop units machine and material allow, `(n,)` bool.
    confidence : float
        Probability from which a recipe is claimed. [1]
    kind : Probability
        What the probability speaks of.
    setting_sd : mapping of str to float or None
        Realised scatter of settings, by factor name. [shop units]
    rng : numpy.random.Generator or None
        Source of randomness; None is a fixed seed.
    exact_objective : callable or None
        Slow, exact objective of points, used for the finalists only.
    seeds : (m, k) float array or None
        Points to judge besides the program's own, such as builds and the usual settings. [shop units]
    brief : bool
        Whether tolerances, box, trade-off and shares are left out: what choosing the next builds needs is less.

    Returns
    -------
    window : Window
        See its attributes.

    Raises
    ------
    InputError
        No point is feasible, or nothing is known about the objective.

    Notes
    -----
    The point is chosen on one set of draws, confirmed on a second, and its probability is read from a
    third, so that luck in the draws does not enter the claim. docs/methods/window.md.
    """
    generator = np.random.default_rng(0) if rng is None else rng
    question = Question(
        model,
        specifications,
        objective,
        space,
        feasible,
        confidence,
        kind,
        dict(setting_sd or {}),
        exact_objective,
    )
    even = candidates(space, feasible, _EVEN, generator)
    luck = int(generator.integers(2**32))
    glanced, glanced_alone = question.pass_shares(
        even, 192, np.random.default_rng(luck), screen=True, glance=True
    )
    kept = promising(question, even, glanced, glanced_alone)
    centres = even[kept] if seeds is None else np.vstack([space.snap(seeds), even[kept]])
    pool = refined(question, centres, luck, generator)
    judged, alone = question.pass_shares(pool, _JUDGING, np.random.default_rng(luck))
    recipe, levels = choose(question, pool, judged, generator)
    best = max(float(glanced.max()), float(judged.max()))
    blocked, because = blocking(glanced_alone, alone, best)
    nothing = float("nan")
    shares = (nothing, nothing) if brief else _shares(question, even, glanced, luck)
    margins = _NO_MARGINS if brief else _margins(question, recipe, pool, generator)
    return _window(question, recipe, levels, (blocked, because), shares, margins, pool, judged, generator)


def _shares(question: Question, even: Floats, screen: Floats, luck: int) -> tuple[float, float]:
    """Return the shares of the space that surely and that likely pass."""
    top = np.argsort(-screen, kind="stable")[:500]
    careful = question.pass_shares(even[top], 128, np.random.default_rng(luck))[0]
    return (
        float(np.count_nonzero(careful >= question.confidence)) / len(even),
        float(np.count_nonzero(careful >= 0.5)) / len(even),
    )


@dataclass(frozen=True)
class _Margins:
    """How far the recipe may move, and what other limits would cost."""

    alone: Tolerances
    box: Box | None
    fronts: dict[str, list[Trade]]


_NO_MARGINS = _Margins(Tolerances(0.0, False, ()), None, {})


def _claimed(question: Question, recipe: Recipe) -> bool:
    model = question.model
    known = not unknown_responses(model, question.specifications)
    return recipe.probability >= question.confidence and model.basis == "data" and known


def _margins(question: Question, recipe: Recipe, pool: Floats, rng: np.random.Generator) -> _Margins:
    claim = _claimed(question, recipe)
    level = question.confidence if claim else min(0.5, recipe.probability)
    alone = tolerances(question, recipe.point, recipe.probability, level, claim, rng)
    box = tolerance_box(question, recipe.point, recipe.probability, alone, level, rng) if claim else None
    return _Margins(alone, box, trade_off(question, pool, rng))


def _window(
    question: Question,
    recipe: Recipe,
    levels: dict[float, Recipe],
    blocked: tuple[tuple[str, ...], str],
    shares: tuple[float, float],
    margins: _Margins,
    pool: Floats,
    judged: Floats,
    rng: np.random.Generator,
) -> Window:
    model = question.model
    unknown = unknown_responses(model, question.specifications)
    claim = _claimed(question, recipe)
    notes = list(model.notes)
    if unknown:
        notes.append(
            f"nothing is known about {', '.join(unknown)}: the probability leaves it out, nothing is claimed"
        )
    summaries = model.predict(recipe.point[None, :], question.setting_sd, count=2000)
    predicted = {
        name: {key: float(getattr(s, key)[0]) for key in ("mean", "low", "high", "part_low", "part_high")}
        for name, s in summaries.items()
    }
    build_min = predicted["build_min"]["mean"] if "build_min" in predicted else None
    if question.objective.response == "build_min":
        build_min = recipe.objective
    alone = question.pass_shares(recipe.point[None, :], 1000, rng)[1]
    return Window(
        recipe, claim, question.confidence, question.kind, model.basis, build_min, predicted,
        *blocked, *shares, levels, margins.alone, {name: float(v[0]) for name, v in alone.items()},
        margins.box, margins.fronts, tuple(notes), pool, judged,
    )  # fmt: skip
