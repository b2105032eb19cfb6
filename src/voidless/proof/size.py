"""How many builds a proof needs."""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass

import numpy as np
from scipy import stats

from voidless.campaign.types import Probability
from voidless.errors import InputError
from voidless.proof.requirement import Requirement
from voidless.proof.tolerance import one_sided_factor

__all__ = [
    "MOST_BUILDS", "MOST_VALUES", "Expected", "builds_needed", "chance_to_show", "chance_to_tell", "values_to_tell",
]  # fmt: skip

MOST_BUILDS = 60
"""Beyond it a proof is called out of reach."""

MOST_VALUES = 1000
"""Beyond it a difference is called too small to tell."""


@dataclass(frozen=True)
class Expected:
    """What further builds are expected to show: mean, scatter between and within builds. [unit of the response]"""

    mean: float
    between: float
    within: float


def chance_to_show(requirement: Requirement, expected: Expected, builds: int, parts: int) -> float:
    """
    Return the probability that so many builds will show what is required, should the expectation be true. [1]

    Parameters
    ----------
    requirement : Requirement
        What must be shown.
    expected : Expected
        Truth that is supposed.
    builds, parts : int
        Builds, from 2, and parts tested of each. [1]

    Notes
    -----
    Noncentral t distribution over the builds' means. For parts the scatter of parts is judged with the degrees of
    freedom of the builds alone, so the number is on the safe side. Two limits: at worst both fail apart.
    """
    part = requirement.kind is Probability.NEXT_PART
    spread = float(np.hypot(expected.between, expected.within / (1.0 if part else np.sqrt(parts))))
    if not spread > 0.0:
        return 1.0 if requirement.low < expected.mean < requirement.high else 0.0
    root = np.sqrt(builds)
    if requirement.kind is Probability.MEAN:
        needed = float(stats.t.ppf(requirement.confidence, builds - 1))
    else:
        needed = root * one_sided_factor(requirement.content_each, requirement.confidence, builds)
    rooms = (expected.mean - requirement.low, requirement.high - expected.mean)
    fails = [
        float(stats.nct.cdf(needed, builds - 1, room / spread * root)) for room in rooms if np.isfinite(room)
    ]
    return max(0.0, 1.0 - sum(fails))


def builds_needed(requirement: Requirement, expected: Expected, parts: int, power: float = 0.8) -> int | None:
    """
    Return the fewest builds that show what is required with the power; None when `MOST_BUILDS` do not.

    Parameters
    ----------
    requirement, expected, parts
        As in `chance_to_show`.
    power : float
        Probability of success that is wanted. [1]
    """
    fewest = 2 if requirement.kind is Probability.MEAN else 3
    for builds in range(fewest, MOST_BUILDS + 1):
        if chance_to_show(requirement, expected, builds, parts) >= power:
            return builds
    return None


def chance_to_tell(difference: float, scatter: float, each: int, significance: float = 0.05) -> float:
    """
    Return the probability that two groups of values are told apart, should they differ by so much. [1]

    Parameters
    ----------
    difference, scatter : float
        Of the means, and standard deviation within each group. [unit of the response]
    each : int
        Values of each group, from 2: builds where builds scatter, never the parts of one build. [1]
    significance : float
        Of the two-sided test of both means (Student's t, one scatter). [1]

    Raises
    ------
    InputError
        Scatter not above 0, fewer than 2 values, or a significance outside 0 to 1.

    Notes
    -----
    Noncentral t distribution with 2 n - 2 degrees of freedom.

    Examples
    --------
    >>> round(chance_to_tell(1.0, 2.0, 64), 2)
    0.8
    """
    if not (scatter > 0.0 and each >= 2 and 0.0 < significance < 1.0 and np.isfinite(difference)):
        raise InputError(
            "power", f"scatter {scatter:g}, {each} values, significance {significance:g}",
            "scatter above 0, 2 values or more, significance between 0 and 1", "Correct the number.",
        )  # fmt: skip
    freedom, shift = 2 * each - 2, abs(difference) / scatter * np.sqrt(each / 2.0)
    needed = float(stats.t.isf(0.5 * significance, freedom))
    # the far tail by its mirror image: the other form is not a number for large shifts
    return float(stats.nct.sf(needed, freedom, shift) + stats.nct.sf(needed, freedom, -shift))


def values_to_tell(
    difference: float, scatter: float, power: float = 0.8, significance: float = 0.05
) -> int | None:
    """
    Return the fewest values of each of two groups that tell them apart; None when `MOST_VALUES` do not.

    Parameters
    ----------
    difference, scatter, significance
        As in `chance_to_tell`.
    power : float
        Probability of success that is wanted. [1]
    """
    few = 2
    while not chance_to_tell(difference, scatter, few, significance) >= power:
        if few == MOST_VALUES:
            return None
        few = min(2 * few, MOST_VALUES)
    return bisect_left(
        range(few + 1), True, lo=2,
        key=lambda each: chance_to_tell(difference, scatter, each, significance) >= power,
    )  # fmt: skip
