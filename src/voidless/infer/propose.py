"""The next builds: each asks the question whose answer is worth most."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from voidless.campaign.space import Space
from voidless.campaign.types import Objective, Probability, Sense, Specification
from voidless.infer.criteria import log_probability, passing
from voidless.infer.learned import CampaignModel
from voidless.infer.question import Question
from voidless.infer.search import Feasible, candidates, near
from voidless.infer.window import Window

__all__ = ["Proposal", "propose"]

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

_EVEN = 2048
_KEPT = 512
_DRAWS = 96
# Without physics and with fewer builds than this, builds spread over the space teach most.
_FIRST_SPREAD = 4
# Share of the scatter between builds that a proposal keeps from every limit: a recipe must hold at the
# next build, not only on average.
_ROOM = 1.0
# Candidates whose worth is within this share of the best one are told apart by build time.
_TIE = 0.05
_REPEAT_EVERY = 5
# Every how manyth build asks where the window ends, before a recipe is claimed and after.
_EDGE_BEFORE = 4
# From this probability of the recipe on, every other build looks for a faster one before any claim.
_NEAR_CLAIM = 0.6
_EDGE_AFTER = 4


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
    The recipe is raised to the confidence first, then made faster, with the edge of the window and a
    repeat of the recipe in turn. Batches by believing the expected result. docs/methods/next.md.
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
        model, criteria = self.question.model, self.question.criteria
        if not criteria or (model.field is None and model.builds + len(batch) < _FIRST_SPREAD):
            return self._spread(batch)
        if self.window is not None and self._repeat_due(number, batch):
            return self._repeat(self.window)
        pool = self._pool(batch)
        draws = model.draws(pool, _DRAWS, Probability.MEAN, self.rng, marginal=False)
        chance = log_probability(draws, criteria, self._margin(pool))
        if self.window is None or not self.window.claim:
            if number % _EDGE_BEFORE == _EDGE_BEFORE - 1:
                return self._edge(pool, draws, self._cost_now() if self._near_claim() else None)
            if self._near_claim() and number % 2:
                return self._improve(pool, draws, chance)
            return self._reach(pool, chance)
        if number % _EDGE_AFTER == _EDGE_AFTER - 1:
            return self._edge(pool, draws, self._cost_now())
        return self._improve(pool, draws, chance)

    def _near_claim(self) -> bool:
        """Return whether the recipe is likely enough that faster ones are worth a look already."""
        return self.window is not None and self.window.recipe.probability >= _NEAR_CLAIM

    def _cost_now(self) -> float:
        assert self.window is not None
        sign = 1.0 if self.question.objective.sense is Sense.MINIMISE else -1.0
        return sign * self.window.recipe.objective

    def _pool(self, batch: Sequence[Proposal]) -> Floats:
        space, feasible = self.question.space, self.question.feasible
        even = candidates(space, feasible, _EVEN, self.rng)
        pool = self._same_hard_factors(even, batch)
        screen = self.question.pass_shares(pool, _DRAWS, self.rng, screen=True, glance=True)[0]
        pool = pool[np.argsort(-screen, kind="stable")[:_KEPT]]
        centres = [pool[:12]]
        if self.window is not None:
            good = np.argsort(-self.window.probabilities, kind="stable")[:8]
            enough = np.flatnonzero(self.window.probabilities >= 0.3)
            fast = (
                enough[np.argsort(self.question.cost(self.window.points[enough]))[:12]]
                if enough.size
                else good
            )
            centres += [self.window.recipe.point[None, :], self.window.points[good], self.window.points[fast]]
        close = near(space, feasible, np.vstack(centres), 24, self.rng)
        return np.unique(np.vstack([pool, self._same_hard_factors(close, batch)]), axis=0)

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

    def _margin(self, pool: Floats) -> dict[str, Floats]:
        """Return the room to keep from limits per output and point: scatter of the next build about its mean."""
        model, question = self.question.model, self.question
        mean, build = (
            model.draws(
                pool, _DRAWS, kind, np.random.default_rng(1), question.setting_sd, marginal=False, glance=True
            )
            for kind in (Probability.MEAN, question.kind)
        )
        return {name: _ROOM * np.std(build[name] - mean[name], axis=0) for name in mean}

    def _pick(self, pool: Floats, worth: Floats) -> int:
        """Return the best row that is not a near copy of a build; near ties go to the shorter build."""
        unit, made = self.question.space.to_unit(pool), self.question.space.to_unit(self.made)
        if len(made):
            gap = np.min(np.linalg.norm(unit[:, None, :] - made[None, :, :], axis=2), axis=1)
            worth = np.where(gap > 0.02, worth, -np.inf)
        best = float(np.max(worth))
        if not np.isfinite(best):
            return int(np.argmax(gap))
        close = np.flatnonzero(worth >= best - _TIE * abs(best))
        minutes = self.question.model.known.get("build_min")
        if minutes is None or close.size == 1:
            return int(np.argmax(worth))
        taken = np.round(np.asarray(minutes(pool[close]), dtype=float), 3)
        return int(close[np.lexsort((-worth[close], taken))[0]])

    def _proposal(self, point: Floats, reason: str, kind: str, gain: float = 0.0) -> Proposal:
        chance = float(self.asked.pass_shares(point[None, :], 400, self.rng)[0][0])
        text = reason.format(chance=f"{chance:.2f}")
        return Proposal(self.question.space.settings(point), text, kind, chance, gain)

    def _reach(self, pool: Floats, chance: Floats) -> Proposal:
        """Return the likeliest point, a factor in the objective weighed as the same factor of probability."""
        cost = self.question.cost(pool)
        slow = np.log(cost) if np.all(cost > 0.0) else (cost - cost.min()) / max(float(np.ptp(cost)), 1e-12)
        worth = chance - slow
        row = self._pick(pool, np.exp((worth - worth.max()) / 3.0))
        reason = "Likely to meet all specifications with room for scatter, and fast (probability {chance})."
        return self._proposal(pool[row], reason, "reach")

    def _improve(self, pool: Floats, draws: Mapping[str, Floats], chance: Floats) -> Proposal:
        now = self._cost_now()
        saving = np.maximum(0.0, now - self.question.cost(pool)) / abs(now)
        held = np.all(list(passing(draws, self.question.criteria).values()), axis=0).mean(axis=0)
        gain = saving * np.minimum(np.exp(chance), held)
        if not float(gain.max()) > 0.0:
            return self._edge(pool, draws, None)
        row = self._pick(pool, gain)
        word = "shortens" if self.question.objective.response == "build_min" else "improves"
        share = f"{100 * saving[row]:.0f} %"
        reason = f"{word.capitalize()} the present recipe by {share} if it passes (probability {{chance}})."
        return self._proposal(pool[row], reason, "improve", float(gain[row]))

    def _edge(self, pool: Floats, draws: Mapping[str, Floats], cost: float | None) -> Proposal:
        held = np.all(list(passing(draws, self.question.criteria).values()), axis=0).mean(axis=0)
        shrunk = (held * _DRAWS + 0.5) / (_DRAWS + 1.0)
        entropy = -shrunk * np.log(shrunk) - (1.0 - shrunk) * np.log1p(-shrunk)
        if cost is not None:
            slower = np.maximum(0.0, self.question.cost(pool) - cost) / abs(cost)
            entropy = entropy * np.exp(-4.0 * slower)  # the edge that matters is the fast one
        row = self._pick(pool, entropy)
        reason = "Lies where passing is least certain (probability {chance}): shows where the window ends."
        return self._proposal(pool[row], reason, "edge")

    def _repeat_due(self, number: int, batch: Sequence[Proposal]) -> bool:
        window = self.window
        if window is None or window.recipe.probability < 0.3 or any(item.kind == "repeat" for item in batch):
            return False
        return number % _REPEAT_EVERY == _REPEAT_EVERY - 1

    def _repeat(self, window: Window) -> Proposal:
        reason = (
            "Builds the present recipe (probability {chance}): shows whether it holds and how builds differ."
        )
        return self._proposal(window.recipe.point, reason, "repeat")

    def _spread(self, batch: Sequence[Proposal]) -> Proposal:
        space = self.question.space
        pool = self._same_hard_factors(candidates(space, self.question.feasible, 512, self.rng), batch)
        made = self.made if len(self.made) else space.snap(0.5 * (space.low + space.high)[None, :])
        unit, other = space.to_unit(pool), space.to_unit(made)
        gap = np.min(np.linalg.norm(unit[:, None, :] - other[None, :, :], axis=2), axis=1)
        reason = "Far from every other build: too little is known yet to aim."
        return Proposal(space.settings(pool[int(np.argmax(gap))]), reason, "spread", float("nan"))
