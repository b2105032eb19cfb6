"""How well a rival model foretells a build it has not seen, and the weights that follow."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import minimize_scalar

from voidless.infer.gp import Rows, Scales, factorise, fixed_covariance, total_covariance

__all__ = ["LeftOut", "left_out", "stacking_weight"]

Floats = NDArray[np.float64]

LeftOut = tuple[Floats, Floats, Floats]
"""Residual (observed minus foretold), standard deviation, log density of every row without its build."""

# Belief in the model with physics before any build: a beta density, worth a few builds of evidence.
_BELIEF = (2.0, 1.25)


def left_out(rows: Rows, scales: Scales) -> LeftOut:
    """
    Return what the model says of every build when that build is left out.

    Parameters
    ----------
    rows : Rows
        Training rows.
    scales : Scales
        Hyper-parameters, kept.

    Notes
    -----
    Block form of Rasmussen & Williams 2006, equations 5.10 to 5.12; a build's rows leave together.
    """
    covariance = total_covariance(rows, scales, fixed_covariance(rows, marginal_theta=True))
    factor = factorise(covariance)
    half = np.linalg.inv(factor)
    inverse = half.T @ half
    alpha = inverse @ rows.target
    residual, spread = np.zeros(rows.size), np.zeros(rows.size)
    for build in np.unique(rows.builds):
        own = np.flatnonzero(rows.builds == build)
        block = np.linalg.inv(inverse[np.ix_(own, own)])
        residual[own] = block @ alpha[own]
        spread[own] = np.sqrt(np.diag(block))
    density = -0.5 * (residual / spread) ** 2 - np.log(spread) - 0.5 * np.log(2.0 * np.pi)
    return residual, spread, density


def stacking_weight(physics: Sequence[float] | Floats, plain: Sequence[float] | Floats) -> float:
    """
    Return the weight of the model with physics against the one without.

    Parameters
    ----------
    physics, plain : (n,) sequence of float
        Log densities of left-out builds under either.

    Returns
    -------
    weight : float
        Between 0 and 1; the rest belongs to the model without physics. [1]

    Notes
    -----
    Stacking of predictive densities (Yao, Vehtari, Simpson & Gelman, Bayesian Analysis 13 (2018) 917),
    with a beta prior so that few builds do not swing it.

    Examples
    --------
    >>> round(stacking_weight([], []), 3)
    0.8
    """
    first, second = np.asarray(physics, dtype=float), np.asarray(plain, dtype=float)

    def loss(weight: float) -> float:
        mixed = np.logaddexp(np.log(weight) + first, np.log1p(-weight) + second)
        belief = (_BELIEF[0] - 1.0) * np.log(weight) + (_BELIEF[1] - 1.0) * np.log1p(-weight)
        return -float(np.sum(mixed)) - float(belief)

    return float(minimize_scalar(loss, bounds=(1e-6, 1.0 - 1e-6), method="bounded").x)
