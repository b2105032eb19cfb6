"""The next builds: each asks the question whose answer is worth most."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from voidless.campaign.space import Space
from voidless.campaign.types import Objective, Probability, Sense, Specification
from voidless.infer.ahead import recipe_gain
from voidless.infer.criteria import log_probability
from voidless.infer.learned import CampaignModel
from voidless.infer.question import Question
from voidless.infer.search import Feasible, candidates, front, near
from voidless.infer.window import Window
from voidless.infer.worth import Outlook, outlook

__all__ = ["Proposal", "expected_saving", "propose", "repeat_of"]

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

_EVEN = 2048
_DRAWS = 512
# Without physics and with fewer results than this, builds spread over the space teach most.
_FIRST_SPREAD = 4
# Below this worth in the mean of all draws nothing is hoped for, and ties would be told apart by time alone.
_HOPELESS = 1e-6
# Shares of the highest probability at which the best objectives are candidates, and how many of each.
_LEVELS = (0.003, 0.03, 0.1, 0.3, 0.5, 0.7, 0.9)
_OF_EACH = 40
_CENTRES = 5
_CLOSE = 24
_ROUNDS = 2
_GLANCED = 48
# Candidates whose build is thought through: those that gain most themselves, and those that may be best of all.
_HOPEFUL, _BEST = 48, 24
# Candidates whose worth is within this share of the best one are told apart by build time.
_TIE = 0.05
# A build that differs from another by no more than this share of each range, or than its scatter, is its twin.
_TWIN = 0.02
# Every how manyth build repeats the recipe, once it passes with such a probability.
_REPEAT_EVERY = 8
_REPEAT_FROM = 0.5
# Every how manyth build goes where the best settings of all most likely lie, however unlikely that place is.
_FAR_EVERY = 4
# Below this probability a build is a question about the edge, not a hope for a recipe.
_LONG_SHOT = 0.2


@dataclass(frozen=True)
class Proposal:
    """
    One build worth making.

    Attributes
    ----------
    settings : dict of str to float
        All factors. [shop units]
    reason : str
        One sentence.
    kind : str
        `reach`, `improve`, `edge`, `repeat` or `spread`.
    probability : float
        Probability that the build passes. [1]
    gain : float
        Expected share of the objective that it saves against the present recipe, 0 where there is none. [1]
    """

    settings: dict[str, float]
    reason: str
    kind: str
    probability: float
    gain: float = 0.0


def propose(
    model: CampaignModel,
    specifications: Sequence[Specification],
    objective: Objective,
    space: Space,
    feasible: Feasible,
    count: int,
    rng: np.random.Generator,
    window: Window | None = None,
    confidence: float = 0.9,
    kind: Probability = Probability.NEXT_BUILD,
    setting_sd: Mapping[str, float] | None = None,
    builds: Floats | None = None,
) -> list[Proposal]:
    """
    Return the next builds, best first.

    Parameters
    ----------
    model : CampaignModel
        Fitted model.
    specifications, objective, space, feasible, confidence, kind, setting_sd
        As in `find_window`.
    count : int
        Builds wanted.
    rng : numpy.random.Generator
        Source of randomness.
    window : Window or None
        Window of the same model, whose recipe is to be improved; None: nothing is recommended yet.
    builds : (b, k) float array or None
        Points of builds so far, open ones included. [shop units]

    Returns
    -------
    proposals : list of Proposal
        Never outside what machine and material allow.

    Notes
    -----
    Largest expected gain over the builds made so far, in joint draws of all responses; every fourth build goes where
    the best settings of all most likely lie, every eighth repeats the recipe. Batches by believing the expected
    result. docs/methods/next.md.
    """
    question = Question(
        model, specifications, objective, space, feasible, confidence, kind, dict(setting_sd or {})
    )
    made = np.zeros((0, len(space.factors))) if builds is None else np.atleast_2d(builds)
    seat = _Seat(question, question, window, made, rng)
    found: list[Proposal] = []
    for number in range(count):
        item = seat.next(len(made) + number, found)
        found.append(item)
        seat = seat.after(item)
    return found


def expected_saving(question: Question, window: Window) -> float:
    """Return the largest expected share of the objective that a judged point saves on the recipe; 0: none. [1]"""
    now = float(question.cost(window.recipe.point[None, :])[0])
    saving = window.probabilities * (now - question.cost(window.points)) / max(abs(now), 1e-12)
    return float(np.max(saving, where=window.probabilities >= _LONG_SHOT, initial=0.0))


def repeat_of(window: Window, chance: float) -> Proposal:
    """Return the build of a window's recipe, which passes with a probability `chance`. [1]"""
    reason = (
        f"Builds the present recipe (probability {chance:.2f}): shows whether it holds and how builds differ."
    )
    return Proposal(dict(window.recipe.settings), reason, "repeat", chance)


