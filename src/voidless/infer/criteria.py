"""Specifications applied to posterior draws."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import log_ndtr

from voidless.campaign.types import Specification
from voidless.infer.failure import BUILD_OK
from voidless.infer.learned import CampaignModel

__all__ = ["Criterion", "criteria_for", "log_probability", "passing", "unknown_responses"]

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]


@dataclass(frozen=True)
class Criterion:
    """
    One specification and the outputs that must hold it.

    Attributes
    ----------
    name : str
        The specification's response, or `build_ok`.
    outputs : tuple of str
        Output names; a specification without a feature holds for every feature.
    low, high : float
        Limits, infinite where there is none. [unit of the response]
    """

    name: str
    outputs: tuple[str, ...]
    low: float
    high: float


def criteria_for(model: CampaignModel, specifications: Sequence[Specification]) -> tuple[Criterion, ...]:
    """
    Return what must hold, a successful build included once a build has failed.

    Specifications on responses that the model does not know are left out; `unknown_responses` names them.
    """
    found = []
    for item in specifications:
        outputs = _outputs_of(model, item.response)
        if outputs:
            found.append(Criterion(item.response, outputs, *item.bounds))
    if model.failure is not None:
        found.append(Criterion(BUILD_OK, (BUILD_OK,), 0.0, np.inf))
    return tuple(found)


def _outputs_of(model: CampaignModel, response: str) -> tuple[str, ...]:
    names = model.responses
    if response in names:
        same = [name for name in names if name.startswith(f"{response}:")]
        return (response, *same)
    return tuple(name for name in names if name.split(":")[0] == response)


def unknown_responses(model: CampaignModel, specifications: Sequence[Specification]) -> tuple[str, ...]:
    """Return responses that a specification names and nothing is known about."""
    return tuple(item.response for item in specifications if not _outputs_of(model, item.response))


def passing(draws: Mapping[str, Floats], criteria: Sequence[Criterion]) -> dict[str, Bools]:
    """Return, per criterion, which draws `(count, n)` hold it."""
    found = {}
    for item in criteria:
        held: Bools | None = None
        for name in item.outputs:
            values = draws[name]
            own = (values >= item.low) & (values <= item.high)
            held = own if held is None else held & own
        if held is not None:
            found[item.name] = held
    return found


def log_probability(
    draws: Mapping[str, Floats], criteria: Sequence[Criterion], margin: Mapping[str, Floats]
) -> Floats:
    """
    Return the log probability that all criteria hold with room to spare, `(n,)`.

    Parameters
    ----------
    draws : mapping of str to (count, n) float array
        Posterior draws of long-run means.
    criteria : sequence of Criterion
        What must hold.
    margin : mapping of str to (n,) float array
        Distance to keep from every limit, per output. [unit of the response]

    Notes
    -----
    From means and standard deviations of the draws, as if normal and independent between responses: it
    ranks points where no single draw passes, and is used for nothing else.
    """
    total: Floats | float = 0.0
    for item in criteria:
        for name in item.outputs:
            values = draws[name]
            mean, spread = values.mean(axis=0), values.std(axis=0) + 1e-12
            # a band narrower than the scatter still has a best place: its middle
            room = np.minimum(margin.get(name, 0.0), 0.45 * (item.high - item.low))
            total = total + _log_inside((item.low + room - mean) / spread, (item.high - room - mean) / spread)
    return np.asarray(total)


def _log_inside(low: Floats, high: Floats) -> Floats:
    """Return the log probability that a standard normal lies between two bounds, exact far into the tails."""
    mirrored = low > 0.0
    low, high = np.where(mirrored, -high, low), np.where(mirrored, -low, high)
    above = log_ndtr(high)
    return np.asarray(above + np.log1p(-np.exp(log_ndtr(low) - above)))
