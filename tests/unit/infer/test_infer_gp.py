"""The process against its textbook formulas, written out plainly."""

import numpy as np
import pytest

from voidless.errors import ComputationError
from voidless.infer.censor import truncated_sites
from voidless.infer.evidence import left_out, stacking_weight
from voidless.infer.gp import Rows, Scales, condition, factorise
from voidless.infer.hyper import Posterior, hyper_prior
from voidless.infer.kernel import matern


def some_rows(n=9, k=2, p=2, seed=0, freedom=12.0):
    rng = np.random.default_rng(seed)
    points = rng.random((n, k))
    points[1] = points[0]
    return Rows(
        points=points,
        target=rng.standard_normal(n),
        trend=np.hstack([np.ones((n, 1)), 0.3 * (2 * points - 1)]),
        nuisance=0.2 * rng.standard_normal((n, 1)),
        jacobian=0.5 * rng.standard_normal((n, p)),
        builds=np.array([0, 0, *range(1, n - 1)]),
        sessions=np.arange(n) // 3,
        counts=rng.integers(1, 4, n).astype(float),
        variances=0.01 * rng.random(n),
        squares=0.5,
        freedom=freedom,
    )


SCALES = Scales(np.array([0.5, 0.9]), 0.8, 0.3, 0.2, 0.25)


def plain_covariance(rows, scales, theta):
    """Covariance of the rows, entry by entry."""
    n = rows.size
    found = np.zeros((n, n))
    for i in range(n):
        for j in range(n):
            r = np.sqrt(np.sum(((rows.points[i] - rows.points[j]) / scales.lengths) ** 2))
            smooth = (1 + np.sqrt(5) * r + 5 * r**2 / 3) * np.exp(-np.sqrt(5) * r)
            found[i, j] = (
                scales.smooth**2 * smooth
                + rows.trend[i] @ rows.trend[j]
                + rows.nuisance[i] @ rows.nuisance[j]
            )
            found[i, j] += scales.between**2 * (rows.builds[i] == rows.builds[j])
            found[i, j] += scales.session**2 * (rows.sessions[i] == rows.sessions[j])
            if theta:
                found[i, j] += rows.jacobian[i] @ rows.jacobian[j]
    return found + np.diag(scales.within**2 / rows.counts + rows.variances + 1e-8)


def test_prediction_is_the_conditional_normal():
    rows = some_rows()
    new = np.random.default_rng(1).random((4, 2))
    trend = np.hstack([np.ones((4, 1)), 0.3 * (2 * new - 1)])
    mean, pull, variance = condition(rows, SCALES).latent(new, trend)
    covariance = plain_covariance(rows, SCALES, theta=False)
    cross = SCALES.smooth**2 * matern(new, rows.points, SCALES.lengths) + trend @ rows.trend.T
    solved = np.linalg.solve(covariance, cross.T)
    assert mean == pytest.approx(solved.T @ rows.target)
    assert pull == pytest.approx(solved.T @ rows.jacobian)
    prior = SCALES.smooth**2 + np.sum(trend**2, axis=1)
    assert variance == pytest.approx(prior - np.sum(cross.T * solved, axis=0))


def test_likelihood_is_the_normal_density_times_the_scatter_within():
    rows = some_rows()
    posterior = Posterior(rows, hyper_prior(rows))
    white = 0.4 * np.random.default_rng(2).standard_normal(posterior.prior.medians.size)
    scales = posterior.prior.scales(white)
    covariance = plain_covariance(rows, scales, theta=True)
    expected = (
        -0.5 * rows.target @ np.linalg.solve(covariance, rows.target) - 0.5 * np.linalg.slogdet(covariance)[1]
    )
    expected += -rows.freedom * np.log(scales.within) - rows.squares / (2 * scales.within**2)
    assert posterior.log_likelihood(white) == pytest.approx(expected)


