"""Builds whose settings scatter about what was commanded: what that adds to every row, and its variance."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from voidless.infer.assemble import Draft, fit_draft
from voidless.infer.bend import bend, steps_of
from voidless.infer.gp import condition
from voidless.infer.output import trend_columns
from voidless.infer.prior import Field
from voidless.infer.realised import Realised, Witness, witness

__all__ = ["Moved"]

Floats = NDArray[np.float64]

_ROUNDS = 2


@dataclass(frozen=True)
class Moved:
    """
    A rival model of builds whose settings scatter.

    Attributes
    ----------
    base : Draft
        As if no setting scattered.
    spread : (k,) float array
        Standard deviation of the settings. [1 of the unit cube]
    field : Field or None
        Physics at every build with slopes along the factors that scatter; None without. [learning scale]
    theta : (p,) float array
        Physics parameters that the physics is expanded about, in prior standard deviations. [1]
    scale : float
        Standard unit of the response. [learning scale]
    """

    base: Draft
    spread: Floats
    field: Field | None
    theta: Floats
    scale: float

    def fitted(self, known: Realised | None = None, start: Draft | None = None) -> Draft:
        """Return the draft, what is `known` of the settings taken off and the rest counted as variance."""
        item = self.base if start is None else start
        for _ in range(_ROUNDS if start is None else 1):
            slopes, curvatures = self._shape(item)
            taken, added = self._effect(slopes, curvatures, known)
            exact = self.base.sides == 0
            base = self.base.rows
            rows = replace(
                base,
                target=np.where(exact, base.target - taken, item.rows.target),
                variances=np.where(exact, base.variances + added, item.rows.variances),
            )
            limits = np.where(exact, self.base.limits - taken, self.base.limits)
            item = fit_draft(replace(item, rows=rows, limits=limits))
        return item

    def taken_over(self, before: Moved, item: Draft) -> Draft:
        """Return a draft that was fitted about other physics parameters with the physics as it is here."""
        change = self.base.limits - before.base.limits
        rows = replace(self.base.rows, target=item.rows.target + change, variances=item.rows.variances)
        return replace(item, rows=rows, limits=item.limits + change)

    def witness(self, item: Draft) -> Witness:
        """Return what the fitted draft says of its builds."""
        slopes, _ = self._shape(item)
        exact = self.base.sides == 0
        taken = np.where(exact, self.base.rows.target - item.rows.target, 0.0)
        added = np.where(exact, item.rows.variances - self.base.rows.variances, 0.0)
        return witness(item, slopes, taken, added)

    def _effect(self, slopes: Floats, curvatures: Floats, known: Realised | None) -> tuple[Floats, Floats]:
        if known is None:
            return np.zeros(len(slopes)), np.asarray(np.sum(slopes**2 + 0.5 * curvatures**2, axis=1))
        builds = self.base.rows.builds
        mean, left = known.mean[builds], known.covariance[builds]
        each = np.einsum("nss->ns", left)
        taken = np.sum(slopes * mean + 0.5 * curvatures * (mean**2 + each - 1.0), axis=1)
        added = np.einsum("ns,nst,nt->n", slopes, left, slopes) + np.sum(
            0.5 * (curvatures * each) ** 2, axis=1
        )
        return np.asarray(taken), np.asarray(added)

    def _shape(self, item: Draft) -> tuple[Floats, Floats]:
        """Return first and second change `(n, s)` of the mean per standard deviation of the settings. [1]"""
        process, points = condition(item.rows, item.scales), item.rows.points

        def mean(at: Floats) -> Floats:
            return process.latent_mean(at, trend_columns(at, item.trend_sd), self.theta)

        steps = steps_of(self.spread)
        sd = self.spread[list(steps)]
        first, second = (each.T for each in bend(mean, points, steps))
        field, builds = self.field, item.rows.builds
        if field is not None and field.slope is not None and field.curvature is not None:
            first = first + field.slope[builds] / self.scale
            second = second + field.curvature[builds] / self.scale
        return np.asarray(first * sd), np.asarray(second * sd**2)
