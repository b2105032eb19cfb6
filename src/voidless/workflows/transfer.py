"""Start from calibrated campaigns: their constants become the priors of this one."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from voidless.errors import InputError
from voidless.infer.learned import CampaignModel
from voidless.infer.table import TrainingData, reduce_observations
from voidless.twin.prior import TwinPrior
from voidless.twin.transfer import Source, StartedPrior, start_from
from voidless.workflows.opening import OpenCampaign, open_campaign

__all__ = ["transfer_folders", "transferred"]

Floats = NDArray[np.float64]

Learned = Callable[[OpenCampaign], tuple[CampaignModel, TrainingData]]
"""Campaign -> its model, and what that was fitted to."""

_FEWEST = 4
"""Builds from which on a misfit is believed."""


def transfer_folders(opened: OpenCampaign) -> list[Path]:
    """
    Return the folders that `[transfer] campaigns` names, relative ones beside the campaign's own folder.

    Raises
    ------
    InputError
        A campaign names itself.
    """
    own = opened.folder.resolve()
    found = [(own.parent / Path(name).expanduser()).resolve() for name in opened.campaign.transfer]
    if own in found:
        raise InputError(
            f"{opened.store.campaign_file}: [transfer]",
            "the campaign names itself",
            "another campaign",
            "Remove it.",
        )
    return found


def transferred(opened: OpenCampaign, prior: TwinPrior, learned: Learned) -> TwinPrior | StartedPrior:
    """
    Return the twin with constants as the named campaigns have calibrated them; as it was where none is named.

    What those campaigns took over themselves from further ones is part of what they know.

    Raises
    ------
    InputError
        A named folder holds no campaign or no result.
    """
    folders = transfer_folders(opened)
    if not folders or not prior.parameters:
        return prior
    return start_from(prior, [_source(opened, folder, learned) for folder in folders])


def _source(opened: OpenCampaign, folder: Path, learned: Learned) -> Source:
    with open_campaign(folder) as other:
        if not other.store.observations():
            raise InputError(
                str(folder), "the campaign holds no result", "a calibrated campaign", "voidless read"
            )
        model, data = learned(other)
        same = (
            other.campaign.material == opened.campaign.material,
            other.campaign.machine == opened.campaign.machine,
        )
        return source_of(model, data, *same)


def source_of(model: CampaignModel, data: TrainingData, same_material: bool, same_machine: bool) -> Source:
    """Return what a calibrated campaign knows, of the twin's own constants."""
    names, mean, covariance = model.calibration()
    prior = data.prior
    misfit = _misfit(data, mean[: len(prior.parameters)]) if prior else {}
    if isinstance(prior, StartedPrior):
        count = len(prior.parameters)
        names, mean, covariance = prior.physical(mean[:count], covariance[:count, :count])
    return Source(names, mean, covariance, misfit, same_material, same_machine)


def _misfit(data: TrainingData, theta: Floats) -> dict[str, float]:
    """Return how far the calibrated twin lies from the means of builds, root mean square; of features the largest."""
    prior = data.prior
    assert prior is not None
    points = data.space.points([build.settings for build in data.builds])
    found: dict[str, float] = {}
    for table in reduce_observations(replace(data, responses=None)).values():
        name, rows = table.quantity, table.sides == 0
        if name in prior.responses and np.unique(table.rows[rows]).size >= _FEWEST:
            told = prior(points[table.rows[rows]], theta)[:, prior.responses.index(name)]
            misfit = float(np.sqrt(np.mean((table.values[rows] - told) ** 2)))
            found[name] = max(misfit, found.get(name, 0.0))
    return found
