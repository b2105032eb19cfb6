"""What a build is worth to the recipe: against quadrature, and where it must be nothing."""

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.stats import norm

from voidless.infer.ahead import recipe_gain
from voidless.infer.criteria import Criterion
from voidless.infer.worth import Outlook

DRAWS = 40_000
NOISE = 0.3


def view(covariance, merit, mean=(0.0, 0.0)):
    values = np.random.default_rng(5).multivariate_normal(mean, covariance, DRAWS)
    size = len(merit)
    return Outlook(
        np.zeros((DRAWS, size)), {"clarity": values}, {"clarity": np.full(size, NOISE)}, np.asarray(merit),
        (Criterion("clarity", ("clarity",), 0.5, np.inf),), 0.9,
    )  # fmt: skip


def worth(mean, variance, merit):
    chance = norm.sf(0.5, mean, np.sqrt(variance + NOISE**2))
    return min(1.0, chance / 0.9) ** 8 * (1.0 + merit)


def test_gain_equals_quadrature():
    # one candidate: its mean after the build is normal, its variance what the result leaves
    gain = recipe_gain(view([[1.0, 0.0], [0.0, 1e-12]], [0.4, 0.0], (0.0, -9.0)), np.array([0]))[0]
    moved = 1.0 / np.sqrt(1.0 + NOISE**2)
    after = quad(lambda z: norm.pdf(z) * worth(moved * z, 1.0 - moved**2, 0.4), -8.0, 8.0)[0]
    # 32 fancied outcomes: a Monte-Carlo error of about a tenth of the gain
    assert gain == pytest.approx(after - worth(0.0, 1.0, 0.4), rel=0.25)


def test_a_known_candidate_teaches_nothing():
    gain = recipe_gain(view([[1.0, 0.0], [0.0, 1e-14]], [0.4, 0.0]), np.array([0, 1]))
    assert gain[1] == pytest.approx(0.0, abs=1e-6)
    assert gain[0] > 0.05


def test_a_build_that_fails_is_made_for_what_it_says_of_another():
    # far below the limit itself: what it shows is how high the other lies
    apart = recipe_gain(view([[1.0, 0.0], [0.0, 1.0]], [0.0, 1.0], (-9.0, 0.0)), np.array([0]))[0]
    alike = recipe_gain(view([[1.0, 0.9], [0.9, 1.0]], [0.0, 1.0], (-9.0, 0.0)), np.array([0]))[0]
    assert apart == pytest.approx(0.0, abs=2e-3)
    assert alike > 0.1
