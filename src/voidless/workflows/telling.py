"""The build that tells whether the campaign that this one starts from belongs to it."""

from __future__ import annotations

import numpy as np

from voidless.infer.pairs import RATIO, RATIO_PARTS
from voidless.infer.propose import Proposal
from voidless.infer.table import TrainingData
from voidless.infer.window import Window
from voidless.twin.transfer import StartedPrior
from voidless.workflows.opening import OpenCampaign
from voidless.workflows.taught import doubted_of, telling_point

__all__ = ["telling_build"]

_FEWEST = 4
"""Builds with a result from which on none is made for this question alone: every build answers it by then."""
_PROMISING = 0.5
"""Share of the highest probability from which on a setting is worth a build in any case. Assumed."""


def telling_build(
    opened: OpenCampaign, data: TrainingData, window: Window, first: Proposal
) -> Proposal | None:
    """
    Return the build that tells most of whether a source belongs; None where enough was built or nothing is in doubt.

    Parameters
    ----------
    opened : OpenCampaign
        The campaign.
    data : TrainingData
        What its model was fitted to.
    window : Window
        Its judged points are what is chosen from: those at least half as likely to pass as the likeliest.
    first : Proposal
        Best build otherwise; factors that are hard to change keep its values.
    """
    prior = data.prior
    if not isinstance(prior, StartedPrior) or len({item.build for item in data.observations}) >= _FEWEST:
        return None
    doubted, space = doubted_of(prior), opened.space
    if doubted is None:
        return None
    chances = window.probabilities
    hard = [place for place, factor in enumerate(space.factors) if factor.hard_to_change]
    kept = (window.points[:, hard] == space.point(first.settings)[hard]).all(axis=1)
    rows = np.flatnonzero(kept & (chances >= _PROMISING * float(chances.max())))
    if not rows.size:
        return None
    point = telling_point(prior, doubted, window.points[rows], _measured(opened, data))
    if point is None:
        return None
    chance = float(chances[np.flatnonzero((window.points == point).all(axis=1))[0]])
    reason = (
        f"Tells whether {doubted.name} belongs here: of the promising settings, what it taught and what the "
        f"literature says differ most at these (probability to pass {chance:.2f})."
    )
    return Proposal(space.settings(point), reason, "tell", chance)


def _measured(opened: OpenCampaign, data: TrainingData) -> list[str]:
    """Return what builds here are measured for: what they were, else what the specifications need."""
    found = {item.key.quantity for item in data.observations} or {
        item.response for item in opened.campaign.specifications
    }
    return sorted(found | (set(RATIO_PARTS) if RATIO in found else set()))
