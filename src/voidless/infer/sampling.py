"""Joint posterior draws of all responses at points."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from voidless.campaign.types import Probability
from voidless.infer.bend import bend
from voidless.infer.deck import Deck, deal
from voidless.infer.failure import BUILD_OK
from voidless.infer.gp import Scales
from voidless.infer.prior import Field

if TYPE_CHECKING:
    from voidless.infer.learned import CampaignModel

__all__ = ["draw_responses"]

Floats = NDArray[np.float64]


def draw_responses(
    model: CampaignModel,
    points: Floats,
    count: int,
    kind: Probability,
    rng: np.random.Generator,
    setting_sd: Mapping[str, float] | None = None,
    marginal: bool = True,
    glance: bool = False,
) -> dict[str, Floats]:
    """
    Return joint draws of all responses.

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
    glance : bool
        Whether physics parameters stay where the prior is expanded: many points, seen roughly.

    Returns
    -------
    draws : dict of str to (count, n) float array
        By output name. [unit of the quantity]

    Notes
    -----
    Every draw has one luck at all points, so that points are compared without noise; it says nothing of
    how errors at two points go together (`paths.surface_draws` does). Settings that scatter act through
    slope and curvature of the mean at the most probable hyper-parameters; what was learned is the mean of builds that
    scattered as `model.setting_sd` says, so that curvature acts through what the squares differ from theirs.
    """
    points = np.atleast_2d(np.asarray(points, dtype=float))
    spread = _spread(model, setting_sd) if kind is not Probability.MEAN else None
    deck = deal(model, count, rng, spread, marginal)
    fields: Mapping[str, Field] = {}
    if model.field is not None:
        fields = model.field.plain(points, deck.moved) if glance else model.field.evaluate(points, deck.moved)
        if glance:
            deck = replace(deck, theta=np.tile(model.field.shift, (count, 1)))
    unit = model.space.to_unit(points)
    found = {name: _output(model, name, unit, deck, fields, kind) for name in model.outputs}
    if model.failure is not None:
        mean, variance = model.failure.latent(unit)
        found[BUILD_OK] = mean + np.sqrt(variance) * deck.smooth[BUILD_OK][:, None]
    for name, function in model.known.items():
        if name not in found:
            found[name] = np.broadcast_to(np.asarray(function(points), dtype=float), (count, len(points)))
    for name, (upper, lower) in model.derived.items():
        found[name] = found[upper] / found[lower]
    return found


def _spread(model: CampaignModel, setting_sd: Mapping[str, float] | None) -> Floats | None:
    if not setting_sd:
        return None
    spread = model.space.spread(setting_sd)
    return spread if bool(np.any(spread > 0.0)) else None


def _output(
    model: CampaignModel,
    name: str,
    unit: Floats,
    deck: Deck,
    fields: Mapping[str, Field],
    kind: Probability,
) -> Floats:
    """Return the draws `(c, n)` of one output. [unit of the quantity]"""
    output = model.outputs[name]
    values, built = np.empty((deck.rows.size, len(unit))), model.space.spread(model.setting_sd)
    for number, variant in enumerate(output.variants):
        field = fields[output.quantity] if variant.physics else None
        slope, curvature = _slopes(model, name, number, unit, deck, field)
        for index in np.unique(deck.rows):
            own = np.flatnonzero((deck.rows == index) & (deck.rival[name] == number))
            if not own.size:
                continue
            process = model.process(name, number, int(index))
            mean, pull, variance = process.latent(unit, variant.trend(unit))
            part = np.tile(output.scale * mean, (own.size, 1))
            if field is None or model.field is None:
                part += output.shift
            else:
                theta = deck.theta[own]
                part += field.values + (theta - model.field.shift) @ field.jacobian.T
                part -= output.scale * (theta @ pull.T)
            if deck.moves is not None:
                moves = deck.moves[own][:, list(deck.moved)]
                # what the scatter of past builds did to their mean is part of what was learned
                bent = moves**2 - built[list(deck.moved)] ** 2
                part += moves @ slope.T + 0.5 * bent @ curvature.T
            part += output.scale * np.sqrt(variance) * deck.smooth[name][own, None]
            part += model.scatter(name, number, int(index), kind) * deck.scatter[name][own, None]
            values[own] = part
    return np.asarray(output.transform.backward(values))


def _slopes(
    model: CampaignModel, name: str, number: int, unit: Floats, deck: Deck, field: Field | None
) -> tuple[Floats, Floats]:
    """Return slope and curvature `(n, s)` of a rival's mean along the factors that scatter. [learning scale]"""
    output = model.outputs[name]
    slope, curvature = np.zeros((2, len(unit), len(deck.moved)))
    if deck.moves is None or not np.any(deck.rival[name] == number):
        return slope, curvature
    variant, process = output.variants[number], model.process(name, number, 0)

    # the physics' own slope is that at the parameters it is expanded about
    about = model.theta_mean() if model.field is None else model.field.shift

    def mean(at: Floats) -> Floats:
        return output.scale * process.latent_mean(at, variant.trend(at), about)

    slope, curvature = (each.T for each in bend(mean, unit, deck.moved))
    if field is not None and field.slope is not None and field.curvature is not None:
        slope, curvature = slope + field.slope, curvature + field.curvature
    return slope, curvature


def build_scatter(scales: Scales, kind: Probability) -> float:
    """Return the standard deviation that a kind of probability adds. [1]"""
    if kind is Probability.MEAN:
        return 0.0
    variance = scales.between**2 + scales.session**2
    if kind is Probability.NEXT_PART:
        variance += scales.within**2
    return float(np.sqrt(variance))
