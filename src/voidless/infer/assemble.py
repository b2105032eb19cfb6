"""Tables -> standardised training rows of every rival model, physics parameters calibrated on the way."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from voidless.infer.censor import truncated_sites
from voidless.infer.gp import Rows, Scales, condition, fixed_covariance, total_covariance
from voidless.infer.hyper import HyperPrior, Posterior, hyper_prior
from voidless.infer.nuisance import Nuisance
from voidless.infer.output import trend_columns
from voidless.infer.prior import PriorField
from voidless.infer.response import ResponseTable
from voidless.infer.transform import Transform

__all__ = ["Draft", "calibrate", "draft", "expanded", "fit_draft", "moved_closer"]

Floats = NDArray[np.float64]

# Prior standard deviation of constant and slopes, in units of the response's spread: wide without
# physics; with physics the constant and slopes are shares of the stated discrepancy.
_PLAIN_TREND = (1.0, 0.35)
_PHYSICS_TREND = (0.5, 0.2)
_CALIBRATION_ROUNDS = 3
_LARGEST_STEP = 1.5
_SAME = 0.05


@dataclass(frozen=True)
class Draft:
    """A rival model before its hyper-parameters are sampled; `limits` are targets as measured, bounds too."""

    rows: Rows
    limits: Floats
    sides: NDArray[np.int64]
    prior: HyperPrior
    trend_sd: tuple[float, float]
    white: Floats | None = None

    @property
    def scales(self) -> Scales:
        """Most probable hyper-parameters; those of the prior before a fit."""
        white = np.zeros(self.prior.medians.size) if self.white is None else self.white
        return self.prior.scales(white)


def draft(
    table: ResponseTable,
    transform: Transform,
    unit_points: Floats,
    nuisance: Nuisance,
    shift: float,
    scale: float,
    discrepancy: float | None,
    parameters: int,
    moved: bool = False,
) -> Draft:
    """
    Return the rows of one rival model.

    Parameters
    ----------
    table : ResponseTable
        Data.
    transform : Transform
        Scale on which the response is learned.
    unit_points : (b, k) float array
        Points of all builds in the unit cube. [1]
    nuisance : Nuisance
        Columns of all builds.
    shift, scale : float
        Standardisation. [learning scale]
    discrepancy : float or None
        Standard deviation of the physics model's error; None without physics. [learning scale]
    parameters : int
        Number of physics parameters.
    moved : bool
        Whether the scatter of the settings is stated.
    """
    points = unit_points[table.rows]
    target = (transform.forward(table.values) - shift) / scale
    slope = transform.slope(table.values)
    physics = discrepancy is not None
    level = 1.0 if discrepancy is None else discrepancy / scale
    trend_sd = _PHYSICS_TREND if physics else _PLAIN_TREND
    trend_sd = (trend_sd[0] * level, trend_sd[1] * level)
    spread = float(np.mean(slope)) ** 2 / scale**2
    rows = Rows(
        points=points,
        target=target,
        trend=trend_columns(points, trend_sd),
        nuisance=nuisance.columns[table.rows],
        jacobian=np.zeros((target.size, parameters)),
        builds=table.rows,
        sessions=nuisance.sessions[table.rows],
        counts=table.counts,
        variances=table.variances * slope**2 / scale**2,
        squares=table.squares_within * spread,
        freedom=table.freedom_within if table.squares_within > 0.0 else 0.0,
    )
    prior = hyper_prior(rows, level if physics else None, moved)
    return Draft(rows, target, table.sides, prior, trend_sd)


def fit_draft(item: Draft) -> Draft:
    """Return the draft with most probable hyper-parameters and bounds replaced by their stand-ins."""
    if not np.any(item.sides):
        white = Posterior(item.rows, item.prior).most_probable(item.white)
        return replace(item, white=white)
    for _ in range(2):
        covariance = total_covariance(
            item.rows, item.scales, fixed_covariance(item.rows, marginal_theta=True)
        )
        target, variance = truncated_sites(covariance, item.limits, item.sides)
        base = np.where(item.sides == 0, item.rows.variances, 0.0)
        rows = replace(item.rows, target=target, variances=base + variance * (item.sides != 0))
        white = Posterior(rows, item.prior).most_probable(item.white)
        item = replace(item, rows=rows, white=white)
    return item


def calibrate(
    drafts: Mapping[str, Draft],
    scales: Mapping[str, float],
    quantities: Mapping[str, str],
    field: PriorField,
    shop_points: Floats,
) -> dict[str, Draft]:
    """
    Return the drafts with the physics model taken off, its parameters calibrated over all responses.

    Parameters
    ----------
    drafts : mapping of str to Draft
        By output name; targets are standardised values with shift 0.
    scales : mapping of str to float
        Standard unit of every output. [learning scale]
    quantities : mapping of str to str
        Quantity of every output.
    field : PriorField
        Physics prior; its expansion point is moved.
    shop_points : (b, k) float array
        Points of all builds. [shop units]

    Notes
    -----
    Kennedy & O'Hagan, J. R. Stat. Soc. B 63 (2001) 425, linearised: Gauss-Newton on the parameters,
    which all responses share, with hyper-parameters refitted between steps.
    """
    current = dict(drafts)
    for round_ in range(_CALIBRATION_ROUNDS):
        current = {
            name: fit_draft(item)
            for name, item in expanded(drafts, current, scales, quantities, field, shop_points).items()
        }
        if round_ == _CALIBRATION_ROUNDS - 1 or not moved_closer(current, field):
            break
    return current


def expanded(
    drafts: Mapping[str, Draft],
    current: Mapping[str, Draft],
    scales: Mapping[str, float],
    quantities: Mapping[str, str],
    field: PriorField,
    shop_points: Floats,
) -> dict[str, Draft]:
    """Return the drafts with the physics taken off as it is about its parameters now, to be fitted from `current`."""
    fields, found = field.evaluate(shop_points), {}
    for name, item in drafts.items():
        own = fields[quantities[name]]
        jacobian = own.jacobian[item.rows.builds] / scales[name]
        limits = item.limits + jacobian @ field.shift - own.values[item.rows.builds] / scales[name]
        rows = replace(item.rows, target=limits, jacobian=jacobian)
        found[name] = replace(item, rows=rows, limits=limits, white=current[name].white)
    return found


def moved_closer(drafts: Mapping[str, Draft], field: PriorField) -> bool:
    """Expand the physics about the most probable parameters; return whether they were somewhere else."""
    if not field.mean.size:
        return False
    step = _posterior_mean(drafts) - field.shift
    # a step of Gauss-Newton, not a limit of the answer
    moved = np.clip(step, -_LARGEST_STEP, _LARGEST_STEP)
    if float(np.max(np.abs(moved))) < _SAME:
        return False
    field.move(field.shift + moved)
    return True


def _posterior_mean(drafts: Mapping[str, Draft]) -> Floats:
    size = next(iter(drafts.values())).rows.jacobian.shape[1]
    precision, product = np.eye(size), np.zeros(size)
    for item in drafts.values():
        matrix, vector = condition(item.rows, item.scales).information()
        precision += matrix
        product += vector
    return np.asarray(np.linalg.solve(precision, product))
