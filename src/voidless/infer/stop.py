"""Whether to go on: limits, and expected gain against cost."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from voidless.campaign.types import Limits, Objective
from voidless.infer.learned import CampaignModel
from voidless.infer.propose import Proposal
from voidless.infer.window import Window

__all__ = ["Spent", "Stop", "enough_builds", "may_stop"]

# A build that is expected to save less than this share of the objective is not worth making.
_LEAST_GAIN = 0.01
# How often the recipe must have been built before a campaign may stop at it.
_REPEATS = 2
# A campaign that nothing can satisfy is not called so before this many builds per factor.
_BUILDS_PER_FACTOR = 4
_TIME = Objective()


@dataclass(frozen=True)
class Spent:
    """What a campaign has used: builds with a result or a logged failure, print hours, grams."""

    builds: int
    hours: float = 0.0
    grams: float = 0.0


@dataclass(frozen=True)
class Stop:
    """Whether to stop, whether a limit says so, one sentence why, and builds of the recipe that are still wanted."""

    stop: bool
    limit: bool
    reason: str
    repeats: int = 0


def may_stop(
    model: CampaignModel,
    window: Window | None,
    spent: Spent,
    limits: Limits,
    proposals: Sequence[Proposal] = (),
    hoped: float = 0.0,
    objective: Objective = _TIME,
) -> Stop:
    """
    Return whether the campaign may stop.

    Parameters
    ----------
    model : CampaignModel
        Fitted model.
    window : Window or None
        Window of that model.
    spent : Spent
        What was used.
    limits : Limits
        What may be used.
    proposals : sequence of Proposal
        The next builds, for their expected gain; empty: gain is not weighed.
    hoped : float
        Largest expected share of the objective that any build saves (`expected_saving`); it counts where no
        proposal is meant to save anything. [1]
    objective : Objective
        What is saved or improved, for the sentence.
    """
    used = _used_up(spent, limits)
    if used:
        return Stop(True, True, used)
    if window is None or model.basis == "prior":
        return Stop(False, False, "Nothing has been measured yet.")
    enough = enough_builds(model)
    if window.blocked_by and model.builds >= enough:
        return Stop(
            True, False, f"No window: {window.blocked_because} (blocked by {', '.join(window.blocked_by)})."
        )
    if window.blocked_by:
        return Stop(
            False,
            False,
            f"So far {window.blocked_because}; that is believed after {enough} builds.",
        )
    if not window.claim:
        return Stop(
            False,
            False,
            f"The recipe passes with a probability of {window.recipe.probability:.2f}; "
            f"{window.confidence:.2f} is asked for.",
        )
    return _weighed(model, window, proposals, hoped, objective)


def enough_builds(model: CampaignModel) -> int:
    """Return after how many builds it is believed that nothing can satisfy a campaign. [1]"""
    return _BUILDS_PER_FACTOR * len(model.space.factors)


def _weighed(
    model: CampaignModel,
    window: Window,
    proposals: Sequence[Proposal],
    hoped: float,
    objective: Objective,
) -> Stop:
    """Return whether a claimed recipe is left alone: nothing is to be gained, and it was built again."""
    holds = f"The recipe holds with a probability of {window.recipe.probability:.2f};"
    gain = max([item.gain for item in proposals if item.kind == "improve"] or [hoped])
    share = f"{100 * gain:.1f} %"
    of_time = objective.response == "build_min"
    gained = f"save {share} of the build time" if of_time else f"improve {objective.response} by {share}"
    if not proposals or gain >= _LEAST_GAIN:
        return Stop(False, False, f"{holds} a build may {gained}.")
    little = f"the best next build is expected to {gained}, less than the {100 * _LEAST_GAIN:g} % that is worth a build"
    missing = _REPEATS - _repeats(model, window)
    if missing <= 0:
        return Stop(True, False, f"{holds} {little}.")
    return Stop(False, False, f"{holds} {little}, so the recipe itself is to be repeated.", missing)


def _used_up(spent: Spent, limits: Limits) -> str:
    rows = (
        ("builds", spent.builds, limits.builds),
        ("print hours", spent.hours, limits.hours),
        ("attended hours", spent.hours, limits.attended_hours),
        ("grams", spent.grams, limits.grams),
    )
    for name, used, limit in rows:
        if limit is not None and used >= limit:
            return f"The limit of {limit:g} {name} is reached."
    return ""


def _repeats(model: CampaignModel, window: Window) -> int:
    """Return how many builds were made at or very near the recipe."""
    at = model.space.to_unit(window.recipe.point[None, :])[0]
    rows = [v.rows for item in model.outputs.values() for v in item.variants]
    if not rows:
        return 0
    counts = [int((abs(r.points - at).max(axis=1) < 0.05).sum()) if r.size else 0 for r in rows]
    return max(counts)
