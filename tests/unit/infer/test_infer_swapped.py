"""The pair of rows that gains most by changing places: against plain likelihoods, with a swap and without."""

import numpy as np
import pytest
from scipy.stats import multivariate_normal

from voidless.infer import swapped as module
from voidless.infer.gp import Rows, Scales, fixed_covariance, total_covariance

SCALES = Scales(np.full(2, 0.8), 1.0, 0.05)


def rows_of(values):
    count = len(values)
    return Rows(
        points=np.random.default_rng(1).random((count, 2)),
        target=values,
        trend=np.ones((count, 1)),
        nuisance=np.zeros((count, 0)),
        jacobian=np.zeros((count, 0)),
        builds=np.arange(count),
        sessions=np.zeros(count, dtype=np.int64),
        counts=np.ones(count),
        variances=np.zeros(count),
    )


def drawn(count=16, seed=0):
    covariance = total_covariance(rows_of(np.zeros(count)), SCALES, np.ones((count, count)))
    return np.random.default_rng(seed).multivariate_normal(np.zeros(count), covariance)


def test_gain_is_that_of_the_exchanged_values(monkeypatch):
    """Every pair by the density of exchanged targets (scipy): the best pair and its gain agree."""
    monkeypatch.setattr(module, "_GAIN", -np.inf)
    values = drawn()
    rows = rows_of(values)
    density = multivariate_normal(np.zeros(16), total_covariance(rows, SCALES, fixed_covariance(rows, True)))
    best, pair = -np.inf, None
    for first in range(16):
        for second in range(first):
            other = values.copy()
            other[[first, second]] = values[[second, first]]
            gain = density.logpdf(other) - density.logpdf(values)
            if gain > best:
                best, pair = gain, {first, second}
    found = module.swapped(rows, SCALES, values, np.zeros(16, dtype=np.int64))
    assert found.gain == pytest.approx(best, abs=1e-6)
    assert {found.first, found.second} == pair


def test_a_swap_is_found_and_none_without():
    sides = np.zeros(16, dtype=np.int64)
    for seed in range(10):
        values = drawn(seed=seed)
        assert module.swapped(rows_of(values), SCALES, values, sides) is None
        most, least = int(np.argmax(values)), int(np.argmin(values))
        values[[most, least]] = values[[least, most]]
        found = module.swapped(rows_of(values), SCALES, values, sides)
        assert {found.first, found.second} == {most, least}


def test_bounds_stay_where_they_are():
    values = drawn()
    most, least = int(np.argmax(values)), int(np.argmin(values))
    values[[most, least]] = values[[least, most]]
    sides = np.zeros(16, dtype=np.int64)
    sides[most] = 1
    found = module.swapped(rows_of(values), SCALES, values, sides)
    assert found is None or most not in (found.first, found.second)
