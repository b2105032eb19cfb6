"""Criteria of plans against exact values and independent sums."""

import numpy as np
import pytest

from voidless.design.criteria import (
    alias_matrix,
    cube_moments,
    evaluate,
    sample_moments,
    smallest_distance,
    variance_inflation,
)
from voidless.design.factorial import fraction, full_levels
from voidless.design.optimal import block_covariance
from voidless.design.terms import model_matrix, model_terms


@pytest.mark.parametrize("count", [2, 3, 4, 5])
def test_full_two_level_plans_are_perfect_for_interactions(count):
    """X'X = n I for a full two-level plan, so D, A and G are 1 and nothing is inflated."""
    names = "abcde"[:count]
    got = evaluate(full_levels(count), names, model_terms(names, "interactions"))
    for name in ("d_efficiency", "a_efficiency", "g_efficiency", "condition", "max_vif"):
        assert got[name] == pytest.approx(1.0, abs=1e-12), name


def test_average_variance_of_two_level_plan_is_exact():
    """Over the cube the mean of x² is 1/3: (1 + k/3) / n for the linear model."""
    got = evaluate(full_levels(3), "abc", model_terms("abc", "linear"))
    assert got["average_variance"] == pytest.approx((1 + 3 / 3) / 8, abs=1e-14)


def test_three_by_three_grid_has_its_known_determinant():
    """X'X of the quadratic on the 3 x 3 grid: |X'X| = 5184 by hand (6·6·4 from the slopes and the product,
    and |[9 6 6; 6 6 4; 6 4 6]| = 36 from the constant and the squares)."""
    got = evaluate(full_levels(2, 3), "ab", model_terms("ab", "quadratic"))
    assert got["d_efficiency"] == pytest.approx(5184 ** (1 / 6) / 9, rel=1e-12)


def test_cube_moments_agree_with_quadrature():
    """Gauss-Legendre with three nodes is exact to degree 5, enough for products of two second-order terms
    in each factor (degree 4)."""
    names, terms = "ab", model_terms("ab", "quadratic")
    node, weight = np.polynomial.legendre.leggauss(3)
    grid = np.stack(np.meshgrid(node, node), axis=-1).reshape(-1, 2)
    mass = np.outer(weight, weight).ravel() / 4
    matrix = model_matrix(grid, names, terms)
    np.testing.assert_allclose(cube_moments(names, terms), matrix.T @ (mass[:, None] * matrix), atol=1e-14)


def test_hat_matrix_has_the_trace_of_its_terms():
    """The mean of n f'M^-1 f over the plan's own points is the number of terms (trace of the hat matrix)."""
    rng = np.random.default_rng(3)
    coded = rng.uniform(-1, 1, (20, 3))
    terms = model_terms("abc", "quadratic")
    got = evaluate(coded, "abc", terms, region=coded)
    assert got["average_variance"] * len(coded) == pytest.approx(len(terms), rel=1e-9)
    assert got["g_efficiency"] <= 1.0


def test_blocks_cost_the_mean_and_spare_balanced_slopes():
    """Two balanced blocks of 4, variance ratio r: information 8 / (1 + 4 r) on the mean, 8 on slopes."""
    coded = fraction(3, 3)
    block = (np.prod(coded, axis=1) > 0).astype(int)
    ratio = 0.7
    got = evaluate(
        coded, "abc", model_terms("abc", "linear"), block_covariance(block, np.arange(8), ratio, False)
    )
    assert got["d_efficiency"] == pytest.approx((8**3 * 8 / (1 + 4 * ratio)) ** 0.25 / 8, rel=1e-12)


def test_half_fraction_puts_each_interaction_whole_into_a_main_effect():
    """In 2^(3-1) with C = AB: A = BC, B = AC, C = AB."""
    alias = alias_matrix(fraction(3, 2), "abc", ["1", "a", "b", "c"], ["a:b", "a:c", "b:c"])
    np.testing.assert_allclose(alias, [[0, 0, 0], [0, 0, 1], [0, 1, 0], [1, 0, 0]], atol=1e-12)
    assert evaluate(fraction(3, 2), "abc", model_terms("abc", "linear"))["max_alias"] == pytest.approx(1.0)


def test_too_few_builds_are_said_to_be_too_few():
    got = evaluate(fraction(3, 2), "abc", model_terms("abc", "interactions"))
    assert got["d_efficiency"] == 0.0
    assert (got["rank"], got["terms"]) == (4.0, 7.0)
    assert "average_variance" not in got


def test_inflation_of_two_correlated_columns():
    """1 / (1 - r²)."""
    matrix = np.array([[1.0, 1.0], [2.0, 1.0], [3.0, 4.0], [4.0, 3.0]])
    r = np.corrcoef(matrix.T)[0, 1]
    np.testing.assert_allclose(variance_inflation(matrix), 1 / (1 - r**2))


def test_sampled_moments_go_to_those_of_the_cube():
    """20 000 points: standard error of a mean of products below 0.7 / sqrt(20 000) = 0.005; four of them."""
    terms = model_terms("abc", "quadratic")
    points = np.random.default_rng(5).uniform(-1, 1, (20_000, 3))
    np.testing.assert_allclose(sample_moments(points, "abc", terms), cube_moments("abc", terms), atol=0.02)


def test_smallest_distance_ignores_repeats():
    """Opposite corners of the square are one diagonal apart."""
    assert smallest_distance(np.array([[-1.0, -1.0], [1.0, 1.0], [1.0, 1.0]])) == pytest.approx(1.0)
    assert smallest_distance(np.zeros((3, 2))) == 0.0


def test_covariance_adds_up_over_sessions_and_whole_plots():
    """Same session r, same whole plot r more, one build 1; a single session cancels in every comparison."""
    got = block_covariance(np.array([1, 1, 2]), np.array([0, 0, 1]), 0.5, True)
    np.testing.assert_array_equal(got, [[2.0, 1.0, 0.0], [1.0, 2.0, 0.0], [0.0, 0.0, 2.0]])
    np.testing.assert_array_equal(block_covariance(np.ones(3), np.arange(3), 0.5, False), np.eye(3))
