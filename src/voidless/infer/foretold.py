"""How well rival physics priors foretell what a campaign has measured."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import block_diag, solve_triangular

from voidless.campaign.space import Space
from voidless.infer.assemble import Draft, calibrate, draft
from voidless.infer.bend import steps_of
from voidless.infer.gp import factorise, fixed_covariance, total_covariance
from voidless.infer.moved import Moved
from voidless.infer.nuisance import nuisance_columns
from voidless.infer.prior import Prior, PriorField
from voidless.infer.response import ResponseTable
from voidless.infer.table import TrainingData, reduce_observations
from voidless.infer.transform import transform_for

__all__ = ["Foretold", "foretell", "told_apart"]

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Foretold:
    """
    What rival priors say of the same builds.

    Attributes
    ----------
    evidence : (k,) float array
        Log density of all that was measured, up to a constant that the rivals share. [1]
    by_build : (k, b) float array
        Share of each build: the log density of its values, foretold from the builds before it. [1]
    """

    evidence: Floats
    by_build: Floats


def foretell(data: TrainingData, priors: Sequence[Prior]) -> Foretold:
    """
    Return how well each prior foretells the campaign's values of the responses that all of them give.

    Parameters
    ----------
    data : TrainingData
        Campaign; its own prior is not used, and all measured responses are.
    priors : sequence of Prior
        Rivals that give the same responses.

    Notes
    -----
    Parameters of the physics are integrated over their priors, all responses together, in the linearised model
    of docs/methods/learning.md; hyper-parameters are the most probable ones, and their prior density counts.
    """
    tables = {
        name: table
        for name, table in reduce_observations(replace(data, responses=None)).items()
        if all(table.quantity in prior.responses for prior in priors)
    }
    count = len(data.builds)
    if not tables:
        return Foretold(np.zeros(len(priors)), np.zeros((len(priors), count)))
    units = _units(tables, priors)
    found = [_told(data, tables, units, prior) for prior in priors]
    return Foretold(np.array([item[0] for item in found]), np.array([item[1] for item in found]))


def told_apart(space: Space, first: Prior, second: Prior, points: Floats, responses: Sequence[str]) -> Floats:
    """
    Return how well one build at each point would tell two priors apart, `(n,)`.

    Parameters
    ----------
    space : Space
        Factors.
    first, second : Prior
        Rivals.
    points : (n, k) float array
        Points. [shop units]
    responses : sequence of str
        What the build will measure; what a prior does not give is left out.

    Notes
    -----
    Expected logarithm of the ratio of densities, the mean over either prior being true, response by response: half of
    Jeffreys' divergence of normal distributions. Scatter of builds is not in it.
    """
    names = [name for name in responses if name in first.responses and name in second.responses]
    (mean, variance), (other, spread) = (_expected(space, prior, points, names) for prior in (first, second))
    apart = (mean - other) ** 2
    return np.asarray(
        np.sum(0.25 * ((variance + apart) / spread + (spread + apart) / variance - 2.0), axis=0)
    )


def _expected(space: Space, prior: Prior, points: Floats, names: Sequence[str]) -> tuple[Floats, Floats]:
    """Return mean and variance `(r, n)` of responses before any build. [learning scale]"""
    field = PriorField(prior, space, {name: transform_for(name) for name in prior.responses})
    found, errors = field.evaluate(points), field.discrepancy(points)
    variances = [np.sum(found[name].jacobian ** 2, axis=1) + errors[name] ** 2 for name in names]
    shape = (len(names), len(points))
    return (
        np.array([found[name].values for name in names]).reshape(shape),
        np.array(variances).reshape(shape),
    )


def _units(tables: Mapping[str, ResponseTable], priors: Sequence[Prior]) -> dict[str, float]:
    """Return one unit per response for all rivals: its spread, never below a share of the widest stated error."""
    units = {}
    for name, table in tables.items():
        transform = transform_for(table.quantity)
        values = transform.forward(table.values)
        typical = np.mean(table.values, keepdims=True)
        error = max(float(prior.discrepancy_sd[table.quantity]) for prior in priors)
        error *= float(transform.slope(typical)[0])
        spread = float(np.std(values, ddof=1)) if values.size > 1 else 0.0
        units[name] = max(spread, 0.3 * error, 1e-12)
    return units


def _told(
    data: TrainingData, tables: Mapping[str, ResponseTable], units: Mapping[str, float], prior: Prior
) -> tuple[float, Floats]:
    """Return the log evidence of one prior, and the share of each build `(b,)`."""
    drafts = list(_calibrated(data, tables, units, prior).values())
    builds = np.concatenate([item.rows.builds for item in drafts])
    order = np.argsort(np.array([build.order for build in data.builds])[builds], kind="stable")
    jacobian = np.vstack([item.rows.jacobian for item in drafts])
    own = [
        total_covariance(item.rows, item.scales, fixed_covariance(item.rows, marginal_theta=False))
        for item in drafts
    ]
    covariance = (block_diag(*own) + jacobian @ jacobian.T)[np.ix_(order, order)]
    factor = factorise(covariance)
    target = np.concatenate([item.rows.target for item in drafts])[order]
    innovations = solve_triangular(factor, target, lower=True)
    by_build = np.zeros(len(data.builds))
    np.add.at(by_build, builds[order], -0.5 * innovations**2 - np.log(np.diag(factor)))
    return float(by_build.sum()) - sum(_besides(item) for item in drafts), by_build


def _besides(item: Draft) -> float:
    """Return the negative log density of the scatter within builds and of the hyper-parameters."""
    found = 0.0 if item.white is None else 0.5 * float(item.white @ item.white)
    if item.prior.within:
        within = item.scales.within
        found += item.rows.freedom * float(np.log(within)) + 0.5 * item.rows.squares / within**2
    return found


def _calibrated(
    data: TrainingData, tables: Mapping[str, ResponseTable], units: Mapping[str, float], prior: Prior
) -> dict[str, Draft]:
    """Return one fitted draft per response, the scatter of settings accounted for."""
    space, points = data.space, data.space.points([build.settings for build in data.builds])
    field = PriorField(prior, space, {name: transform_for(name) for name in prior.responses})
    nuisance, errors = nuisance_columns(data.builds), field.discrepancy(points)
    spread = space.spread(data.setting_sd)
    along = steps_of(spread)
    drafts = {
        name: draft(
            table, transform_for(table.quantity), space.to_unit(points), nuisance,
            0.0, units[name], errors[table.quantity], field.mean.size, bool(along),
        )
        for name, table in tables.items()
    }  # fmt: skip
    quantities = {name: table.quantity for name, table in tables.items()}
    drafts = calibrate(drafts, units, quantities, field, points)
    if not along:
        return drafts
    fields = field.evaluate(points, along)
    return {
        name: Moved(item, spread, fields[quantities[name]], field.shift, units[name]).fitted()
        for name, item in drafts.items()
    }
