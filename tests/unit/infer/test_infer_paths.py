"""Draws of whole surfaces have the moments of the process they stand for."""

from dataclasses import replace
from importlib import util
from pathlib import Path

import numpy as np
import pytest

from voidless.campaign.types import BuildOutcome, Probability
from voidless.infer.failure import BUILD_OK
from voidless.infer.kernel import matern
from voidless.infer.model import TrainingData, fit_model
from voidless.infer.paths import surface_draws
from voidless.infer.search import even_points

_SPEC = util.spec_from_file_location("invented_lab_paths", Path(__file__).with_name("invented.py"))
lab = util.module_from_spec(_SPEC)
_SPEC.loader.exec_module(lab)

NEW = lab.SPACE.from_unit(even_points(8, 3, np.random.default_rng(5)))


class Physics:
    """The truth less a shift that one parameter mends."""

    responses = ("clarity", "strength_z_mpa", "strength_xy_mpa")
    parameters = (("place", 0.0, 1.0),)
    discrepancy_sd = {"clarity": 0.03, "strength_z_mpa": 2.0, "strength_xy_mpa": 2.0}  # noqa: RUF012

    def __call__(self, at, theta):
        values = lab.truth(at)
        found = np.column_stack([values[name] for name in self.responses])
        return found + (theta[0] - 0.5) * np.array([0.1, 8.0, 4.0])


def fitted(prior=None, failed=False):
    rng = np.random.default_rng(2)
    builds, observations = lab.campaign(lab.SPACE.from_unit(even_points(14, 3, rng)), rng)
    if failed:
        builds = [*builds[:-1], replace(builds[-1], outcome=BuildOutcome.COLD)]
    data = TrainingData(lab.SPACE, builds, observations, prior, {"build_min": lab.build_min})
    return fit_model(data, rng)


@pytest.mark.parametrize("prior", [None, Physics()])
def test_surfaces_have_the_mean_and_scatter_of_single_points(prior):
    """
    Standard errors of 4,000 draws: 0.016 of a standard deviation for means, 1.1 % for scatter; each of the 40 sets of
    random waves has an error of its own besides (seen: 0.07 of a standard deviation, 7 % of scatter at most).
    """
    model, rng = fitted(prior), np.random.default_rng(0)
    sets = [surface_draws(model, NEW, 100, rng, marginal=False) for _ in range(40)]
    joint = {name: np.concatenate([one[name] for one in sets]) for name in (*model.outputs, *model.derived)}
    alone = model.draws(NEW, 4000, Probability.MEAN, rng, marginal=False)
    for name in joint:
        spread = alone[name].std(axis=0)
        assert np.all(np.abs(joint[name].mean(axis=0) - alone[name].mean(axis=0)) <= 0.1 * spread), name
        assert joint[name].std(axis=0) / spread == pytest.approx(np.ones(len(NEW)), abs=0.1), name


def test_surfaces_are_joint_between_points():
    """Far from all data two points go together as the kernel says; a point goes with itself."""
    model = fit_model(TrainingData(lab.SPACE, [], [], Physics(), {}, ("clarity",)), np.random.default_rng(0))
    pair = lab.SPACE.from_unit(np.array([[0.2, 0.2, 0.2], [0.2, 0.2, 0.2], [0.6, 0.5, 0.3]]))
    draws = np.concatenate(
        [
            surface_draws(model, pair, 200, np.random.default_rng(s), marginal=False)["clarity"]
            for s in range(40)
        ]
    )
    process, theta = model.process("clarity", 0, 0), 0.1  # clarity moves 0.1 per unit of the parameter
    smooth = matern(lab.SPACE.to_unit(pair), lab.SPACE.to_unit(pair), process.scales.lengths)
    output = model.outputs["clarity"]
    expected = (output.scale * process.scales.smooth) ** 2 * smooth + theta**2
    assert np.cov(draws.T) == pytest.approx(expected, rel=0.08)
    assert np.array_equal(draws[:, 0], draws[:, 1])


def test_failed_builds_have_a_surface_too():
    model, rng = fitted(failed=True), np.random.default_rng(0)
    field = surface_draws(model, NEW, 4000, rng, marginal=False)[BUILD_OK]
    mean, variance = model.failure.latent(lab.SPACE.to_unit(NEW))
    assert field.mean(axis=0) == pytest.approx(mean, abs=0.09 * np.sqrt(variance.max()))
    assert field.var(axis=0) + 1.0 == pytest.approx(variance, rel=0.1)
