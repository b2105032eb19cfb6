"""What comes over from calibrated campaigns, and what does not."""

import numpy as np
import pytest

from voidless.campaign.space import Space
from voidless.campaign.types import Factor
from voidless.machines import load_machine
from voidless.materials import load_material
from voidless.settings import default_settings
from voidless.twin import transfer
from voidless.twin.parameters import PARAMETERS
from voidless.twin.prior import twin_prior
from voidless.twin.transfer import Source, StartedPrior, start_from

MISFIT = {"strength_z_mpa": 0.5}
BOTH = 0.5 * np.array([[1.0, 0.6], [0.6, 1.0]])


@pytest.fixture(scope="module")
def prior():
    material, machine = load_material("petg"), load_machine("bench-0.4")
    space = Space((Factor("flow_pct", 94.0, 108.0), Factor("nozzle_c", 225.0, 255.0)))
    fixed = {k: v for k, v in default_settings(material, machine).items() if k not in space.names}
    return twin_prior(space, fixed, material, machine, ("strength_z_mpa", "void_pct"))


def sd_of(prior, name):
    return next(sd for own, _, sd in prior.parameters if own == name)


def source(prior, same_material, same_machine, mean=(-0.4, 0.6), names=("strength_log", "closure_log")):
    sd = np.array([sd_of(prior, name) for name in names])
    return Source(names, np.array(mean) * sd, BOTH * np.outer(sd, sd), MISFIT, same_material, same_machine)


def told(prior, *sources):
    """Return mean and covariance in prior standard deviations, by name."""
    found = start_from(prior, sources)
    names = [name for name, _, _ in prior.parameters]
    sd = np.array([row[2] for row in prior.parameters])
    mean, covariance = found.centre / sd, found.mix @ found.mix.T / np.outer(sd, sd)
    places = [names.index(name) for name in ("strength_log", "closure_log")]
    return mean[places], covariance[np.ix_(places, places)], covariance


def test_the_rules_name_constants_that_exist():
    named = transfer._OF_MACHINE | transfer._OF_MATERIAL
    assert named <= {item.name for item in PARAMETERS}


def test_a_new_colour_starts_from_everything_with_some_doubt(prior):
    mean, covariance, _ = told(prior, source(prior, True, True))
    assert mean == pytest.approx([-0.4, 0.6])
    assert covariance == pytest.approx(0.91 * BOTH + 0.09 * np.eye(2))


def test_another_material_keeps_no_constant_of_the_old_one(prior):
    mean, covariance, _ = told(prior, source(prior, False, True))
    assert mean == pytest.approx([0.0, 0.6])
    assert covariance == pytest.approx(np.diag([1.0, 0.51 * 0.5 + 0.49]))


def test_nothing_in_common_brings_nothing(prior):
    assert start_from(prior, [source(prior, False, False)]) is prior


def test_nothing_is_less_sure_than_before(prior):
    for sources in ([source(prior, True, True)], [source(prior, True, False), source(prior, True, True)]):
        _, _, covariance = told(prior, *sources)
        assert np.linalg.eigvalsh(covariance).max() <= 1.0 + 1e-9


def test_two_sources_that_agree_are_surer_than_one_and_a_quarrel_widens(prior):
    one, agree = source(prior, True, True), source(prior, True, True)
    quarrel = source(prior, True, True, mean=(2.6, -2.4))
    alone, together, apart = (
        told(prior, *sources)[1][0, 0] for sources in ([one], [one, agree], [one, quarrel])
    )
    assert together < alone
    assert apart > together


def test_predictions_are_those_of_the_mixed_constants(prior):
    started = start_from(prior, [source(prior, True, True)])
    assert isinstance(started, StartedPrior)
    points = prior.space.from_unit(np.array([[0.2, 0.4], [0.7, 0.9]]))
    theta = np.linspace(-1.0, 1.0, started.centre.size)
    assert started(points, theta) == pytest.approx(prior(points, started.centre + started.mix @ theta))
    names, mean, covariance = started.physical(theta * 0.0, np.eye(theta.size))
    assert names == tuple(row[0] for row in prior.parameters)
    assert mean == pytest.approx(started.centre)
    assert covariance == pytest.approx(started.mix @ started.mix.T)


def test_a_twin_that_fitted_well_is_doubted_less(prior):
    own = prior.discrepancy_sd["strength_z_mpa"]
    same = start_from(prior, [source(prior, True, True)]).discrepancy_sd
    related = start_from(prior, [source(prior, True, False)]).discrepancy_sd
    assert same["strength_z_mpa"] == pytest.approx(np.hypot(np.sqrt(0.91) * 0.5, 0.3 * own))
    assert same["strength_z_mpa"] < related["strength_z_mpa"] < own
    assert same["void_pct"] == prior.discrepancy_sd["void_pct"]
