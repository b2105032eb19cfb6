"""Fieller's interval: swapping, scaling, and the test it inverts."""

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.special import stdtrit

from voidless.infer.ratio import strength_ratio

strengths = st.lists(st.floats(20.0, 80.0), min_size=3, max_size=8)


@given(strengths, strengths)
def test_swapping_the_samples_inverts_the_limits(z, x):
    assume(np.std(z) > 0.1 and np.std(x) > 0.1)
    one, other = strength_ratio(z, x, pooled=True), strength_ratio(x, z, pooled=True)
    assume(one.bounded and other.bounded and one.low > 0)
    assert other.low == pytest.approx(1.0 / one.high, rel=1e-9)
    assert other.high == pytest.approx(1.0 / one.low, rel=1e-9)


@given(strengths, strengths, st.floats(0.1, 10.0))
def test_units_do_not_matter(z, x, factor):
    assume(np.std(z) > 0.1 and np.std(x) > 0.1)
    one, other = strength_ratio(z, x), strength_ratio(factor * np.array(z), factor * np.array(x))
    assert other.value == pytest.approx(one.value)
    assert (other.low, other.high) == (pytest.approx(one.low), pytest.approx(one.high))


@given(strengths, strengths)
def test_limits_are_where_t_is_critical(z, x):
    assume(np.std(z) > 0.1 and np.std(x) > 0.1)
    found = strength_ratio(z, x, pooled=True)
    assume(found.bounded)
    n, m = len(z), len(x)
    variance = ((n - 1) * np.var(z, ddof=1) + (m - 1) * np.var(x, ddof=1)) / (n + m - 2)
    for limit in (found.low, found.high):
        t = (np.mean(z) - limit * np.mean(x)) / np.sqrt(variance * (1 / n + limit**2 / m))
        assert abs(t) == pytest.approx(stdtrit(n + m - 2, 0.975), rel=1e-7)