@pytest.mark.parametrize("freedom", [0.0, 12.0])
def test_gradient_is_the_slope_of_the_objective(freedom):
    rows = some_rows(freedom=freedom)
    posterior = Posterior(rows, hyper_prior(rows))
    white = 0.5 * np.random.default_rng(3).standard_normal(posterior.prior.medians.size)
    value, gradient = posterior.objective(white)
    assert value == pytest.approx(-posterior.log_likelihood(white) + 0.5 * white @ white)
    for i in range(white.size):
        step = np.zeros(white.size)
        step[i] = 1e-5
        slope = (posterior.objective(white + step)[0] - posterior.objective(white - step)[0]) / 2e-5
        assert gradient[i] == pytest.approx(slope, rel=1e-5, abs=1e-6)


def test_slice_samples_have_the_posterior_of_a_case_with_known_answer():
    """
    No rows: the posterior is the prior, standard normal in white coordinates; 0.1 is 4 standard
    errors of 2000.
    """
    rows = some_rows()
    prior = hyper_prior(rows)

    class Flat(Posterior):
        def log_likelihood(self, white):
            return -0.5 * float(np.sum((white - 1.0) ** 2))  # times the prior: mean 1/2, variance 1/2

    found = Flat(rows, prior).samples(np.zeros(prior.medians.size), 2000, 3, np.random.default_rng(0))
    assert found.mean(axis=0) == pytest.approx(np.full(found.shape[1], 0.5), abs=0.1)
    assert found.var(axis=0) == pytest.approx(np.full(found.shape[1], 0.5), abs=0.1)


def test_left_out_build_equals_a_fit_without_it():
    rows = some_rows()
    residual, spread, _ = left_out(rows, SCALES)
    covariance = plain_covariance(rows, SCALES, theta=True)
    for build in np.unique(rows.builds):
        own = np.flatnonzero(rows.builds == build)
        rest = np.flatnonzero(rows.builds != build)
        gain = covariance[np.ix_(own, rest)] @ np.linalg.inv(covariance[np.ix_(rest, rest)])
        assert residual[own] == pytest.approx(rows.target[own] - gain @ rows.target[rest], rel=1e-6)
        left = covariance[np.ix_(own, own)] - gain @ covariance[np.ix_(rest, own)]
        assert spread[own] == pytest.approx(np.sqrt(np.diag(left)), rel=1e-6)


def test_weight_follows_the_evidence():
    better = np.full(30, -0.5)
    worse = np.full(30, -1.5)
    assert stacking_weight(better, worse) > 0.95
    assert stacking_weight(worse, better) < 0.15
    assert stacking_weight([], []) == pytest.approx(0.8, abs=1e-3)


def test_one_bound_gives_the_truncated_normal():
    """Mean and variance of a standard normal above 0.7, by the inverse Mills ratio."""
    limit = 0.7
    target, variance = truncated_sites(np.eye(1), np.array([limit]), np.array([1]))
    mills = (
        np.exp(-(limit**2) / 2) / np.sqrt(2 * np.pi) / (0.5 * (1 - np.sign(limit) * _erf(limit / np.sqrt(2))))
    )
    posterior_variance = 1.0 / (1.0 + 1.0 / variance[0])
    assert posterior_variance * target[0] / variance[0] == pytest.approx(mills, rel=1e-5)
    assert posterior_variance == pytest.approx(1.0 - mills * (mills - limit), rel=1e-4)


def _erf(x):
    from math import erf

    return erf(x)


def test_bounds_leave_exact_values_alone():
    covariance = np.array([[1.0, 0.6], [0.6, 1.0]])
    target, variance = truncated_sites(covariance, np.array([0.3, 1.0]), np.array([0, -1]))
    assert target[0] == 0.3
    assert variance[0] < 1e-8
    assert variance[1] > 1e-3


def test_factorise_says_what_is_wrong():
    with pytest.raises(ComputationError, match="not positive definite"):
        factorise(np.array([[1.0, 2.0], [2.0, 1.0]]))
