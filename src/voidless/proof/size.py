"""How many builds a proof needs."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import stats

from voidless.campaign.types import Probability
from voidless.proof.requirement import Requirement
from voidless.proof.tolerance import one_sided_factor

__all__ = ["MOST_BUILDS", "Expected", "builds_needed", "chance_to_show"]

MOST_BUILDS = 60
"""Beyond it a proof is called out of reach."""


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
