"""Shown, not shown, contradicted, or too few numbers to say."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray
from scipy import stats

from voidless.campaign.types import Probability
from voidless.proof.between import FEWEST, part_bound
from voidless.proof.requirement import Requirement
from voidless.proof.size import MOST_BUILDS, Expected, builds_needed
from voidless.proof.tolerance import one_sided_factor

__all__ = ["Finding", "State", "judge"]

Floats = NDArray[np.float64]
Groups = Sequence[Sequence[float]]


class State(StrEnum):
    """What the numbers say of a requirement."""

    SHOWN = "shown"
    NOT_SHOWN = "not shown"
    CONTRADICTED = "contradicted"
    TOO_FEW = "too few"


@dataclass(frozen=True)
class Finding:
    """
    What builds of one recipe show.

    Attributes
    ----------
    state : State
        The verdict.
    builds, parts : int
        Numbers behind it. [1]
    mean : float
        Mean of the builds' means; NaN without one. [unit of the response]
    between, within : float
        Standard deviations between and within builds; NaN where they cannot be known. [unit of the response]
    bound_low, bound_high : float
        Bounds that must lie within the limits; NaN without such a limit, or where none can be stated. [unit of the
        response]
    more_builds : int or None
        Further builds that would probably show it if the truth is as measured; None when none would.
    words : str
        The verdict in one sentence.
    """

    state: State
    builds: int
    parts: int
    mean: float
    between: float
    within: float
    bound_low: float
    bound_high: float
    more_builds: int | None
    words: str


def judge(requirement: Requirement, values: Groups, power: float = 0.8) -> Finding:
    """
    Return what the builds show of a requirement.

    Parameters
    ----------
    requirement : Requirement
        What must be shown.
    values : sequence of sequences of float
        Values of the parts, build by build; builds of the confirmation alone. [unit of the response]
    power : float
        Probability of success for which further builds are counted. [1]

    Notes
    -----
    Mean: Student's t over the builds' means. Next build: one-sided tolerance bounds of the builds' means. Next part:
    `between.part_bound`. Parts of one build are one build. Several requirements need no correction: all of them
    must be shown (intersection-union, Berger, Technometrics 24 (1982) 295).
    """
    groups = [_scaled(requirement, group) for group in values if len(group)]
    means = np.array([group.mean() for group in groups])
    between, within = _scatter(groups)
    expected = Expected(float(means.mean()) if means.size else np.nan, between, within)
    inner = _inner(requirement)
    fewest = 2 if requirement.kind is Probability.MEAN else FEWEST
    if len(groups) < fewest:
        return _finding(requirement, State.TOO_FEW, groups, expected, (np.nan, np.nan), fewest - len(groups))
    bounds = _bounds(inner, groups, means)
    outside = _mean_outside(inner, means)
    if inner.low < bounds[0] and bounds[1] < inner.high:
        return _finding(requirement, State.SHOWN, groups, expected, bounds, 0)
    state = State.CONTRADICTED if outside else State.NOT_SHOWN
    parts = max(1, round(float(np.mean([group.size for group in groups]))))
    needed = None if outside else builds_needed(inner, _known(expected), parts, power)
    more = None if needed is None else max(1, needed - len(groups))
    return _finding(requirement, state, groups, expected, bounds, more)


def _scaled(requirement: Requirement, group: Sequence[float]) -> Floats:
    found = np.asarray(group, dtype=float)
    return np.log(found) if requirement.ratio else found


def _inner(requirement: Requirement) -> Requirement:
    """Return the requirement on the scale that is judged: a ratio's logarithm, which builds alone have."""
    if not requirement.ratio:
        return requirement
    kind = Probability.NEXT_BUILD if requirement.kind is Probability.NEXT_PART else requirement.kind
    low, high = (np.log(value) if value > 0.0 else -np.inf for value in (requirement.low, requirement.high))
    return Requirement(
        requirement.response, float(low), float(high), kind, requirement.content, requirement.confidence
    )


