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
from voidless.twin.transfer import ODDS, SHARES, Belief, Source, StartedPrior, one_started, start_from

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


SURE, STRANGE = (1.0, 0.0, 0.0), (0.0, 0.0, 1.0)


def told(prior, *sources, weights=SURE):
    """Return mean and covariance in prior standard deviations, by name."""
    found = start_from(prior, sources, [weights] * len(sources))
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
    assert mean == pytest.approx(np.sqrt(0.91) * np.array([-0.4, 0.6]))
    assert covariance == pytest.approx(0.91 * BOTH + 0.09 * np.eye(2))


def test_another_material_keeps_no_constant_of_the_old_one(prior):
    mean, covariance, _ = told(prior, source(prior, False, True))
    assert mean == pytest.approx([0.0, np.sqrt(0.51) * 0.6])
    assert covariance == pytest.approx(np.diag([1.0, 0.51 * 0.5 + 0.49]))


def test_nothing_in_common_brings_nothing(prior):
    assert start_from(prior, [source(prior, False, False)]) is prior


def test_a_source_that_is_not_believed_brings_nothing(prior):
    mean, _, whole = told(prior, source(prior, True, True), weights=STRANGE)
    assert mean == pytest.approx([0.0, 0.0])
    assert whole == pytest.approx(np.eye(len(whole)))
    wrong, right = source(prior, True, True, mean=(2.6, -2.4)), source(prior, True, True)
    both = start_from(prior, [wrong, right], [STRANGE, SURE])
    alone = start_from(prior, [right], [SURE])
    assert both.centre == pytest.approx(alone.centre)
    assert both.mix == pytest.approx(alone.mix)
    assert both.discrepancy_sd == pytest.approx(alone.discrepancy_sd)


def test_shares_are_mixed_as_they_are_weighed(prior):
    """Mean and variance of one constant by hand: means sqrt(1 - s²) m, variances (1 - s²) v + s²."""
    mean, covariance, _ = told(prior, source(prior, True, True), weights=ODDS)
    keep = 1.0 - np.array(SHARES) ** 2
    means, variances = -0.4 * np.sqrt(keep), keep * BOTH[0, 0] + 1.0 - keep
    assert mean[0] == pytest.approx(np.dot(ODDS, means))
    assert covariance[0, 0] == pytest.approx(np.dot(ODDS, variances + means**2) - mean[0] ** 2)
    one = one_started(prior, source(prior, True, True), 1)
    assert one.centre == pytest.approx(
        start_from(prior, [source(prior, True, True)], [(0.0, 1.0, 0.0)]).centre
    )


def test_the_weight_of_a_belief_is_what_comes_over(prior):
    whole = source(prior, True, True)
    assert Belief("old", STRANGE, {}, whole).weight == 0.0
    assert Belief("old", SURE, {}, whole).weight == pytest.approx(0.91)
    assert Belief("old", ODDS, {}, whole).weight == pytest.approx(0.6 * 0.91 + 0.2 * 0.51)


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
    same = start_from(prior, [source(prior, True, True)], [SURE]).discrepancy_sd
    related = start_from(prior, [source(prior, True, False)], [SURE]).discrepancy_sd
    half = start_from(prior, [source(prior, True, True)], [(0.5, 0.0, 0.5)]).discrepancy_sd
    assert same["strength_z_mpa"] == pytest.approx(np.hypot(np.sqrt(0.91) * 0.5, 0.3 * own))
    assert same["strength_z_mpa"] < related["strength_z_mpa"] < own
    assert half["strength_z_mpa"] ** 2 == pytest.approx(0.5 * same["strength_z_mpa"] ** 2 + 0.5 * own**2)
    assert same["void_pct"] == prior.discrepancy_sd["void_pct"]
