"""Coordinate exchange: its update formulas, and its optima against trying every plan."""

from itertools import combinations_with_replacement, product

import numpy as np
import pytest

from voidless.design.criteria import cube_moments
from voidless.design.exchange import Exchange, expander, improve, loss, plot_gains, row_gains
from voidless.design.optimal import block_covariance
from voidless.design.terms import model_matrix, model_terms
from voidless.errors import InputError

THREE = np.array([-1.0, 0.0, 1.0])


def _everything(points):
    return np.ones(len(points), dtype=bool)


def _problem(
    names,
    terms,
    count,
    levels,
    *,
    weight=None,
    plots=None,
    hard=None,
    allowed=_everything,
    i=False,
    prior=0.0,
):
    return Exchange(
        expand=expander(names, terms),
        levels=tuple(levels for _ in names),
        allowed=allowed,
        weight=np.eye(count) if weight is None else weight,
        precision=np.full(len(terms), prior),
        plots=np.arange(count) if plots is None else np.asarray(plots),
        hard=np.zeros(len(names), dtype=bool) if hard is None else np.asarray(hard),
        free=np.ones(count, dtype=bool),
        moments=cube_moments(names, terms) if i else None,
    )


def _random_problem(i):
    rng = np.random.default_rng(11)
    terms = model_terms("abc", "quadratic")
    root = rng.normal(size=(16, 16))
    problem = _problem("abc", terms, 16, THREE, weight=root @ root.T / 16 + np.eye(16), i=i, prior=1e-3)
    designs = rng.uniform(-1, 1, (2, 16, 3))
    return problem, designs, rng


def _inverse(problem, designs):
    matrix = problem.expand(designs)
    information = np.swapaxes(matrix, 1, 2) @ problem.weight @ matrix + np.diag(problem.precision)
    return matrix, np.linalg.inv(information)


def _formed_anew(problem, designs, rows, wanted):
    gains = np.empty(wanted.shape[:2])
    for start, choice in np.ndindex(gains.shape):
        changed = designs[start].copy()
        changed[rows] = wanted[start, choice]
        gains[start, choice] = loss(problem, designs[[start]])[0] - loss(problem, changed[None])[0]
    return gains


def test_expansion_agrees_with_the_plain_model_matrix():
    points = np.random.default_rng(1).uniform(-1, 1, (9, 3))
    terms = model_terms("abc", "quadratic")
    np.testing.assert_allclose(expander("abc", terms)(points), model_matrix(points, "abc", terms), atol=1e-15)


def test_third_order_is_refused():
    with pytest.raises(InputError, match="third or higher order"):
        expander("abc", ["1", "a:b:c"])


@pytest.mark.parametrize("i", [False, True])
def test_gain_of_one_row_agrees_with_forming_the_information_anew(i):
    problem, designs, rng = _random_problem(i)
    wanted = rng.uniform(-1, 1, (2, 7, 3))
    gains = row_gains(problem, *_inverse(problem, designs), 4, problem.expand(wanted))
    np.testing.assert_allclose(gains, _formed_anew(problem, designs, [4], wanted[:, :, None]), atol=1e-10)


@pytest.mark.parametrize("i", [False, True])
@pytest.mark.parametrize("rows", [[4], [3, 7, 8], [0, 1, 2, 15]])
def test_gain_of_a_whole_plot_agrees_with_forming_the_information_anew(i, rows):
    problem, designs, rng = _random_problem(i)
    wanted = rng.uniform(-1, 1, (2, 5, len(rows), 3))
    gains = plot_gains(problem, *_inverse(problem, designs), np.array(rows), problem.expand(wanted))
    np.testing.assert_allclose(gains, _formed_anew(problem, designs, rows, wanted), atol=1e-10)


def _best_of_all(problem, plans):
    return min(float(loss(problem, np.array(plan, dtype=float)[None])[0]) for plan in plans)


def _starts(problem, count, width, rng, starts=30):
    designs = rng.choice(THREE, size=(starts, count, width))
    for plot in np.unique(problem.plots):
        rows = np.flatnonzero(problem.plots == plot)
        for column in np.flatnonzero(problem.hard):
            designs[:, rows, column] = designs[:, rows[:1], column]
    return designs


@pytest.mark.parametrize("i", [False, True])
@pytest.mark.parametrize("limited", [False, True])
def test_optimum_agrees_with_trying_every_plan(i, limited):
    """Seven builds of a two-factor quadratic on three levels: all 6435 multisets of nine points (3432
    without the corner that is forbidden), against the best of 30 starts."""
    terms = model_terms("ab", "quadratic")
    points = [point for point in product(THREE, repeat=2) if not (limited and sum(point) > 1)]
    problem = _problem(
        "ab",
        terms,
        7,
        THREE,
        i=i,
        prior=1e-6,
        allowed=(lambda x: x.sum(axis=1) <= 1) if limited else _everything,
    )
    best = _best_of_all(problem, combinations_with_replacement(points, 7))
    starts = np.array(points)[np.random.default_rng(2).integers(len(points), size=(30, 7))]
    designs, losses = improve(problem, starts)
    assert losses.min() == pytest.approx(best, abs=1e-6)
    assert problem.allowed(designs.reshape(-1, 2)).all()


@pytest.mark.parametrize("i", [False, True])
def test_split_plot_optimum_agrees_with_trying_every_plan(i):
    """Three whole plots of two builds, factor a hard to change, interaction model, variance ratio 2: all
    3³ x 3⁶ plans."""
    terms = model_terms("ab", "interactions")
    plots = np.repeat(np.arange(3), 2)
    weight = np.linalg.inv(block_covariance(np.ones(6), plots, 2.0, True))
    problem = _problem("ab", terms, 6, THREE, weight=weight, plots=plots, hard=[True, False], i=i, prior=1e-6)
    every = (
        np.stack([np.repeat(slow, 2), fast], axis=1)
        for slow in product(THREE, repeat=3)
        for fast in product(THREE, repeat=6)
    )
    best = np.inf
    batch = []
    for plan in every:
        batch.append(plan)
        if len(batch) == 2187:
            best = min(best, float(loss(problem, np.array(batch)).min()))
            batch = []
    assert not batch
    designs, losses = improve(problem, _starts(problem, 6, 2, np.random.default_rng(4)))
    assert losses.min() == pytest.approx(best, abs=1e-6)
    assert (designs[:, 0::2, 0] == designs[:, 1::2, 0]).all()


def test_given_rows_stay_and_count():
    """Completing three corners of the square with one build for the interaction model gives the fourth."""
    terms = model_terms("ab", "interactions")
    problem = _problem("ab", terms, 4, THREE, prior=1e-6)
    problem = Exchange(**{**problem.__dict__, "free": np.array([False, False, False, True])})
    given = np.array([[-1.0, -1.0], [-1.0, 1.0], [1.0, -1.0], [0.0, 0.0]])
    designs, _ = improve(problem, given[None])
    np.testing.assert_array_equal(designs[0], [[-1, -1], [-1, 1], [1, -1], [1, 1]])


def test_starts_are_not_altered():
    problem = _problem("ab", model_terms("ab", "linear"), 4, THREE, prior=1e-6)
    starts = np.zeros((2, 4, 2))
    improve(problem, starts)
    assert not starts.any()
