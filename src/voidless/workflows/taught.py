"""What a fitted campaign teaches another one, and how far that believes it; needs no campaign folder."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from voidless.infer.foretold import foretell, told_apart
from voidless.infer.learned import CampaignModel
from voidless.infer.table import TrainingData, reduce_observations
from voidless.twin.prior import TwinPrior
from voidless.twin.transfer import (
    ODDS,
    SHARES,
    Belief,
    Source,
    StartedPrior,
    comes_over,
    one_started,
    start_from,
)

__all__ = ["belief_words", "believed", "constants_of", "doubted_of", "source_of", "telling_point"]

Floats = NDArray[np.float64]

_FEWEST = 4
"""Builds from which on a misfit is believed."""
_TELLS = 0.5
"""Natural logarithm of a ratio from which on a build is named as one that told. Assumed."""
_NAMED = 3
_HALF, _NOT = 0.6, 0.3
"""Weights below which a source is half believed, and not believed."""
_SHARED = {
    (True, True): "the same material and machine",
    (True, False): "the same material, another machine",
    (False, True): "another material, the same machine",
}
_DECIDED = 0.1
"""A source that is a stranger with less than this probability, or more than the rest, is not asked about. Assumed."""


def source_of(model: CampaignModel, data: TrainingData, same_material: bool, same_machine: bool) -> Source:
    """Return what a calibrated campaign knows, of the twin's own constants."""
    names, mean, covariance = model.calibration()
    prior = data.prior
    misfit = _misfit(data, mean[: len(prior.parameters)]) if prior else {}
    if isinstance(prior, StartedPrior):
        count = len(prior.parameters)
        names, mean, covariance = prior.physical(mean[:count], covariance[:count, :count])
    return Source(names, mean, covariance, misfit, same_material, same_machine)


def constants_of(model: CampaignModel, prior: object) -> dict[str, dict[str, float]]:
    """Return the calibrated constants by their own names, also where they were learned as independent mixtures."""
    if not isinstance(prior, StartedPrior):
        return model.constants()
    _, mean, covariance = model.calibration()
    count = prior.centre.size
    names, mean, covariance = prior.physical(mean[:count], covariance[:count, :count])
    before = np.sqrt(np.sum(prior.mix**2, axis=1))
    return {
        name: {
            "mean": float(mean[place]),
            "sd": float(np.sqrt(covariance[place, place])),
            "prior_mean": float(prior.centre[place]),
            "prior_sd": float(before[place]),
        }
        for place, name in enumerate(names)
    }


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


def believed(data: TrainingData, prior: TwinPrior, sources: Mapping[str, Source]) -> TwinPrior | StartedPrior:
    """
    Return the twin as sources leave it to a campaign, each as far as the campaign's own builds let it be believed.

    Parameters
    ----------
    data : TrainingData
        The new campaign as it stands.
    prior : TwinPrior
        The twin with constants as literature has them.
    sources : mapping of str to Source
        What each named campaign knows.

    Notes
    -----
    Every source is weighed by itself: `ODDS` times how well the campaign's values are foretold with each of `SHARES`.
    """
    known = {name: source for name, source in sources.items() if comes_over(prior, source)}
    beliefs = tuple(_belief(data, prior, name, source) for name, source in known.items())
    started = start_from(prior, list(known.values()), [item.weights for item in beliefs])
    return replace(started, beliefs=beliefs) if isinstance(started, StartedPrior) else started


def _belief(data: TrainingData, prior: TwinPrior, name: str, source: Source) -> Belief:
    errors = prior.discrepancy_sd  # the same for all: a smaller one that fits would count for any constants
    rivals = [
        replace(one_started(prior, source, place), discrepancy_sd=errors) for place in range(len(SHARES))
    ]
    found = foretell(data, rivals)
    level = np.log(ODDS) + found.evidence
    weights = np.exp(level - level.max())
    weights /= weights.sum()
    gained = np.asarray(ODDS[:-1]) @ np.exp(found.by_build[:-1] - found.by_build[-1]) / sum(ODDS[:-1])
    told: dict[str, float] = {}
    for build, size in zip(data.builds, np.log(gained).tolist(), strict=True):
        told[build.label] = told.get(build.label, 0.0) + size
    return Belief(name, tuple(weights.tolist()), told, source)


def doubted_of(prior: StartedPrior) -> Belief | None:
    """Return the source of which it is least clear whether it belongs; None where all are decided."""
    open_ = [item for item in prior.beliefs if _DECIDED < item.weights[-1] < 1.0 - _DECIDED]
    return min(open_, key=lambda item: abs(item.weights[-1] - 0.5), default=None)


def telling_point(
    prior: StartedPrior, doubted: Belief, points: Floats, responses: Sequence[str]
) -> Floats | None:
    """
    Return the point `(k,)` of `(n, k)` whose build tells best whether a source belongs; None where none tells.

    Parameters
    ----------
    prior : StartedPrior
        Twin as its sources leave it.
    doubted : Belief
        The source in doubt.
    points : (n, k) float array
        Points to choose from. [shop units]
    responses : sequence of str
        What the build will measure.
    """
    rivals = one_started(prior.base, doubted.source, 0), prior.base
    apart = told_apart(prior.base.space, *rivals, points, responses)
    return np.asarray(points[int(np.argmax(apart))]) if bool(np.any(apart > 0.0)) else None


def _shared(source: Source) -> tuple[bool, bool]:
    return source.same_material, source.same_machine


def belief_words(item: Belief) -> str:
    """Return in one sentence how far a source is believed, and which builds told."""
    before, named = replace(item, weights=ODDS).weight, f"{item.name} ({_SHARED[_shared(item.source)]})"
    if not any(item.told.values()):
        return f"{named} is believed with weight {item.weight:.2f} until builds here tell whether it belongs."
    state = "not believed" if item.weight < _NOT else "half believed" if item.weight < _HALF else "believed"
    sign = 1.0 if item.weight >= before else -1.0
    strong = sorted(
        (build for build, size in item.told.items() if sign * size >= _TELLS),
        key=lambda b: -sign * item.told[b],
    )
    telling = f"; {', '.join(strong[:_NAMED])} told {'for' if sign > 0 else 'against'} it" if strong else ""
    return f"{named} is {state}: weight {item.weight:.2f} ({before:.2f} before any build here){telling}."
