"""Draws of whole response surfaces: joint between points, and as many points as one likes."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from voidless.infer.failure import BUILD_OK
from voidless.infer.gp import Conditioned, noise_diagonal
from voidless.infer.learned import CampaignModel

__all__ = ["surface_draws"]

Floats = NDArray[np.float64]

_WAVES = 384


def surface_draws(
    model: CampaignModel, points: Floats, count: int, rng: np.random.Generator, marginal: bool = True
) -> dict[str, Floats]:
    """
    Return draws of the long-run mean of every response, joint between points.

    Parameters
    ----------
    model : CampaignModel
        Fitted model.
    points : (n, k) float array
        Points; thousands are fine. [shop units]
    count : int
        Draws.
    rng : numpy.random.Generator
        Source of randomness.
    marginal : bool
        Whether hyper-parameters are drawn from their posterior, or the most probable ones are used.

    Returns
    -------
    draws : dict of str to (count, n) float array
        By output name, derived and known responses included; `build_ok` is the field of failures, without its
        unit noise, once a build has failed. [unit of the quantity]

    Notes
    -----
    Pathwise conditioning (Wilson et al., "Efficiently sampling functions from Gaussian process posteriors",
    ICML 2020): a draw of the prior by random waves, plus what it takes to pass through a draw of the data.
    Waves of a Matérn process of smoothness 5/2 follow a t density with five degrees of freedom.
    """
    unit = model.space.to_unit(points)
    fields = model.field.evaluate(points) if model.field else {}
    blocks: dict[str, list[Floats]] = {name: [] for name in model.outputs}
    for index, draws in model.allot(count, marginal):
        theta = model.theta_draws(index, draws, rng)
        for name, output in model.outputs.items():
            choice = rng.choice(len(output.variants), size=draws, p=output.weights)
            values = np.zeros((draws, len(points)))
            for number, variant in enumerate(output.variants):
                rows = np.flatnonzero(choice == number)
                if not rows.size:
                    continue
                process, own = model.process(name, number, index), theta[rows]
                part = output.scale * _surfaces(process, unit, variant.trend(unit), own, rng)
                if variant.physics and model.field is not None:
                    field = fields[output.quantity]
                    part += field.values + (own - model.field.shift) @ field.jacobian.T
                else:
                    part += output.shift
                values[rows] = part
            blocks[name].append(output.transform.backward(values))
    found = {name: np.concatenate(parts) for name, parts in blocks.items()}
    if model.failure is not None:
        trend, none = model.failure.trend(unit), np.zeros((count, 0))
        found[BUILD_OK] = model.failure.mean + _surfaces(model.failure.process, unit, trend, none, rng)
    for name, function in model.known.items():
        found[name] = np.broadcast_to(np.asarray(function(points), dtype=float), (count, len(points)))
    for name, (upper, lower) in model.derived.items():
        found[name] = found[upper] / found[lower]
    return found


def _surfaces(
    process: Conditioned, unit: Floats, trend: Floats, theta: Floats, rng: np.random.Generator
) -> Floats:
    """Return one draw `(c, n)` of the smooth part and trend per row of physics parameters `(c, p)`. [1]"""
    scales, rows, count = process.scales, process.rows, len(theta)
    k = unit.shape[1]
    tails = np.sqrt(5.0 / rng.chisquare(5.0, (_WAVES, 1)))
    waves = rng.standard_normal((_WAVES, k)) * tails / scales.lengths
    phases = rng.uniform(0.0, 2.0 * np.pi, _WAVES)
    heights = scales.smooth * np.sqrt(2.0 / _WAVES) * rng.standard_normal((_WAVES, count))
    slopes = rng.standard_normal((trend.shape[1], count))

    def prior(at: Floats, columns: Floats) -> Floats:
        return np.asarray(np.cos(at @ waves.T + phases) @ heights + columns @ slopes)

    drawn = prior(unit, trend)
    if rows.size:
        wanted = rows.target[:, None] - (rows.jacobian @ theta.T if theta.shape[1] else 0.0)
        short = wanted - prior(rows.points, rows.trend) - _data_noise(process, count, rng)
        drawn = drawn + process.cross(unit, trend) @ (process.half.T @ (process.half @ short))
    return np.asarray(drawn.T)


def _data_noise(process: Conditioned, count: int, rng: np.random.Generator) -> Floats:
    """Return draws `(n, c)` of all that the rows hold besides surface and physics. [1]"""
    rows, scales = process.rows, process.scales
    noise = np.sqrt(noise_diagonal(rows, scales.within))[:, None] * rng.standard_normal((rows.size, count))
    noise += rows.nuisance @ rng.standard_normal((rows.nuisance.shape[1], count))
    for sd, codes in ((scales.between, rows.builds), (scales.session, rows.sessions)):
        names, which = np.unique(codes, return_inverse=True)
        noise += sd * rng.standard_normal((names.size, count))[which.ravel()]
    return np.asarray(noise)
