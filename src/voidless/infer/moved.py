"""Builds whose settings scatter about what was commanded: what that adds to the variance of every row."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from voidless.infer.assemble import Draft, fit_draft
from voidless.infer.gp import condition
from voidless.infer.output import trend_columns
from voidless.infer.prior import Field

__all__ = ["with_moved_settings"]

Floats = NDArray[np.float64]

_ROUNDS = 2


def with_moved_settings(
    item: Draft, spread: Floats, along: tuple[int, ...], field: Field | None, theta: Floats, scale: float
) -> Draft:
    """
    Return the draft fitted again with the settings' own scatter as a known part of every row's variance.

    Parameters
    ----------
    item : Draft
        Fitted draft.
    spread : (k,) float array
        Standard deviation of the settings. [1 of the unit cube]
    along : tuple of int
        Columns of the factors that scatter.
    field : Field or None
        Physics at the rows with slopes `along`; None without physics. [learning scale]
    theta : (p,) float array
        Physics parameters that the physics is expanded about, in prior standard deviations. [1]
    scale : float
        Standard unit of the response. [learning scale]

    Notes
    -----
    McHutchon & Rasmussen, "Gaussian process training with input noise", NIPS 2011: noise of the input acts
    through the slope of the posterior mean; fit and slopes in turn. The square of the curvature is added.
    Without it the scatter of settings on steep ground would count as scatter of builds everywhere.
    """
    before = item.rows.variances
    for _ in range(_ROUNDS):
        added = _variance(item, spread, along, field, theta, scale)
        rows = replace(item.rows, variances=np.where(item.sides == 0, before + added, item.rows.variances))
        item = fit_draft(replace(item, rows=rows))
    return item


def _variance(
    item: Draft, spread: Floats, along: tuple[int, ...], field: Field | None, theta: Floats, scale: float
) -> Floats:
    process, points = condition(item.rows, item.scales), item.rows.points

    def mean(at: Floats) -> Floats:
        return process.latent_mean(at, trend_columns(at, item.trend_sd), theta)

    here, total = mean(points), np.zeros(len(points))
    for place, column in enumerate(along):
        step = np.zeros(points.shape[1])
        step[column] = spread[column]
        above, below = mean(points + step), mean(points - step)
        first, second = 0.5 * (above - below), above - 2.0 * here + below
        if field is not None and field.slope is not None and field.curvature is not None:
            first = first + field.slope[:, place] * spread[column] / scale
            second = second + field.curvature[:, place] * spread[column] ** 2 / scale
        total += first**2 + 0.5 * second**2
    return np.asarray(total)
