"""Linear mixed model by restricted maximum likelihood: scatter between groups kept apart from within."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import cho_factor, cho_solve
from scipy.optimize import OptimizeResult, minimize
from scipy.special import stdtr, stdtrit

from voidless.errors import InputError
from voidless.infer.linear import estimable, fit_linear

__all__ = ["MixedFit", "fit_mixed"]

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


@dataclass(frozen=True)
class MixedFit:
    """
    A mixed model.

    Attributes
    ----------
    coefficients, standard_errors, freedom, t, p : (c,) float array
        Per column of the model matrix; degrees of freedom by Satterthwaite.
    components : dict of str to float
        Variance per grouping, and `residual`. [unit squared]
    criterion : float
        -2 log restricted likelihood.
    """

    coefficients: Floats
    standard_errors: Floats
    freedom: Floats
    t: Floats
    p: Floats
    components: dict[str, float]
    criterion: float

    def interval(self, confidence: float = 0.95) -> tuple[Floats, Floats]:
        """Return lower and upper confidence limits of the coefficients, `(c,)` each."""
        half = stdtrit(self.freedom, 0.5 + 0.5 * confidence) * self.standard_errors
        return self.coefficients - half, self.coefficients + half


@dataclass(frozen=True)
class _Problem:
    matrix: Floats
    response: Floats
    blocks: tuple[Floats, ...]
    """Same-group indicator per grouping, then the identity."""

    def parts(self, variances: Floats) -> tuple[float, Floats, Floats]:
        """Return the restricted criterion, the coefficients and their covariance."""
        total = np.einsum("g,gab->ab", variances, np.array(self.blocks))
        factor = cho_factor(total, lower=True, check_finite=False)
        solved = cho_solve(factor, self.matrix, check_finite=False)
        information = self.matrix.T @ solved
        covariance = np.asarray(np.linalg.inv(information))
        beta = covariance @ (solved.T @ self.response)
        rest = self.response - self.matrix @ beta
        size, count = self.matrix.shape
        criterion = 2.0 * float(np.sum(np.log(np.diag(factor[0])))) + float(np.linalg.slogdet(information)[1])
        criterion += float(rest @ cho_solve(factor, rest, check_finite=False))
        return float(criterion + (size - count) * np.log(2.0 * np.pi)), beta, covariance


def fit_mixed(matrix: Floats, response: Floats, groups: Mapping[str, Ints]) -> MixedFit:
    """
    Return a mixed model with one random effect per grouping.

    Parameters
    ----------
    matrix : (n, c) float array
        Model matrix of full column rank, constant included. [1]
    response : (n,) float array
        [unit of the response]
    groups : mapping of str to (n,) int array
        Group of every row, per grouping such as `build` or `session`.

    Raises
    ------
    InputError
        Columns depend on each other, or leave no degree of freedom.

    Notes
    -----
    Restricted maximum likelihood over the logarithms of the variances; a variance whose best value is 0
    ends at the floor and is reported as 0. Degrees of freedom by Satterthwaite from the curvature of the
    criterion (Fai & Cornelius, J. Stat. Comput. Simul. 54 (1996) 363).
    """
    size, count = matrix.shape
    if size <= count or not bool(np.all(estimable(matrix))):
        raise InputError(
            "mixed model", f"{count} terms cannot all be told apart by {size} rows", "independent terms",
            "Leave out terms or add runs.",
        )  # fmt: skip
    names = list(groups)
    blocks = [np.asarray(groups[name][:, None] == groups[name][None, :], dtype=float) for name in names]
    scale = max(fit_linear(matrix, response).sigma ** 2, 1e-300)
    problem = _Problem(matrix, response / np.sqrt(scale), (*blocks, np.eye(size)))
    variances, floor = _best(problem)
    criterion, beta, covariance = problem.parts(variances)
    free = variances > 2.0 * floor
    freedom = _satterthwaite(problem, variances, free, size - count)
    errors = np.sqrt(np.diag(covariance))
    t = beta / errors
    components = dict(zip([*names, "residual"], np.where(free, variances, 0.0) * scale, strict=True))
    return MixedFit(
        beta * np.sqrt(scale),
        errors * np.sqrt(scale),
        freedom,
        t,
        2.0 * stdtr(freedom, -np.abs(t)),
        {name: float(value) for name, value in components.items()},
        criterion + (size - count) * float(np.log(scale)),
    )


def _best(problem: _Problem) -> tuple[Floats, float]:
    """Return the variances that minimise the criterion, and the floor that stands for 0."""
    floor = 1e-8
    count = len(problem.blocks)
    bounds = [(float(np.log(floor)), float(np.log(1e3)))] * count
    starts = [np.log(np.full(count, share)) for share in (0.5, 0.05)]

    def criterion(logarithms: Floats) -> float:
        return problem.parts(np.exp(logarithms))[0]

    def best_from(start: Floats) -> OptimizeResult:
        return minimize(
            criterion, start, method="L-BFGS-B", bounds=bounds, options={"ftol": 1e-14, "gtol": 1e-8}
        )

    found = [best_from(start) for start in starts]
    best = min(found, key=lambda result: float(result.fun))
    variances = np.exp(np.asarray(best.x))
    for index in range(count - 1):  # a variance on its way to 0 stops early on a flat slope
        dropped = variances.copy()
        dropped[index] = floor
        if problem.parts(dropped)[0] <= problem.parts(variances)[0] + 1e-9:
            variances = dropped
    return variances, floor


def _satterthwaite(problem: _Problem, variances: Floats, free: NDArray[np.bool_], most: int) -> Floats:
    """Return degrees of freedom per coefficient from the curvature of the criterion in the free variances."""
    index = np.flatnonzero(free)
    step = 1e-3 * variances

    def criterion(moves: Floats) -> float:
        return problem.parts(variances + moves)[0]

    def variance(moves: Floats) -> Floats:
        return np.diag(problem.parts(variances + moves)[2])

    unit = np.eye(variances.size) * step
    slopes = np.array([(variance(unit[i]) - variance(-unit[i])) / (2.0 * step[i]) for i in index])
    curvature = np.zeros((index.size, index.size))
    for a, i in enumerate(index):
        for b, j in enumerate(index):
            corners = criterion(unit[i] + unit[j]) - criterion(unit[i] - unit[j])
            corners += criterion(-unit[i] - unit[j]) - criterion(-unit[i] + unit[j])
            curvature[a, b] = corners / (4.0 * step[i] * step[j])
    spread = 2.0 * np.linalg.pinv(0.5 * (curvature + curvature.T))
    noise = np.einsum("ac,ab,bc->c", slopes, spread, slopes)
    here = problem.parts(variances)[2].diagonal()
    with np.errstate(divide="ignore"):
        freedom = np.where(noise > 0.0, 2.0 * here**2 / noise, float(most))
    return np.clip(freedom, 1.0, float(most))
