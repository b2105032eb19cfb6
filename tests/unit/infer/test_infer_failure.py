"""Where builds fail: sharp limits come out sharp, failures by chance do not."""

import numpy as np
from scipy.special import ndtr

from voidless.infer.failure import fit_failures

PLACES = np.random.default_rng(9).random((200, 3))


def chances(points, succeeded):
    mean, variance = fit_failures(points, succeeded).latent(PLACES)
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
