"""What a fitted campaign teaches another one; needs no campaign folder."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from voidless.infer.learned import CampaignModel
from voidless.infer.table import TrainingData, reduce_observations
from voidless.twin.transfer import Source, StartedPrior

__all__ = ["source_of"]

Floats = NDArray[np.float64]

_FEWEST = 4
"""Builds from which on a misfit is believed."""


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