@dataclass(frozen=True)
class _Seat:
    """Where choosing stands: the model with what is believed so far, and the points made or proposed."""

    question: Question
    asked: Question
    """The question as it was asked, before anything was believed: probabilities are told from it."""
    window: Window | None
    made: Floats
    rng: np.random.Generator

    def after(self, item: Proposal) -> _Seat:
        point = self.question.space.point(item.settings)
        model = self.question.model.believe(point)
        return replace(self, question=replace(self.question, model=model), made=np.vstack([self.made, point]))

    def next(self, number: int, batch: Sequence[Proposal]) -> Proposal:
        model = self.question.model
        if not self.question.criteria or (
            model.field is None and model.measured + len(batch) < _FIRST_SPREAD
        ):
            return self._spread(batch)
        if self.window is not None and self._repeat_due(number, batch):
            return self._repeat(self.window)
        pool = self._pool(batch)
        view = outlook(self.question, pool, _DRAWS, self.rng)
        far = number % _FAR_EVERY == _FAR_EVERY - 1
        worth = view.optimum() if far else self._gain(pool, view)
        if not far and self.window is not None:
            worth = self._ahead(view, worth)
        if not float(view.worth.mean(axis=0).max()) > _HOPELESS:
            worth = self._glance(pool)[1]
        return self._described(pool, self._pick(pool, worth))

    def _gain(self, pool: Floats, view: Outlook) -> Floats:
        """Return by how much a recipe at each candidate is expected to beat the builds made so far, `(n,)`. [1]"""
        made = (pool[:, None, :] == self.made[None, :, :]).all(axis=2).any(axis=1)
        return view.improvement(np.flatnonzero(made))

    def _ahead(self, view: Outlook, gain: Floats) -> Floats:
        """Return what building each of the most promising candidates is worth to the recipe, -inf of the others."""
        hopeful, best = np.argsort(-gain)[:_HOPEFUL], np.argsort(-view.optimum())[:_BEST]
        asked = np.unique(np.concatenate([hopeful, best]))
        found = np.full(gain.size, -np.inf)
        found[asked] = recipe_gain(view, asked)
        return found

    def _cost_now(self) -> float:
        assert self.window is not None
        sign = 1.0 if self.question.objective.sense is Sense.MINIMISE else -1.0
        return sign * self.window.recipe.objective

    def _pool(self, batch: Sequence[Proposal]) -> Floats:
        """Return candidates: at every level of probability the best objective, over the space and then close by."""
        space, feasible = self.question.space, self.question.feasible
        even = self._same_hard_factors(candidates(space, feasible, _EVEN, self.rng), batch)
        kept = even[front(*self._glance(even), _LEVELS, _OF_EACH)]
        centres = [kept, self.made]
        if self.window is not None:
            good = front(self.question.cost(self.window.points), self.window.probabilities, _LEVELS, _CENTRES)
            known = np.vstack([self.window.recipe.point[None, :], self.window.points[good]])
            centres.append(self._same_hard_factors(known, batch))
        pool = np.vstack(centres)
        for _ in range(_ROUNDS):
            best = front(*self._glance(pool), _LEVELS, _CENTRES)
            close = self._same_hard_factors(near(space, feasible, pool[best], _CLOSE, self.rng), batch)
            close = close[front(*self._glance(close), _LEVELS, _CLOSE)]
            pool = np.unique(np.vstack([pool, close]), axis=0)
        return pool

    def _glance(self, points: Floats) -> tuple[Floats, Floats]:
        """Return objective and probability of passing of many points, seen roughly; no probability is 0."""
        question = self.question
        draws = question.model.draws(
            points, _GLANCED, question.kind, np.random.default_rng(2), marginal=False, glance=True
        )
        return question.cost(points), np.exp(log_probability(draws, question.criteria, {}))

    def _same_hard_factors(self, points: Floats, batch: Sequence[Proposal]) -> Floats:
        """Return points with the batch's value of every factor that is hard to change."""
        space = self.question.space
        hard = [i for i, factor in enumerate(space.factors) if factor.hard_to_change]
        if not hard or not batch:
            return points
        first = space.point(batch[0].settings)
        moved = points.copy()
        moved[:, hard] = first[hard]
        kept = moved[np.asarray(self.question.feasible(moved), dtype=bool)]
        return kept if len(kept) else first[None, :]

    def _pick(self, pool: Floats, worth: Floats) -> int:
        """Return the best row that is no twin of a build; near ties go to the shorter build."""
        unit, made = self.question.space.to_unit(pool), self.question.space.to_unit(self.made)
        if len(made):
            gap = np.max(np.abs(unit[:, None, :] - made[None, :, :]) / self._reach(), axis=2).min(axis=1)
            worth = np.where(gap > 1.0, worth, -np.inf)
        best = float(np.max(worth))
        if not np.isfinite(best):
            return int(np.argmax(gap))
        close = np.flatnonzero(worth >= best - _TIE * abs(best))
        minutes = self.question.model.known.get("build_min")
        if minutes is None or close.size == 1:
            return int(np.argmax(worth))
        taken = np.round(np.asarray(minutes(pool[close]), dtype=float), 3)
        return int(close[np.lexsort((-worth[close], taken))[0]])

    def _reach(self) -> Floats:
        """Return how far from a build each factor must at least move: its own scatter, `(k,)`. [1 of the unit cube]"""
        return np.maximum(self.question.space.spread(self.question.setting_sd), _TWIN)

    def _described(self, pool: Floats, row: int) -> Proposal:
        """Return the proposal of a row, with the sentence that fits what it is."""
        point = pool[row]
        chance = float(self.asked.pass_shares(point[None, :], 400, self.rng)[0][0])
        told = f"{chance:.2f}"
        settings, saving = self.question.space.settings(point), 0.0
        if self.window is not None:
            now = self._cost_now()
            saving = (now - float(self.question.cost(point[None, :])[0])) / max(abs(now), 1e-12)
        if self.window is not None and saving > 0.0 and chance >= _LONG_SHOT:
            word = "Shortens" if self._timed() else "Improves"
            reason = f"{word} the present recipe by {100 * saving:.0f} % if it passes (probability {told})."
            return Proposal(settings, reason, "improve", chance, saving * chance)
        if chance >= 0.5:
            end = "fast" if self._timed() else f"good in {self.question.objective.response}"
            reason = f"Likely to meet all specifications (probability {told}), and {end}."
            return Proposal(settings, reason, "reach", chance)
        if chance < _LONG_SHOT:
            reason = f"A long shot (probability {told}): shows whether something was overlooked here."
            return Proposal(settings, reason, "edge", chance)
        end = "on the fast side" if self._timed() else f"as {self.question.objective.response} gets better"
        reason = f"Passing is uncertain here (probability {told}): shows where the window ends {end}."
        return Proposal(settings, reason, "edge", chance)

    def _timed(self) -> bool:
        return self.question.objective.response == "build_min"

    def _repeat_due(self, number: int, batch: Sequence[Proposal]) -> bool:
        window = self.window
        if window is None or window.recipe.probability < _REPEAT_FROM:
            return False
        if any(item.settings == window.recipe.settings for item in batch) or self._changes_hard(
            window, batch
        ):
            return False
        return number % _REPEAT_EVERY == _REPEAT_EVERY - 1

    def _changes_hard(self, window: Window, batch: Sequence[Proposal]) -> bool:
        """Return whether the recipe has another value of a factor that is hard to change than the batch."""
        names = [factor.name for factor in self.question.space.factors if factor.hard_to_change]
        return bool(batch) and any(window.recipe.settings[name] != batch[0].settings[name] for name in names)

    def _repeat(self, window: Window) -> Proposal:
        chance = float(self.asked.pass_shares(window.recipe.point[None, :], 400, self.rng)[0][0])
        return repeat_of(window, chance)

    def _spread(self, batch: Sequence[Proposal]) -> Proposal:
        space = self.question.space
        pool = self._same_hard_factors(candidates(space, self.question.feasible, 512, self.rng), batch)
        pool = self._likely_built(pool)
        made = self.made if len(self.made) else space.snap(0.5 * (space.low + space.high)[None, :])
        unit, other = space.to_unit(pool), space.to_unit(made)
        gap = np.min(np.linalg.norm(unit[:, None, :] - other[None, :, :], axis=2), axis=1)
        reason = "Far from every other build: too little is known yet to aim."
        return Proposal(space.settings(pool[int(np.argmax(gap))]), reason, "spread", float("nan"))

    def _likely_built(self, pool: Floats) -> Floats:
        """Return the points whose build is likelier to succeed than the middle one of them."""
        failure = self.question.model.failure
        if failure is None:
            return pool
        mean, variance = failure.latent(self.question.space.to_unit(pool))
        firm = mean / np.sqrt(variance)
        return np.asarray(pool[firm >= np.median(firm)])
