"""Hyper-parameters of one response: log-normal priors, most probable values, posterior samples."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.linalg.lapack import dposv, dpotri
from scipy.optimize import minimize

from voidless.errors import ComputationError
from voidless.infer.gp import Rows, Scales, factorise, fixed_covariance, noise_diagonal
from voidless.infer.kernel import matern_slopes

__all__ = ["HyperPrior", "Posterior", "hyper_prior"]

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class HyperPrior:
    """
    Independent log-normal priors, as medians and standard deviations of the logarithm.

    Attributes
    ----------
    medians, spreads : (h,) float array
        Order: one length per factor, smooth, between, then session and within where they exist. [1]
    sessions, within : bool
        Whether session and within-build scatter are among them.
    """

    medians: Floats
    spreads: Floats
    factors: int
    sessions: bool
    within: bool

    def scales(self, white: Floats) -> Scales:
        """Return hyper-parameters for white coordinates `(h,)`."""
        values = self.medians * np.exp(self.spreads * white)
        k = self.factors
        session = float(values[k + 2]) if self.sessions else 0.0
        within = float(values[-1]) if self.within else 0.0
        return Scales(values[:k], float(values[k]), float(values[k + 1]), session, within)


# Medians and spreads of the logarithm, in units of the response's own spread over the campaign and of
# the unit cube. Assumed; chosen on virtual laboratories and kept wide (docs/methods/learning.md).
_LENGTH = (0.55, 0.7)  # times the square root of the number of factors
_SMOOTH = (0.9, 0.5)
_BETWEEN = (0.12, 0.9)
_SESSION = (0.06, 0.9)
# What is left of it where the scatter of the settings is stated and accounted for by itself.
_BETWEEN_LEFT = (0.05, 1.0)
_SESSION_LEFT = (0.03, 0.9)
_WITHIN = (0.2, 1.5)


def hyper_prior(rows: Rows, smooth: float | None = None, moved: bool = False) -> HyperPrior:
    """
    Return the priors that suit some rows.

    Parameters
    ----------
    rows : Rows
        Training rows.
    smooth : float or None
        Median of the smooth part's standard deviation; None without a physics prior. [1]
    moved : bool
        Whether the scatter of the settings is stated, so that the builds' is what is left without it.
    """
    k = rows.points.shape[1]
    median, spread = _SMOOTH if smooth is None else (smooth, 0.7)
    table = [(_LENGTH[0] * np.sqrt(k), _LENGTH[1])] * k + [
        (median, spread),
        _BETWEEN_LEFT if moved else _BETWEEN,
    ]
    sessions = np.unique(rows.sessions).size > 1
    within = rows.freedom > 0
    if sessions:
        table.append(_SESSION_LEFT if moved else _SESSION)
    if within:
        table.append(_WITHIN)
    medians, spreads = np.array(table, dtype=float).T
    return HyperPrior(medians, spreads, k, sessions, within)


class Posterior:
    """
    Posterior of the hyper-parameters given rows, in white coordinates.

    Parameters
    ----------
    rows : Rows
        Training rows.
    prior : HyperPrior
        Priors of the hyper-parameters.
    """

    def __init__(self, rows: Rows, prior: HyperPrior) -> None:
        self.rows = rows
        self.prior = prior
        self._fixed = fixed_covariance(rows, marginal_theta=True)
        self._differences = rows.differences
        self._build = rows.same_build
        self._session = rows.same_session

    def covariance(self, scales: Scales) -> tuple[Floats, Floats, Floats]:
        """Return the rows' covariance, the correlation of the smooth part and its derivative factor."""
        correlation, common = matern_slopes(self._differences, scales.lengths)
        covariance = self._fixed + scales.smooth**2 * correlation + scales.between**2 * self._build
        if self.prior.sessions:
            covariance += scales.session**2 * self._session
        covariance[np.diag_indices_from(covariance)] += noise_diagonal(self.rows, scales.within)
        return covariance, correlation, common

    def log_likelihood(self, white: Floats) -> float:
        """Return the log marginal likelihood of the rows up to a constant."""
        scales = self.prior.scales(white)
        factor, solved, status = dposv(self.covariance(scales)[0], self.rows.target, lower=1)
        if status:
            raise ComputationError("learn", "a covariance matrix is not positive definite")
        value = -0.5 * float(self.rows.target @ solved) - float(np.sum(np.log(np.diag(factor))))
        return float(value + self._within_term(scales.within))

    def _within_term(self, within: float) -> float:
        if not self.prior.within:
            return 0.0
        return float(-self.rows.freedom * np.log(within) - 0.5 * self.rows.squares / within**2)

    def objective(self, white: Floats) -> tuple[float, Floats]:
        """Return the negative log posterior density and its gradient `(h,)`."""
        scales = self.prior.scales(white)
        covariance, correlation, common = self.covariance(scales)
        factor = factorise(covariance)
        inverse, status = dpotri(factor, lower=1)
        if status:
            raise ComputationError("learn", "a covariance matrix could not be inverted")
        inverse = inverse + np.tril(inverse, -1).T
        alpha = inverse @ self.rows.target
        value = 0.5 * float(self.rows.target @ alpha) + float(np.sum(np.log(np.diag(factor))))
        value += 0.5 * float(white @ white) - self._within_term(scales.within)
        weight = 0.5 * (inverse - np.outer(alpha, alpha))
        gradient = self._gradient(scales, weight, correlation, common)
        return value, gradient * self.prior.spreads + white

    def _gradient(self, scales: Scales, weight: Floats, correlation: Floats, common: Floats) -> Floats:
        lengths = (
            scales.smooth**2 * np.einsum("ab,kab->k", weight * common, self._differences) / scales.lengths**2
        )
        parts = [
            *lengths,
            2.0 * scales.smooth**2 * float(np.sum(weight * correlation)),
            2.0 * scales.between**2 * float(np.sum(weight * self._build)),
        ]
        if self.prior.sessions:
            parts.append(2.0 * scales.session**2 * float(np.sum(weight * self._session)))
        if self.prior.within:
            diagonal = 2.0 * scales.within**2 * float(np.sum(np.diag(weight) / self.rows.counts))
            parts.append(diagonal + self.rows.freedom - self.rows.squares / scales.within**2)
        return np.array(parts)

    def most_probable(self, start: Floats | None = None) -> Floats:
        """
        Return the most probable white coordinates `(h,)`.

        Parameters
        ----------
        start : (h,) float array or None
            Where the search starts, such as the answer for slightly other rows.

        Notes
        -----
        Without a start it starts twice: at the prior medians and with more scatter between builds and longer
        lengths, since short data sets often have one optimum that explains all by the surface and one by scatter.
        """
        size = self.prior.medians.size
        if not self.rows.size:
            return np.zeros(size)
        noisy = np.zeros(size)
        noisy[: self.prior.factors] = 0.5
        noisy[self.prior.factors + 1] = 1.5
        bounds = [(-4.0, 4.0)] * size
        found = [
            minimize(
                self.objective, first, jac=True, method="L-BFGS-B", bounds=bounds, options={"maxiter": 60}
            )
            for first in ((np.zeros(size), noisy) if start is None else (start,))
        ]
        return np.asarray(min(found, key=lambda result: float(result.fun)).x)

    def samples(self, start: Floats, count: int, thin: int, rng: np.random.Generator) -> Floats:
        """
        Return posterior samples `(count, h)` by elliptical slice sampling.

        Notes
        -----
        Murray, Adams & MacKay, "Elliptical slice sampling", AISTATS 2010. It needs no tuning because the
        priors are normal in white coordinates. `count` samples are kept, each `thin` steps apart, after
        as many again of warm-up at the start.
        """
        if not self.rows.size:
            return rng.standard_normal((count, start.size))
        state, level = start, self.log_likelihood(start)
        kept = np.zeros((count, start.size))
        for step in range(-max(2 * thin, count * thin // 4), count * thin):
            state, level = _slice_step(state, level, self.log_likelihood, rng)
            if step >= 0 and (step + 1) % thin == 0:
                kept[step // thin] = state
        return kept


def _slice_step(
    state: Floats, level: float, log_likelihood: Callable[[Floats], float], rng: np.random.Generator
) -> tuple[Floats, float]:
    ellipse = rng.standard_normal(state.size)
    threshold = level + np.log(rng.uniform())
    angle = rng.uniform(0.0, 2.0 * np.pi)
    low, high = angle - 2.0 * np.pi, angle
    while True:
        proposal = state * np.cos(angle) + ellipse * np.sin(angle)
        value = log_likelihood(proposal)
        if value > threshold:
            return proposal, value
        if angle < 0.0:
            low = angle
        else:
            high = angle
        angle = rng.uniform(low, high)
