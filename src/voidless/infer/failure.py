"""Builds that failed (cold, clogged, fell off) as knowledge of where builds fail."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import log_ndtr

from voidless.infer.censor import truncated_sites
from voidless.infer.gp import Conditioned, Rows, Scales, condition
from voidless.infer.kernel import matern

__all__ = ["BUILD_OK", "FailureModel", "fit_failures"]

Floats = NDArray[np.float64]

BUILD_OK = "build_ok"
"""Name of the latent response that is above 0 where a build succeeds."""

Load = Callable[[Floats], Floats]
"""Points of the unit cube `(n, k)` -> share of what machine and material melt that is asked, `(n,)`."""

# Assumed: far from all builds 90 % succeed. Strength of the field against unit noise (weak: failures come by
# chance; strong: where one build failed, its like fail too), its reach and what load does are chosen by what they
# foretell.
_SUCCEED = 1.3
_STRENGTHS = (1.5, 4.0, 10.0, 25.0)
_REACHES = (0.35, 0.8)  # times the square root of the number of factors
_SLOPE = 0.6  # of the strength: failures lie on one side of the box more often than in its middle
# Where the load is known, most failures are builds that asked too much of the hot end: half the change of the field
# from no load to the full one, and a field that may then be weaker.
_PULLS = (0.0, 10.0, 40.0)
_WEAK = (0.5,)


@dataclass(frozen=True)
class FailureModel:
    """A latent normal field; a build succeeds where field plus unit noise is above 0 (probit)."""

    process: Conditioned
    mean: float
    trend: Callable[[Floats], Floats]
    """Columns of the field's slopes at points of the unit cube `(n, k)`, that of the load last. [1]"""

    def latent(self, unit_points: Floats) -> tuple[Floats, Floats]:
        """Return mean and variance `(n,)` of the field, unit noise included. [1]"""
        mean, _, variance = self.process.latent(unit_points, self.trend(unit_points))
        return self.mean + mean, variance + 1.0


def fit_failures(
    unit_points: Floats, succeeded: NDArray[np.bool_], load: Load | None = None
) -> FailureModel | None:
    """
    Return where builds fail, or None while every build succeeded.

    Parameters
    ----------
    unit_points : (b, k) float array
        Points of all builds in the unit cube. [1]
    succeeded : (b,) bool array
        Whether each build ended well.
    load : callable or None
        Share of what machine and material melt that settings ask for; None: not known. [1]

    Notes
    -----
    Strength and reach of the field, and what the load does, are those that foretell left-out builds best (Rasmussen
    & Williams 2006, section 5.4.2). While every build failed the load's slope starts from no load, where nothing comes
    out cold: about the middle load, failures at small loads would say that more load helps.
    """
    if bool(np.all(succeeded)):
        return None
    strengths, pulls = (_STRENGTHS, (0.0,)) if load is None else ((*_WEAK, *_STRENGTHS), _PULLS)
    middle = 1.0 if bool(np.any(succeeded)) else 0.0
    fits = [
        _fitted(unit_points, succeeded, _slopes(strength, pull, load, middle), strength, pull, reach)
        for strength in strengths
        for reach in _REACHES
        for pull in pulls
    ]
    return max(fits, key=lambda item: item[0])[1]


def _slopes(strength: float, pull: float, load: Load | None, middle: float) -> Callable[[Floats], Floats]:
    """Return a function that gives the columns of the slopes, each times its prior standard deviation."""

    def columns(unit_points: Floats) -> Floats:
        slope = _SLOPE * strength / np.sqrt(unit_points.shape[1])
        own = slope * (2.0 * unit_points - 1.0)
        if load is None:
            return np.asarray(own)
        return np.column_stack([own, pull * (2.0 * load(unit_points) - middle)])

    return columns


def _fitted(
    unit_points: Floats,
    succeeded: NDArray[np.bool_],
    slopes: Callable[[Floats], Floats],
    strength: float,
    pull: float,
    reach: float,
) -> tuple[float, FailureModel]:
    """Return a field and the log probability with which it foretells every build from the others."""
    count, k = unit_points.shape
    lengths, trend = np.full(k, reach * np.sqrt(k)), slopes(unit_points)
    # slopes over -1 to 1 add a third of their variance on average
    typical = 1.0 + strength**2 * (1.0 + _SLOPE**2 / 3.0) + pull**2 / 3.0
    mean = _SUCCEED * float(np.sqrt(typical))
    covariance = strength**2 * matern(unit_points, unit_points, lengths) + trend @ trend.T + np.eye(count)
    sides = np.where(succeeded, 1, -1).astype(np.int64)
    target, variance = truncated_sites(covariance, np.full(count, -mean), sides)
    inverse = np.linalg.inv(covariance + np.diag(variance))
    precision = np.diag(inverse)
    centre = target - (inverse @ target) / precision
    spread = np.sqrt(np.maximum(1.0 / precision - variance, 1e-12))
    foretold = float(np.sum(log_ndtr(sides * (centre + mean) / spread)))
    rows = Rows(
        points=unit_points,
        target=target,
        trend=trend,
        nuisance=np.zeros((count, 0)),
        jacobian=np.zeros((count, 0)),
        builds=np.arange(count),
        sessions=np.zeros(count, dtype=np.int64),
        counts=np.ones(count),
        variances=variance + 1.0,
    )
    process = condition(rows, Scales(lengths, strength, between=0.0))
    return foretold, FailureModel(process, mean, slopes)
