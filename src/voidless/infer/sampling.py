"""Joint posterior draws of all responses at points."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from voidless.campaign.types import Probability
from voidless.infer.failure import BUILD_OK
from voidless.infer.gp import Conditioned, Scales
from voidless.infer.output import Output, Variant
from voidless.infer.prior import Field

if TYPE_CHECKING:
    from voidless.infer.learned import CampaignModel

__all__ = ["draw_responses"]

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


@dataclass(frozen=True)
class _Place:
    """Where one block of draws is made: `c` draws of `n` points, each moved by the machine's scatter."""

    unit: Floats
    """`(m, k)`; m is `n` when nothing is moved and `c * n` otherwise."""
    base: Ints
    """Row of the unmoved point behind each of the `m`."""
    offsets: Floats
    draws: int
    points: int

    def spread(self, values: Floats) -> Floats:
        """Return `(m,)` values as `(c, n)`, or as `(1, n)` to be repeated."""
        return values.reshape(-1, self.points)


def draw_responses(
    model: CampaignModel,
    points: Floats,
    count: int,
    kind: Probability,
    rng: np.random.Generator,
    setting_sd: Mapping[str, float] | None = None,
    marginal: bool = True,
) -> dict[str, Floats]:
    """
    Return joint draws of all responses, independent between points given the shared parameters.

    Parameters
    ----------
    model : CampaignModel
        Fitted model.
    points : (n, k) float array
        Points. [shop units]
    count : int
        Draws.
    kind : Probability
        `mean`: the long-run mean of builds; `next_build`: the true mean of the next build; `next_part`:
        one specimen of it.
    rng : numpy.random.Generator
        Source of randomness.
    setting_sd : mapping of str to float or None
        Realised scatter of settings, by factor name; acts on `next_build` and `next_part`. [shop units]
    marginal : bool
        Whether hyper-parameters are drawn from their posterior, or the most probable ones are used.

    Returns
    -------
    draws : dict of str to (count, n) float array
        By output name. [unit of the quantity]
    """
    points = np.atleast_2d(np.asarray(points, dtype=float))
    moved = _scatter(model, setting_sd) if kind is not Probability.MEAN else None
    fields = model.field.evaluate(points, slopes=moved is not None) if model.field else {}
    blocks: list[dict[str, Floats]] = []
    for index, draws in model.allot(count, marginal):
        place = _place(model, points, draws, moved, rng)
        blocks.append(_block(model, fields, place, index, kind, setting_sd, rng))
    found = {name: np.concatenate([block[name] for block in blocks]) for name in blocks[0]}
    for name, function in model.known.items():
        if name not in found:
            found[name] = np.broadcast_to(np.asarray(function(points), dtype=float), (count, len(points)))
    for name, (upper, lower) in model.derived.items():
        found[name] = found[upper] / found[lower]
    return found


def _scatter(model: CampaignModel, setting_sd: Mapping[str, float] | None) -> Floats | None:
    if not setting_sd:
        return None
    span = model.space.high - model.space.low
    moved = np.array([setting_sd.get(name, 0.0) for name in model.space.names]) / span
    return moved if bool(np.any(moved > 0.0)) else None


def _place(
    model: CampaignModel, points: Floats, draws: int, moved: Floats | None, rng: np.random.Generator
) -> _Place:
    unit, count = model.space.to_unit(points), len(points)
    if moved is None:
        return _Place(unit, np.arange(count), np.zeros_like(unit), draws, count)
    offsets = moved * rng.standard_normal((draws * count, unit.shape[1]))
    base = np.tile(np.arange(count), draws)
    return _Place(unit[base] + offsets, base, offsets, draws, count)


def _block(
    model: CampaignModel,
    fields: Mapping[str, Field],
    place: _Place,
    index: int,
    kind: Probability,
    setting_sd: Mapping[str, float] | None,
    rng: np.random.Generator,
) -> dict[str, Floats]:
    theta = model.theta_draws(index, place.draws, rng)
    found: dict[str, Floats] = {}
    shape = (place.draws, place.points)
    for name, output in model.outputs.items():
        choice = rng.choice(len(output.variants), size=place.draws, p=output.weights)
        values = np.zeros(shape)
        for number, variant in enumerate(output.variants):
            chosen = choice == number
            if np.any(chosen):
                process = model.process(name, number, index)
                mean, variance = _moments(output, variant, process, fields, place, theta)
                part = mean + np.sqrt(variance) * rng.standard_normal(shape)
                part = part + model.scatter(name, number, index, kind, setting_sd) * rng.standard_normal(
                    shape
                )
                values[chosen] = part[chosen]
        found[name] = output.transform.backward(values)
    if model.failure is not None:
        mean, variance = model.failure.latent(place.unit)
        found[BUILD_OK] = place.spread(mean) + np.sqrt(place.spread(variance)) * rng.standard_normal(shape)
    return found


def _moments(
    output: Output,
    variant: Variant,
    process: Conditioned,
    fields: Mapping[str, Field],
    place: _Place,
    theta: Floats,
) -> tuple[Floats, Floats]:
    """Return mean `(c, n)` given each draw's parameters, and variance `(c or 1, n)`. [learning scale]"""
    mean, pull, variance = process.latent(place.unit, variant.trend(place.unit))
    mean, variance = output.scale * mean, output.scale**2 * variance
    if not variant.physics:
        return output.shift + place.spread(mean), place.spread(variance)
    base, jacobian = fields[output.quantity].near(place.base, place.offsets)
    shift = theta[0]
    answer = place.spread(base - jacobian @ shift + mean)
    gain = jacobian - output.scale * pull
    if len(place.unit) == place.points:
        return answer + theta[1:] @ gain.T, place.spread(variance)
    by_draw = gain.reshape(place.draws, place.points, -1)
    return answer + np.einsum("cnp,cp->cn", by_draw, theta[1:]), place.spread(variance)


def build_scatter(scales: Scales, kind: Probability, left: float) -> float:
    """Return the standard deviation that a kind of probability adds; `left` is the share of it kept."""
    if kind is Probability.MEAN:
        return 0.0
    variance = scales.between**2 * left + scales.session**2
    if kind is Probability.NEXT_PART:
        variance += scales.within**2
    return float(np.sqrt(variance))
