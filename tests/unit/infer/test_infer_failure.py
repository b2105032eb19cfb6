"""Where builds fail: sharp limits come out sharp, failures by chance do not."""

import numpy as np
from scipy.special import ndtr

from voidless.infer.failure import fit_failures

PLACES = np.random.default_rng(9).random((200, 3))


def chances(points, succeeded, load=None):
    mean, variance = fit_failures(points, succeeded, load).latent(PLACES)
    return ndtr(mean / np.sqrt(variance))


def test_a_sharp_limit_comes_out_sharp():
    """Five sets of 40 builds that fail beyond 0.7 of one factor; seen: 0.995 and 0.047 away from the limit, 0.034."""
    good, bad, error = [], [], []
    for seed in range(5):
        points = np.random.default_rng(seed).random((40, 3))
        found = chances(points, points[:, 0] < 0.7)
        away, below = np.abs(PLACES[:, 0] - 0.7) > 0.15, PLACES[:, 0] < 0.7
        good.append(found[away & below].mean())
        bad.append(found[away & ~below].mean())
        error.append(np.mean((found - below) ** 2))
    assert np.mean(good) > 0.99
    assert np.mean(bad) < 0.08
    assert np.mean(error) < 0.045


def test_failures_by_chance_are_given_no_place():
    """Nine sets of 40 builds of which 15 % fail anywhere: in most the chance is about the same all over the space."""
    lowest = []
    for seed in range(9):
        rng = np.random.default_rng(seed)
        points, succeeded = rng.random((40, 3)), rng.random(40) > 0.15
        found = chances(points, succeeded)
        assert abs(found.mean() - succeeded.mean()) < 0.1
        lowest.append(np.quantile(found, 0.05))
    assert np.median(lowest) > 0.6


def cold(points):
    """Rate (two factors multiplied) above 0.7 of what a third lets melt: no plane of the cube."""
    return load(points) > 0.7


def load(points):
    return (0.2 + points[:, 0]) * (0.2 + points[:, 1]) / (0.5 + 0.9 * points[:, 2])


def test_known_load_tells_which_builds_come_out_cold():
    """Five sets of 30 builds; mean squared errors seen: 0.063 without the load, 0.017 with it."""
    errors = []
    for seed in range(5):
        points = np.random.default_rng(seed).random((30, 3))
        found = [chances(points, ~cold(points), known) for known in (None, load)]
        errors.append([np.mean((one - ~cold(PLACES)) ** 2) for one in found])
    without, told = np.mean(errors, axis=0)
    assert told < 0.03
    assert told < 0.4 * without


def test_a_load_that_says_nothing_does_little_harm():
    """Failures beyond 0.7 of one factor, the load of two others: errors seen: 0.033 without, 0.040 with."""
    errors = []
    for seed in range(5):
        points = np.random.default_rng(seed).random((40, 3))
        beside = [None, lambda at: at[:, 1] * at[:, 2]]
        found = [chances(points, points[:, 0] < 0.7, known) for known in beside]
        errors.append([np.mean((one - (PLACES[:, 0] < 0.7)) ** 2) for one in found])
    without, told = np.mean(errors, axis=0)
    assert told < 1.3 * without


def test_where_every_build_came_out_cold_less_load_is_likelier_to_succeed():
    """Five sets of eight builds, none of them at the least loads of the space, all cold."""
    for seed in range(5):
        points = 0.25 + 0.5 * np.random.default_rng(seed).random((8, 3))
        found = chances(points, np.zeros(8, dtype=bool), load)
        small, large = load(PLACES) < 0.15, load(PLACES) > 0.8
        assert found[small].mean() > found[large].mean() + 0.1
