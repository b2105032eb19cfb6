"""Rival priors are told apart by what they foretell, build by build, and the numbers are densities."""

import numpy as np
import pytest
from scipy.stats import multivariate_normal

from voidless.campaign.space import Space
from voidless.campaign.types import Build, Factor, Observation, ResponseKey
from voidless.infer import foretold
from voidless.infer.foretold import foretell, told_apart
from voidless.infer.gp import fixed_covariance, total_covariance
from voidless.infer.table import TrainingData

SPACE = Space((Factor("flow_pct", 90.0, 110.0), Factor("nozzle_c", 220.0, 260.0)))


class Line:
    """Strength rises along the flow by a slope that is known to `sd`."""

    responses = ("strength_z_mpa",)

    def __init__(self, slope, sd=1.0):
        self.parameters = (("slope", slope, sd),)
        self.discrepancy_sd = {"strength_z_mpa": 0.5}

    def __call__(self, points, theta):
        return 30.0 + theta[0] * (points[:, [0]] - 100.0)


def campaign(slope, count, rng, runs=False):
    points = SPACE.from_unit(rng.random((count, 2)))
    builds = [Build(f"B{i}", f"R{i}", i + 1, 1 + i // 4, SPACE.settings(p)) for i, p in enumerate(points)]
    seen = [
        Observation(
            b.run, b.label, f"{k}", ResponseKey("strength_z_mpa"),
            30.0 + slope * (p[0] - 100.0) + 0.2 * rng.standard_normal(),
        )
        for b, p in zip(builds, points, strict=True)
        for k in range(2)
    ]  # fmt: skip
    return TrainingData(SPACE, builds, seen)


def test_the_prior_that_is_right_wins_by_as_much_as_its_builds_say():
    right = foretell(campaign(1.0, 8, np.random.default_rng(1)), [Line(1.0, 0.1), Line(-1.0, 0.1), Line(0.0)])
    assert right.evidence[0] > right.evidence[2] + 1.0
    assert right.evidence[2] > right.evidence[1] + 10.0
    # shares add to the evidence but for the density of hyper-parameters and of the scatter within builds
    shares = right.by_build.sum(axis=1)
    assert shares[0] - shares[2] == pytest.approx(right.evidence[0] - right.evidence[2], abs=1.0)


def test_the_share_of_builds_is_the_density_of_all_values():
    data = campaign(0.5, 6, np.random.default_rng(2))
    prior = Line(0.3, 0.4)
    found = foretell(data, [prior])
    tables = foretold.reduce_observations(data)
    (item,) = foretold._calibrated(data, tables, foretold._units(tables, [prior]), prior).values()
    whole = total_covariance(item.rows, item.scales, fixed_covariance(item.rows, marginal_theta=True))
    density = multivariate_normal(np.zeros(6), whole).logpdf(item.rows.target) + 3.0 * np.log(2.0 * np.pi)
    assert found.by_build.sum() == pytest.approx(density, rel=1e-9)
    first = multivariate_normal(0.0, whole[0, 0]).logpdf(item.rows.target[0]) + 0.5 * np.log(2.0 * np.pi)
    assert found.by_build[0, 0] == pytest.approx(first, rel=1e-9)


def test_scatter_of_settings_softens_what_a_build_says():
    data = campaign(1.0, 6, np.random.default_rng(3))
    moved = TrainingData(SPACE, data.builds, data.observations, setting_sd={"flow_pct": 2.0})
    rivals = [Line(1.0, 0.1), Line(-1.0, 0.1)]
    firm, soft = (foretell(own, rivals).evidence for own in (data, moved))
    assert 0.0 < soft[0] - soft[1] < firm[0] - firm[1]


def test_rivals_are_told_apart_where_they_differ_most_for_their_doubt():
    """By hand, normal: at flow f means differ by 0.4 (f - 100), variances are 0.25 + (sd (f - 100))²."""
    points = np.array([[100.0, 230.0], [104.0, 230.0], [110.0, 230.0], [90.0, 230.0]])
    found = told_apart(SPACE, Line(1.0, 0.1), Line(0.6, 0.3), points, ["clarity", "strength_z_mpa"])
    reach = points[:, 0] - 100.0
    one, other = 0.25 + (0.1 * reach) ** 2, 0.25 + (0.3 * reach) ** 2
    gap = (0.4 * reach) ** 2
    expected = 0.25 * ((one + gap) / other + (other + gap) / one - 2.0)
    np.testing.assert_allclose(found, expected, rtol=1e-6, atol=1e-9)
    assert not told_apart(SPACE, Line(1.0), Line(0.0), points, ["clarity"]).any()


def test_nothing_measured_tells_nothing():
    data = campaign(1.0, 3, np.random.default_rng(4))
    for empty in (
        TrainingData(SPACE, [], []),
        TrainingData(SPACE, data.builds, [Observation("R0", "B0", "1", ResponseKey("clarity"), 0.5)]),
    ):
        found = foretell(empty, [Line(1.0), Line(-1.0)])
        assert found.evidence.tolist() == [0.0, 0.0]
        assert found.by_build.shape == (2, len(empty.builds))
        assert not found.by_build.any()
