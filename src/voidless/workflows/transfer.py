"""Start from calibrated campaigns: their constants become the priors of this one."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from voidless.campaign.types import Bound, BuildOutcome
from voidless.errors import InputError
from voidless.infer.table import TrainingData
from voidless.twin.prior import TwinPrior
from voidless.twin.transfer import Source, StartedPrior, start_from
from voidless.workflows.opening import OpenCampaign, open_campaign

__all__ = ["transfer_folders", "transferred"]

Floats = NDArray[np.float64]

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


def transferred(opened: OpenCampaign, prior: TwinPrior) -> TwinPrior | StartedPrior:
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
    return start_from(prior, [_source(opened, folder) for folder in folders])


def _source(opened: OpenCampaign, folder: Path) -> Source:
    from voidless.workflows.training import fit_campaign, training_data

    with open_campaign(folder) as other:
        if not other.store.observations():
            raise InputError(
                str(folder), "the campaign holds no result", "a calibrated campaign", "voidless read"
            )
        model, data = fit_campaign(other), training_data(other)
        names, mean, covariance = model.calibration()
        misfit = _misfit(data, mean[: len(data.prior.parameters)]) if data.prior else {}
        if isinstance(data.prior, StartedPrior):
            count = len(data.prior.parameters)
            names, mean, covariance = data.prior.physical(mean[:count], covariance[:count, :count])
        return Source(
            names,
            mean,
            covariance,
            misfit,
            other.campaign.material == opened.campaign.material,
            other.campaign.machine == opened.campaign.machine,
        )


def _misfit(data: TrainingData, theta: Floats) -> dict[str, float]:
    """Return how far the calibrated twin lies from the means of builds, root mean square by response."""
    prior = data.prior
    assert prior is not None
    builds = {build.label: build for build in data.builds if build.outcome is BuildOutcome.OK}
    values: dict[str, dict[str, list[float]]] = {}
    for item in data.observations:
        if item.bound is Bound.EXACT and item.build in builds:
            values.setdefault(item.key.quantity, {}).setdefault(item.build, []).append(item.value)
    found = {}
    for column, name in enumerate(prior.responses):
        measured = values.get(name, {})
        if len(measured) >= _FEWEST:
            told = prior(data.space.points([builds[label].settings for label in measured]), theta)[:, column]
            means = np.array([np.mean(parts) for parts in measured.values()])
            found[name] = float(np.sqrt(np.mean((means - told) ** 2)))
    return found
