"""Draws of whole response surfaces: joint between points, for averages over the space."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from voidless.infer.gp import Conditioned
from voidless.infer.kernel import matern
from voidless.infer.learned import CampaignModel

__all__ = ["surface_draws"]

Floats = NDArray[np.float64]


def surface_draws(
    model: CampaignModel, points: Floats, count: int, rng: np.random.Generator
) -> dict[str, Floats]:
    """
    Return draws of the long-run mean of every response, joint between points.

    Parameters
    ----------
    model : CampaignModel
        Fitted model.
    points : (n, k) float array
        Points; some hundreds. [shop units]
    count : int
        Draws.
    rng : numpy.random.Generator
        Source of randomness.

    Returns
    -------
    draws : dict of str to (count, n) float array
        By output name, derived responses included. [unit of the quantity]
    """
    unit = model.space.to_unit(points)
    fields = model.field.evaluate(points) if model.field else {}
    blocks: dict[str, list[Floats]] = {name: [] for name in model.outputs}
    for index, draws in model.allot(count, marginal=True):
        theta = model.theta_draws(index, draws, rng)
        for name, output in model.outputs.items():
            choice = rng.choice(len(output.variants), size=draws, p=output.weights)
            values = np.zeros((draws, len(points)))
            for number, variant in enumerate(output.variants):
                rows = np.flatnonzero(choice == number)
                if not rows.size:
                    continue
                process = model.process(name, number, index)
                trend = variant.trend(unit)
                mean, pull, _ = process.latent(unit, trend)
                factor = np.linalg.cholesky(_joint_covariance(process, unit, trend))
                part = output.scale * (mean + rng.standard_normal((rows.size, len(unit))) @ factor.T)
                if variant.physics and model.field is not None:
                    own = fields[output.quantity]
                    part = part + own.values - own.jacobian @ model.field.shift
                    part = part + theta[rows] @ (own.jacobian - output.scale * pull).T
                else:
                    part = part + output.shift
                values[rows] = part
            blocks[name].append(output.transform.backward(values))
    found = {name: np.concatenate(parts) for name, parts in blocks.items()}
    for name, (upper, lower) in model.derived.items():
        found[name] = found[upper] / found[lower]
    return found


def _joint_covariance(process: Conditioned, unit: Floats, trend: Floats) -> Floats:
    smooth = process.scales.smooth**2
    prior = smooth * matern(unit, unit, process.scales.lengths) + trend @ trend.T
    if process.rows.size:
        half = process.cross(unit, trend) @ process.half.T
        prior = prior - half @ half.T
    return np.asarray(prior + 1e-7 * max(smooth, 1e-6) * np.eye(len(unit)))
