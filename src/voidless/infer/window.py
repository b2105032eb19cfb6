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
from voidless.infer.hopeless import least_short
from voidless.infer.learned import CampaignModel
from voidless.infer.question import Question
from voidless.infer.search import Feasible, between, candidates, front, near
from voidless.infer.tolerance import Tolerances, tolerances

__all__ = ["Question", "Recipe", "Window", "find_window"]

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

_EVEN = 4096
_FINALISTS = 320
_LEVELS = (0.8, 0.9, 0.95)
# Where nothing can be claimed, the recipe is the setting that gives most good builds for its time, but never one
# that is much less likely to pass than another: the last hundredth of probability often costs several times the
# build time, and half the probability is no recipe.
_AS_LIKELY = 0.6
# Shares of the highest probability at which the best objectives are looked at.
_OF_HIGHEST = (0.6, 0.75, 0.85, 0.95)
_ROUNDS = 4
_OF_EACH = 32
# Rounds close to the level asked for, seen as carefully as it is judged, and the levels beside it: the first rounds see
# too much probability, and the fastest point of a level lies in a thin shell.
_LAST_ROUNDS = 5
_BESIDE = (-0.1, -0.03, 0.0, 0.03)
_SEEN = 400
# Draws by which points are judged: fewer, and the fastest of many that seem to reach a level are lucky ones only.
_JUDGING = 1000
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
    kept = _promising(question, even, glanced, glanced_alone)
    centres = even[kept] if seeds is None else np.vstack([space.snap(seeds), even[kept]])
    pool = _refine(question, centres, luck, generator)
    judged, alone = question.pass_shares(pool, _JUDGING, np.random.default_rng(luck))
    recipe, levels = _choose(question, pool, judged, generator)
    best = max(float(glanced.max()), float(judged.max()))
    blocked, because = blocking(glanced_alone, alone, best)
    nothing = float("nan")
    shares = (nothing, nothing) if brief else _shares(question, even, glanced, luck)
    margins = _NO_MARGINS if brief else _margins(question, recipe, pool, generator)
    return _window(question, recipe, levels, (blocked, because), shares, margins, pool, judged, generator)


def _promising(question: Question, even: Floats, chance: Floats, alone: Mapping[str, Floats]) -> Ints:
    """Return rows worth a second look: by merit, and the best of every specification by itself."""
    own = [np.argsort(-values, kind="stable")[:_OF_EACH] for values in alone.values()]
    return np.unique(np.concatenate([_merit(question, even, chance), *own]))


def _merit(question: Question, points: Floats, screen: Floats) -> Ints:
    """Return rows of promise: at several levels of probability the best objectives, and the likeliest."""
    share = question.confidence / max(float(screen.max()), 1e-9)
    return front(question.cost(points), screen, (*_OF_HIGHEST, min(share, 1.0)), _FINALISTS // 4)


def _refine(question: Question, points: Floats, luck: int, rng: np.random.Generator) -> Floats:
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


def _choose(
    question: Question, pool: Floats, judged: Floats, rng: np.random.Generator
) -> tuple[Recipe, dict[float, Recipe]]:
    """Return the recipe and the best at every level, each judged again on fresh draws."""
    cost = question.cost(pool)
    levels = sorted({question.confidence, *_LEVELS})
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
    return chosen, {level: found[level] for level in _LEVELS if level in found}


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
    alone = tolerances(question, recipe.point, level, claim, rng)
    box = tolerance_box(question, recipe.point, alone, level, rng) if claim else None
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
