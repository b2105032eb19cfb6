"""Least squares with its analysis of variance, lack of fit and Lenth's test."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import fdtrc, stdtr, stdtrit

from voidless.errors import InputError

__all__ = [
    "Extra",
    "LackOfFit",
    "Lenth",
    "LinearFit",
    "Stationary",
    "estimable",
    "extra_squares",
    "fit_linear",
    "lack_of_fit",
    "lenth",
    "sequential_squares",
    "stationary_point",
]

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class LinearFit:
    """
    A least-squares fit.

    Attributes
    ----------
    coefficients, standard_errors, t, p : (c,) float array
        Per column; errors, t and p are NaN without degrees of freedom.
    covariance : (c, c) float array
        Of the coefficients.
    freedom : int
        Residual degrees of freedom.
    sigma : float
        Residual standard deviation. [unit of the response]
    residuals, fitted : (n,) float array
        [unit of the response]
    total : float
        Sum of squares about the mean; about 0 when the columns do not span the constant.
    has_constant : bool
        Whether the columns span the constant.
    leverage : (n,) float array
        Diagonal of the hat matrix. [1]
    """

    coefficients: Floats
    standard_errors: Floats
    t: Floats
    p: Floats
    covariance: Floats
    freedom: int
    sigma: float
    residuals: Floats
    fitted: Floats
    total: float
    has_constant: bool
    leverage: Floats

    @property
    def residual_squares(self) -> float:
        """Residual sum of squares."""
        return float(self.residuals @ self.residuals)

    @property
    def r_squared(self) -> float:
        """Share of the total sum of squares that the model explains. [1]"""
        return 1.0 - self.residual_squares / self.total

    @property
    def r_squared_adjusted(self) -> float:
        """`r_squared` weighed by degrees of freedom. [1]"""
        size = self.residuals.size - (1 if self.has_constant else 0)
        return 1.0 - (1.0 - self.r_squared) * size / self.freedom

    @property
    def model_freedom(self) -> int:
        """Degrees of freedom of the model, the constant left out."""
        return self.coefficients.size - (1 if self.has_constant else 0)

    @property
    def f(self) -> float:
        """Ratio of model to residual mean square. [1]"""
        explained = (self.total - self.residual_squares) / self.model_freedom
        return float(explained / self.sigma**2)

    @property
    def f_p(self) -> float:
        """Probability of a larger `f` without any effect. [1]"""
        return float(fdtrc(self.model_freedom, self.freedom, self.f))

    @property
    def press(self) -> float:
        """Sum of squares of residuals when every row is left out in turn."""
        return float(np.sum((self.residuals / (1.0 - self.leverage)) ** 2))

    @property
    def r_squared_predicted(self) -> float:
        """Share of the total sum of squares that remains explained when every row is left out. [1]"""
        return 1.0 - self.press / self.total

    def interval(self, confidence: float = 0.95) -> tuple[Floats, Floats]:
        """Return lower and upper confidence limits of the coefficients, `(c,)` each."""
        half = stdtrit(self.freedom, 0.5 + 0.5 * confidence) * self.standard_errors
        return self.coefficients - half, self.coefficients + half


def estimable(matrix: Floats) -> NDArray[np.bool_]:
    """
    Return which columns are not combinations of the columns before them, `(c,)`.

    Parameters
    ----------
    matrix : (n, c) float array
        Model matrix. [1]
    """
    kept: list[int] = []
    basis = np.zeros((matrix.shape[0], 0))
    for column in range(matrix.shape[1]):
        vector = matrix[:, column]
        rest = vector - basis @ (basis.T @ vector)
        rest = rest - basis @ (basis.T @ rest)
        norm = float(np.linalg.norm(rest))
        if norm > 1e-8 * max(float(np.linalg.norm(vector)), 1e-300):
            basis = np.column_stack([basis, rest / norm])
            kept.append(column)
    found = np.zeros(matrix.shape[1], dtype=bool)
    found[kept] = True
    return found


def fit_linear(matrix: Floats, response: Floats) -> LinearFit:
    """
    Return the least-squares fit of a response.

    Parameters
    ----------
    matrix : (n, c) float array
        Model matrix of full column rank. [1]
    response : (n,) float array
        [unit of the response]

    Raises
    ------
    InputError
        Columns depend on each other, or there are more columns than rows.

    Notes
    -----
    Householder QR, one step of refinement.
    """
    size, count = matrix.shape
    if size < count or not bool(np.all(estimable(matrix))):
        raise InputError(
            "linear model", f"{count} terms cannot all be told apart by {size} rows", "independent terms",
            "Leave out the terms that `estimable` marks, or add runs.",
        )  # fmt: skip
    q, r = np.linalg.qr(matrix)
    beta = np.linalg.solve(r, q.T @ response)
    beta = beta + np.linalg.solve(r, q.T @ (response - matrix @ beta))
    fitted = matrix @ beta
    residuals = response - fitted
    freedom = size - count
    inverse = np.linalg.inv(r)
    unscaled = inverse @ inverse.T
    constant = _spans_constant(q)
    total = float(np.sum((response - response.mean()) ** 2)) if constant else float(response @ response)
    sigma = float(np.sqrt(residuals @ residuals / freedom)) if freedom else float("nan")
    errors = sigma * np.sqrt(np.diag(unscaled))
    with np.errstate(divide="ignore", invalid="ignore"):
        t = beta / errors
    p = 2.0 * stdtr(freedom, -np.abs(t)) if freedom else np.full(count, np.nan)
    leverage = np.sum(q**2, axis=1)
    return LinearFit(
        beta, errors, t, p, sigma**2 * unscaled, freedom, sigma, residuals, fitted, total, constant, leverage
    )  # fmt: skip


def _spans_constant(q: Floats) -> bool:
    ones = np.ones(q.shape[0])
    return bool(np.linalg.norm(ones - q @ (q.T @ ones)) < 1e-8 * np.sqrt(q.shape[0]))


def sequential_squares(matrix: Floats, response: Floats) -> Floats:
    """
    Return the sum of squares that every column adds to those before it, `(c,)`.

    Parameters
    ----------
    matrix : (n, c) float array
        Model matrix. [1]
    response : (n,) float array
        [unit of the response]
    """
    q, _ = np.linalg.qr(matrix)
    return np.asarray((q.T @ response) ** 2)


@dataclass(frozen=True)
class Extra:
    """What terms add: sum of squares, degrees of freedom, ratio to the error's mean square, probability."""

    squares: float
    freedom: int
    f: float
    p: float