def _scatter(groups: Sequence[Floats]) -> tuple[float, float]:
    freedom = sum(group.size - 1 for group in groups)
    within = np.sqrt(sum(float(((g - g.mean()) ** 2).sum()) for g in groups) / freedom) if freedom else np.nan
    if len(groups) < 2:
        return float("nan"), float(within)
    variance = float(np.var([group.mean() for group in groups], ddof=1))
    if freedom:
        variance -= float(within) ** 2 * float(np.mean([1.0 / group.size for group in groups]))
    return float(np.sqrt(max(0.0, variance))), float(within)


def _known(expected: Expected) -> Expected:
    return Expected(expected.mean, expected.between, 0.0 if np.isnan(expected.within) else expected.within)


def _bounds(inner: Requirement, groups: Sequence[Floats], means: Floats) -> tuple[float, float]:
    content, confidence, count = inner.content_each, inner.confidence, means.size
    if inner.kind is Probability.NEXT_PART:
        listed = [group.tolist() for group in groups]
        opposite = [(-group).tolist() for group in groups]
        return part_bound(listed, content, confidence), -part_bound(opposite, content, confidence)
    sd = float(means.std(ddof=1))
    if inner.kind is Probability.MEAN:
        factor = float(stats.t.ppf(confidence, count - 1)) / np.sqrt(count)
    else:
        factor = one_sided_factor(content, confidence, count)
    return float(means.mean() - factor * sd), float(means.mean() + factor * sd)


def _mean_outside(inner: Requirement, means: Floats) -> bool:
    """Return whether the mean itself is shown to lie outside the limits."""
    half = float(stats.t.ppf(inner.confidence, means.size - 1) * means.std(ddof=1) / np.sqrt(means.size))
    middle = float(means.mean())
    return middle + half < inner.low or middle - half > inner.high


def _finding(
    requirement: Requirement,
    state: State,
    groups: Sequence[Floats],
    expected: Expected,
    bounds: tuple[float, float],
    more: int | None,
) -> Finding:
    back = np.exp if requirement.ratio else np.asarray
    builds, parts = len(groups), int(sum(group.size for group in groups))
    mean, low, high = (float(back(value)) for value in (expected.mean, *bounds))
    low = low if np.isfinite(requirement.low) else np.nan
    high = high if np.isfinite(requirement.high) else np.nan
    between, within = expected.between, expected.within
    if requirement.ratio:
        between, within = between * mean, within * mean
    words = _words(requirement, state, builds, low, high, more)
    return Finding(state, builds, parts, mean, between, within, low, high, more, words)


_OF = {
    Probability.MEAN: "the mean of builds is",
    Probability.NEXT_BUILD: "{share:g} % of further builds have",
    Probability.NEXT_PART: "{share:g} % of further parts have",
}


def _words(
    requirement: Requirement, state: State, builds: int, low: float, high: float, more: int | None
) -> str:
    what = _OF[requirement.kind].format(share=100.0 * requirement.content)
    sure = f"with {100.0 * requirement.confidence:g} % confidence"
    ends = []
    if np.isfinite(requirement.low) and np.isfinite(low):
        ends.append(f"at least {low:.4g}")
    if np.isfinite(requirement.high) and np.isfinite(high):
        ends.append(f"at most {high:.4g}")
    bound = " and ".join(ends)
    name = requirement.response
    if state is State.TOO_FEW and not builds:
        return f"{name}: no confirmation build has a value yet; {more} at least."
    if state is State.TOO_FEW:
        return f"{name}: {builds} build(s) cannot say it; parts of one build are one build. {more} more at least."
    if state is State.SHOWN:
        return f"{name}: shown by {builds} builds: {what} {bound}, {sure}."
    if state is State.CONTRADICTED:
        return f"{name}: contradicted by {builds} builds: the mean itself lies outside the limits, {sure}."
    rest = (
        f"{more} more builds would probably show it, were the truth as measured."
        if more is not None
        else f"not even {MOST_BUILDS} builds would probably show it: move the recipe further inside."
    )
    return f"{name}: not shown by {builds} builds: {what} {bound}, {sure}. {rest[0].upper()}{rest[1:]}"
