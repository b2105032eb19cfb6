"""`twin_prior`: the protocol that learning relies on."""

import pickle
import time
from dataclasses import replace

import numpy as np
import pytest

from voidless.campaign.space import Space
from voidless.campaign.types import Factor
from voidless.errors import InputError
from voidless.machines import load_machine
from voidless.materials import load_material
from voidless.settings import default_settings
from voidless.twin.fast import predict
from voidless.twin.heat import warmth_of
from voidless.twin.links import RESPONSES
from voidless.twin.parameters import PARAMETERS
from voidless.twin.prior import twin_prior

PETG, MACHINE = load_material("petg"), load_machine("bench-0.4")
SPACE = Space(
    (
        Factor("flow_pct", 90.0, 110.0),
        Factor("nozzle_c", 210.0, 260.0),
        Factor("fan_pct", 0.0, 100.0),
        Factor("speed_mm_s", 10.0, 60.0),
        Factor("layer_mm", 0.1, 0.28),
        Factor("width_mm", 0.4, 0.6),
    )
)
FIXED = default_settings(PETG, MACHINE)


def _prior(responses=RESPONSES, material=PETG, fixed=FIXED):
    return twin_prior(SPACE, fixed, material, MACHINE, responses)


def _points(count, seed=1):
    return SPACE.from_unit(np.random.default_rng(seed).random((count, 6)))


def test_shapes_and_names():
    """At most nine parameters; what it cannot predict is left out."""
    prior = _prior(("clarity", "build_min", "z_ratio", "clarity"))
    assert prior.responses == ("clarity", "z_ratio")
    assert 1 <= len(prior.parameters) <= 9
    assert all(sd > 0.0 and mean == 0.0 for _, mean, sd in prior.parameters)
    assert set(prior.discrepancy_sd) == set(prior.responses)
    values = prior(_points(17), np.zeros(len(prior.parameters)))
    assert values.shape == (17, 2)
    assert np.all(np.isfinite(values))


def test_only_parameters_that_move_a_response_are_offered():
    """Each offered parameter changes at least one asked response somewhere."""
    for asked in (("size_error_mm",), ("clarity",), ("strength_z_mpa", "z_ratio"), RESPONSES):
        prior = _prior(asked)
        base = prior(_points(50), np.zeros(len(prior.parameters)))
        for place, (name, _, sd) in enumerate(prior.parameters):
            theta = np.zeros(len(prior.parameters))
            theta[place] = sd
            assert np.max(np.abs(prior(_points(50), theta) - base)) > 1e-6, name


def test_table_of_moves_is_true():
    """A parameter moves no response beyond those that its row names."""
    from voidless.twin.chain import responses_of, run_chain
    from voidless.twin.context import context_of
    from voidless.twin.ground import ground_of

    columns = {name: np.full(64, value) for name, value in FIXED.items()} | SPACE.columns(_points(64))
    ground, context = ground_of(PETG, MACHINE), context_of({"exposure_h": 5.0})
    base = responses_of(run_chain(columns, ground, context, {}))
    for item in PARAMETERS:
        moved = responses_of(run_chain(columns, ground, context, {item.name: 0.3}))
        changed = {
            name for name in base if np.max(np.abs(moved[name] - base[name])) > 1e-3 * np.ptp(base[name])
        }
        assert changed == set(item.moves), item.name


def test_opaque_material_has_no_optics():
    """Clarity of ABS is not a response of the twin."""
    found = twin_prior(
        SPACE, FIXED | {"nozzle_c": 245.0}, load_material("abs"), MACHINE, ("clarity", "void_pct")
    )
    assert found.responses == ("void_pct",)


def test_no_response_gives_an_empty_prior():
    """A campaign of responses that the twin does not know still gets a prior object."""
    prior = _prior(("build_min",))
    assert prior.responses == ()
    assert prior.parameters == ()
    assert prior(_points(3), np.zeros(0)).shape == (3, 0)


def test_means_agree_with_predict():
    """The prior at its mean parameters is the centre from which `predict` samples."""
    prior = _prior(("rate_mm3_s", "strength_xy_mpa"))
    point = SPACE.point(FIXED)
    value = prior(point[None, :], np.zeros(len(prior.parameters)))[0]
    found = predict(FIXED, PETG, MACHINE).responses
    assert value[0] == pytest.approx(found["rate_mm3_s"].mean[0], rel=0.01)
    assert found["strength_xy_mpa"].low[0] < value[1] < found["strength_xy_mpa"].high[0]


def test_smooth_in_parameters_and_settings():
    """Central differences at two step sizes agree: no kink, no noise where learning takes slopes."""
    prior = _prior()
    theta = np.zeros(len(prior.parameters))
    points = _points(40, seed=4)
    scale = np.array([prior.discrepancy_sd[name] for name in prior.responses])

    def slope(shift, step):
        above, below = (prior(points + s * shift[0], theta + s * shift[1]) for s in (step, -step))
        return (above - below) / (2 * step) / scale

    directions = [(np.zeros(6), np.eye(theta.size)[k] * prior.parameters[k][2]) for k in range(theta.size)]
    directions += [(np.eye(6)[k] * (SPACE.high - SPACE.low)[k], np.zeros(theta.size)) for k in range(6)]
    for shift in directions:
        coarse, fine = slope(shift, 1e-3), slope(shift, 2.5e-4)
        assert np.quantile(np.abs(coarse - fine), 0.99) < 0.05