def extra_squares(small: LinearFit, full: LinearFit, error: LinearFit | None = None) -> Extra:
    """
    Return the test of the terms that one model has beyond another.

    Parameters
    ----------
    small, full : LinearFit
        Nested fits of the same response.
    error : LinearFit or None
        Fit whose residual mean square is the error; None takes `full`.
    """
    judge = full if error is None else error
    squares = small.residual_squares - full.residual_squares
    freedom = small.freedom - full.freedom
    f = squares / freedom / judge.sigma**2
    return Extra(squares, freedom, f, float(fdtrc(freedom, judge.freedom, f)))


@dataclass(frozen=True)
class LackOfFit:
    """Lack of fit against pure error: sums of squares, degrees of freedom, ratio and its probability."""

    squares: float
    freedom: int
    pure_squares: float
    pure_freedom: int
    f: float
    p: float


def lack_of_fit(fit: LinearFit, settings: Floats, response: Floats) -> LackOfFit | None:
    """
    Return the test of lack of fit, or None without repeated settings or spare settings.

    Parameters
    ----------
    fit : LinearFit
        Fit of the response.
    settings : (n, k) float array
        Settings whose equal rows are repeats, blocks included where the model has them.
    response : (n,) float array
        [unit of the response]
    """
    _, group = np.unique(np.round(settings, 9), axis=0, return_inverse=True)
    group = group.ravel()
    counts = np.bincount(group)
    means = np.bincount(group, response) / counts
    pure = float(np.sum((response - means[group]) ** 2))
    pure_freedom = int(response.size - counts.size)
    freedom = fit.freedom - pure_freedom
    if pure_freedom < 1 or freedom < 1:
        return None
    squares = fit.residual_squares - pure
    f = (squares / freedom) / (pure / pure_freedom)
    return LackOfFit(squares, freedom, pure, pure_freedom, f, float(fdtrc(freedom, pure_freedom, f)))


@dataclass(frozen=True)
class Lenth:
    """Lenth's pseudo standard error, margin of error and simultaneous margin. [unit of the effects]"""

    pse: float
    margin: float
    simultaneous: float


def lenth(effects: Sequence[float] | Floats, confidence: float = 0.95) -> Lenth:
    """
    Return how large an effect of a design without spare runs must be to stand out.

    Parameters
    ----------
    effects : (m,) sequence of float
        All effects but the constant.
    confidence : float
        Two-sided. [1]

    Notes
    -----
    Lenth, Technometrics 31 (1989) 469: 1.5 times the median of those effects that are below 2.5 times
    1.5 times the median; t with m/3 degrees of freedom.
    """
    size = np.abs(np.asarray(effects, dtype=float))
    first = 1.5 * float(np.median(size))
    pse = 1.5 * float(np.median(size[size < 2.5 * first])) if first > 0.0 else 0.0
    freedom = size.size / 3.0
    each = 0.5 * (1.0 + confidence ** (1.0 / size.size))
    return Lenth(
        pse, float(stdtrit(freedom, 0.5 + 0.5 * confidence)) * pse, float(stdtrit(freedom, each)) * pse
    )


@dataclass(frozen=True)
class Stationary:
    """
    Where a second-order surface is flat.

    Attributes
    ----------
    point : (k,) float array
        [coded]
    eigenvalues : (k,) float array
        Ascending; all negative is a maximum, all positive a minimum, mixed a saddle.
    axes : (k, k) float array
        Unit vectors of the eigenvalues, as columns; their sign is free.
    """

    point: Floats
    eigenvalues: Floats
    axes: Floats


def stationary_point(linear: Floats, quadratic: Floats) -> Stationary:
    """
    Return where a second-order surface is flat, and what it is there.

    Parameters
    ----------
    linear : (k,) float array
        Coefficients of the main effects.
    quadratic : (k, k) float array
        Symmetric: squares on the diagonal, half of each interaction beside it.

    Notes
    -----
    Box & Wilson's canonical analysis: -B⁻¹b/2 and the eigenvectors of B.
    """
    eigenvalues, axes = np.linalg.eigh(quadratic)
    point = -0.5 * np.linalg.solve(quadratic, linear)
    return Stationary(np.asarray(point), np.asarray(eigenvalues), np.asarray(axes))
