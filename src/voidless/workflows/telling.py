"""The build that tells whether the campaign that this one starts from belongs to it."""

from __future__ import annotations

import numpy as np

from voidless.infer.pairs import RATIO, RATIO_PARTS
from voidless.infer.propose import Proposal
from voidless.infer.search import candidates
from voidless.infer.table import TrainingData
from voidless.twin.transfer import StartedPrior
from voidless.workflows.opening import OpenCampaign
from voidless.workflows.taught import doubted_of, telling_point

__all__ = ["telling_build"]

_FEWEST = 4
"""Builds with a result from which on none is made for this question alone: every build answers it by then."""
_EVEN = 256


def telling_build(
    opened: OpenCampaign, data: TrainingData, first: Proposal, rng: np.random.Generator
) -> Proposal | None:
    """
    Return the build that tells most of whether a source belongs; None where enough was built or nothing is in doubt.

    Parameters
    ----------
    opened : OpenCampaign
        The campaign.
    data : TrainingData
        What its model was fitted to.
    first : Proposal
        Best build otherwise; factors that are hard to change keep its values.
    rng : numpy.random.Generator
        Source of the settings to choose from.
    """
    prior = data.prior
    if not isinstance(prior, StartedPrior) or len({item.build for item in data.observations}) >= _FEWEST:
        return None
    doubted = doubted_of(prior)
    if doubted is None:
        return None
    space = opened.space
    points = candidates(space, opened.feasible, _EVEN, rng)
    hard = [place for place, factor in enumerate(space.factors) if factor.hard_to_change]
    points[:, hard] = space.point(first.settings)[hard]
    points = points[opened.feasible(points)]
    point = telling_point(prior, doubted, points, _measured(opened, data)) if len(points) else None
    if point is None:
        return None
    reason = (
        f"Tells whether {doubted.name} belongs here: what it taught and what the literature says differ most at "
        f"these settings."
    )
    return Proposal(space.settings(point), reason, "tell", float("nan"))


def _measured(opened: OpenCampaign, data: TrainingData) -> list[str]:
    """Return what builds here are measured for: what they were, else what the specifications need."""
    found = {item.key.quantity for item in data.observations} or {
        item.response for item in opened.campaign.specifications
    }
    return sorted(found | (set(RATIO_PARTS) if RATIO in found else set()))