def test_what_is_remembered_is_what_would_be_computed():
    """A prior that has answered other questions before gives the same to the last bit; so does its copy."""
    asked, points = ("clarity", "z_ratio", "healing"), _points(50)
    used, fresh = _prior(asked), _prior(asked)
    theta = np.array([0.3 * sd for _, _, sd in used.parameters])
    for place in range(theta.size):
        used(points, theta + 0.1 * np.eye(theta.size)[place])
    bare = replace(fresh, warmth=warmth_of)
    assert np.array_equal(used(points, theta), bare(points, theta))
    assert np.array_equal(pickle.loads(pickle.dumps(used))(points, theta), bare(points, theta))


def test_gradient_is_the_slope():
    """Against wider central differences, within 2 % of the largest slope of each response."""
    prior = _prior(("clarity", "strength_across_mpa", "size_error_mm"))
    points, theta = _points(30, seed=6), np.zeros(len(prior.parameters))
    by_theta, by_setting = prior.gradient(points, theta)
    for place, (_, _, sd) in enumerate(prior.parameters):
        step = 0.01 * sd * np.eye(theta.size)[place]
        wide = (prior(points, theta + step) - prior(points, theta - step)) / (0.02 * sd)
        assert np.all(np.abs(by_theta[..., place] - wide) <= 0.02 * np.abs(by_theta).max(axis=(0, 2)) + 1e-9)
    step = 1e-3 * np.array([20.0, 0, 0, 0, 0, 0])
    wide = (prior(points + step, theta) - prior(points - step, theta)) / 0.04
    assert np.all(np.abs(by_setting[..., 0] - wide) <= 0.02 * np.abs(by_setting[..., 0]).max(axis=0))


def test_draws_are_those_of_the_priors():
    """Logarithm of bulk strength: standard deviation of 400 draws within 4 standard errors (3.5 % each)."""
    prior = _prior(("strength_xy_mpa",))
    drawn = prior.draws(_points(3), 400, np.random.default_rng(2))
    assert drawn.shape == (400, 3, 1)
    theta = np.array([sd if name == "strength_log" else 0.0 for name, _, sd in prior.parameters])
    base = prior(_points(3), 0.0 * theta)
    expected = np.log(prior(_points(3), theta) / base)[0, 0]
    assert np.all(np.log(drawn).std(axis=0) >= 0.86 * expected)
    assert np.all(np.log(drawn).std(axis=0) <= 1.4 * expected)
    assert np.array_equal(drawn, prior.draws(_points(3), 400, np.random.default_rng(2)))


def test_parameters_are_those_that_matter():
    """Slow thin beads heat through whatever the hot end does; fast thick ones do not."""

    def names(layer, width, speed):
        space = Space((Factor("speed_mm_s", speed, 1.5 * speed), Factor("flow_pct", 98.0, 106.0)))
        fixed = FIXED | {"layer_mm": layer, "width_mm": width}
        prior = twin_prior(space, fixed, PETG, MACHINE, ("void_pct", "strength_across_mpa"))
        return {name for name, _, _ in prior.parameters}

    assert "heating_log" not in names(0.12, 0.5, 10.0)
    assert "heating_log" in names(0.3, 0.6, 60.0)


def test_scatter_from_build_to_build_is_not_the_twins_error():
    """A machine that scatters more has wider predictions, but the same discrepancy."""
    loose = replace(MACHINE, setting_sd={**MACHINE.setting_sd, "flow_pct": 8.0})
    asked = ("clarity", "void_pct")
    tight = _prior(asked).discrepancy_sd
    assert twin_prior(SPACE, FIXED, PETG, loose, asked).discrepancy_sd == tight
    spread = [predict(FIXED, PETG, m).responses["void_pct"].sd[0] for m in (MACHINE, loose)]
    assert spread[1] > 1.2 * spread[0]


def test_context_may_be_fixed():
    """Exposure among the fixed values reaches the twin."""
    dry, wet = (_prior(("clarity",), fixed=FIXED | {"exposure_h": h}) for h in (0.0, 50.0))
    clear, milky = (prior(_points(20), np.zeros(len(prior.parameters))) for prior in (dry, wet))
    assert np.all(milky < clear)


def test_wrong_calls_are_refused():
    """Too few parameters; a setting that is neither factor nor fixed."""
    prior = _prior()
    with pytest.raises(InputError, match="1 parameters"):
        prior(_points(2), np.zeros(1))
    with pytest.raises(InputError, match="no value for bed_c"):
        twin_prior(SPACE, {k: v for k, v in FIXED.items() if k != "bed_c"}, PETG, MACHINE, RESPONSES)


@pytest.mark.slow
def test_speed():
    """All responses for 20,000 settings within 2 s even on a loaded machine (5 s per 100,000 is the aim)."""
    prior = _prior()
    theta, points = np.zeros(len(prior.parameters)), _points(20_000)
    prior(points[:10], theta)
    best = np.inf
    for _ in range(3):
        start = time.perf_counter()
        prior(points, theta)
        best = min(best, time.perf_counter() - start)
    assert best < 2.0
