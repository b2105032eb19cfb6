"""Builds that failed (cold, clogged, fell off) as knowledge of where builds fail."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from voidless.infer.censor import truncated_sites
from voidless.infer.gp import Conditioned, Rows, Scales, condition
from voidless.infer.kernel import matern

__all__ = ["BUILD_OK", "FailureModel", "fit_failures"]

Floats = NDArray[np.float64]

BUILD_OK = "build_ok"
"""Name of the latent response that is above 0 where a build succeeds."""

# Fixed, assumed: before any build 91 % are expected to succeed; a failure is felt over about half a range.
_MEAN = 2.5
_SMOOTH = 1.5
_LENGTH = 0.35  # times the square root of the number of factors


@dataclass(frozen=True)
class FailureModel:
    """A latent normal field; a build succeeds where field plus unit noise is above 0 (probit)."""

    process: Conditioned

    def latent(self, unit_points: Floats) -> tuple[Floats, Floats]:
        """Return mean and variance `(n,)` of the field, unit noise included. [1]"""
        mean, _, variance = self.process.latent(unit_points, np.zeros((len(unit_points), 1)))
        return _MEAN + mean, variance + 1.0


def fit_failures(unit_points: Floats, succeeded: NDArray[np.bool_]) -> FailureModel | None:
    """
    Return where builds fail, or None while every build succeeded.

    Parameters
    ----------
    unit_points : (b, k) float array
        Points of all builds in the unit cube. [1]
    succeeded : (b,) bool array
        Whether each build ended well.
    """
    if bool(np.all(succeeded)):
        return None
    count, k = unit_points.shape
    lengths = np.full(k, _LENGTH * np.sqrt(k))
    covariance = _SMOOTH**2 * matern(unit_points, unit_points, lengths) + np.eye(count)
    sides = np.where(succeeded, 1, -1).astype(np.int64)
    target, variance = truncated_sites(covariance, np.full(count, -_MEAN), sides)
    rows = Rows(
        points=unit_points,
        target=target,
        trend=np.zeros((count, 1)),
        nuisance=np.zeros((count, 0)),
        jacobian=np.zeros((count, 0)),
        builds=np.arange(count),
        sessions=np.zeros(count, dtype=np.int64),
        counts=np.ones(count),
        variances=variance + 1.0,
    )
    return FailureModel(condition(rows, Scales(lengths, _SMOOTH, between=0.0)))
