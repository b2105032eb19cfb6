"""One response as a Gaussian process: smooth part, linear terms, session and build scatter."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import solve_triangular

from voidless.errors import ComputationError
from voidless.infer.kernel import matern, squared_differences

__all__ = ["Conditioned", "Rows", "Scales", "condition", "factorise", "fixed_covariance", "noise_diagonal"]

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

_JITTER = 1e-8


@dataclass(frozen=True)
class Rows:
    """
    Training rows of one response on the standardised scale.

    Attributes
    ----------
    points : (n, k) float array
        Points of the unit cube. [1]
    target : (n,) float array
        Standardised value less the prior mean. [1]
    trend : (n, q) float array
        Columns that also act where predictions are made (constant, slopes), scaled by their prior sd. [1]
    nuisance : (n, m) float array
        Columns that are zero where predictions are made (exposure, order), scaled by their prior sd. [1]
    jacobian : (n, p) float array
        Change per standard deviation of each physics parameter. [1]
    builds, sessions : (n,) int array
        Codes of the build and session of each row.
    counts : (n,) float array
        Specimens behind each mean. [1]
    variances : (n,) float array
        Known variance of each row. [1]
    squares, freedom : float
        Sum of squares within builds and its degrees of freedom. [1]
    """

    points: Floats
    target: Floats
    trend: Floats
    nuisance: Floats
    jacobian: Floats
    builds: Ints
    sessions: Ints
    counts: Floats
    variances: Floats
    squares: float = 0.0
    freedom: float = 0.0

    @property
    def size(self) -> int:
        """Number of rows."""
        return int(self.target.size)

    @property
    def differences(self) -> Floats:
        """Squared differences of the points per factor, `(k, n, n)`. [1]"""
        return squared_differences(self.points)

    @property
    def same_build(self) -> Floats:
        """1 where two rows share a build, `(n, n)`. [1]"""
        return np.asarray(self.builds[:, None] == self.builds[None, :], dtype=float)

    @property
    def same_session(self) -> Floats:
        """1 where two rows share a session, `(n, n)`. [1]"""
        return np.asarray(self.sessions[:, None] == self.sessions[None, :], dtype=float)

    def with_target(self, target: Floats) -> Rows:
        """Return the same rows with other targets."""
        return replace(self, target=target)


@dataclass(frozen=True)
class Scales:
    """Hyper-parameters of one response: lengths on the unit cube, standard deviations in its scale. [1]"""

    lengths: Floats
    smooth: float
    between: float
    session: float = 0.0
    within: float = 0.0


def fixed_covariance(rows: Rows, marginal_theta: bool) -> Floats:
    """Return the covariance `(n, n)` that does not depend on hyper-parameters. [1]"""
    columns = [rows.trend, rows.nuisance]
    if marginal_theta:
        columns.append(rows.jacobian)
    stacked = np.hstack(columns)
    return np.asarray(stacked @ stacked.T)


def noise_diagonal(rows: Rows, within: float) -> Floats:
    """Return the variance of each row about its build's true mean, `(n,)`. [1]"""
    return np.asarray(within**2 / rows.counts + rows.variances + _JITTER)


def factorise(covariance: Floats) -> Floats:
    """
    Return the lower Cholesky factor.

    Raises
    ------
    ComputationError
        The matrix is not positive definite.
    """
    try:
        return np.asarray(np.linalg.cholesky(covariance))
    except np.linalg.LinAlgError as error:
        raise ComputationError(
            "learn", "a covariance matrix is not positive definite", "distinct, finite data", str(error)
        ) from error


@dataclass(frozen=True)
class Conditioned:
    """
    A process given its rows and hyper-parameters.

    Attributes
    ----------
    half : (n, n) float array
        Inverse of the Cholesky factor of the rows' covariance without the physics parameters: a product
        with it is several times faster than solving for thousands of points.
    weights : (n, 1 + p) float array
        Inverse covariance times target and jacobian.
    """

    rows: Rows
    scales: Scales
    half: Floats
    weights: Floats

    def latent(self, points: Floats, trend: Floats) -> tuple[Floats, Floats, Floats]:
        """
        Return the process at new points, physics parameters at their expansion point.

        Parameters
        ----------
        points : (m, k) float array
            Points of the unit cube. [1]
        trend : (m, q) float array
            Trend columns there. [1]

        Returns
        -------
        mean : (m,) float array
            Posterior mean. [1]
        pull : (m, p) float array
            What the mean loses per standard deviation of each physics parameter. [1]
        variance : (m,) float array
            Posterior variance of the smooth part. [1]
        """
        prior_variance = self.scales.smooth**2 + np.sum(trend**2, axis=1)
        if not self.rows.size:
            return np.zeros(len(points)), np.zeros((len(points), self.rows.jacobian.shape[1])), prior_variance
        cross = self.cross(points, trend)
        both = cross @ self.weights
        variance = prior_variance - np.sum((cross @ self.half.T) ** 2, axis=1)
        return both[:, 0], both[:, 1:], np.maximum(variance, 1e-12)

    def latent_mean(self, points: Floats, trend: Floats, theta: Floats) -> Floats:
        """Return the posterior mean `(m,)` at given physics parameters, what they pull taken off. [1]"""
        if not self.rows.size:
            return np.zeros(len(points))
        return np.asarray(self.cross(points, trend) @ (self.weights @ np.concatenate([[1.0], -theta])))

    def cross(self, points: Floats, trend: Floats) -> Floats:
        """Return the covariance `(m, n)` of new points with the rows. [1]"""
        smooth = self.scales.smooth**2 * matern(points, self.rows.points, self.scales.lengths)
        return np.asarray(smooth + trend @ self.rows.trend.T)

    def information(self) -> tuple[Floats, Floats]:
        """Return what the rows say of the physics parameters: precision `(p, p)` and its product `(p,)`."""
        jacobian = self.rows.jacobian
        return jacobian.T @ self.weights[:, 1:], jacobian.T @ self.weights[:, 0]


def condition(rows: Rows, scales: Scales) -> Conditioned:
    """Return the process given its rows and hyper-parameters."""
    if not rows.size:
        return Conditioned(rows, scales, np.zeros((0, 0)), np.zeros((0, 1 + rows.jacobian.shape[1])))
    covariance = total_covariance(rows, scales, fixed_covariance(rows, marginal_theta=False))
    factor = factorise(covariance)
    half = solve_triangular(factor, np.eye(rows.size), lower=True, check_finite=False)
    weights = half.T @ (half @ np.column_stack([rows.target, rows.jacobian]))
    return Conditioned(rows, scales, np.asarray(half), np.asarray(weights))


def total_covariance(rows: Rows, scales: Scales, fixed: Floats) -> Floats:
    """Return the covariance `(n, n)` of the rows. [1]"""
    covariance = fixed + scales.smooth**2 * matern(rows.points, rows.points, scales.lengths)
    covariance = covariance + scales.between**2 * rows.same_build
    if scales.session:
        covariance = covariance + scales.session**2 * rows.same_session
    covariance[np.diag_indices_from(covariance)] += noise_diagonal(rows, scales.within)
    return np.asarray(covariance)
