"""What the learning model says against invented truths that are known."""

from dataclasses import replace
from importlib import util
from pathlib import Path

import numpy as np
import pytest

from voidless.campaign.types import Bound, BuildOutcome, Observation, Probability, ResponseKey
from voidless.errors import InputError
from voidless.infer.model import TrainingData, fit_model
from voidless.infer.search import even_points

_SPEC = util.spec_from_file_location("invented_lab", Path(__file__).with_name("invented.py"))
lab = util.module_from_spec(_SPEC)
_SPEC.loader.exec_module(lab)


def points(count, seed=0):
    return lab.SPACE.from_unit(even_points(count, 3, np.random.default_rng(seed)))


def fitted(count=16, seed=0, prior=None, change=None, responses=None, **extra):
    rng = np.random.default_rng(seed)
    builds, observations = lab.campaign(points(count, seed), rng, **extra)
    if change:
        builds, observations = change(builds, observations)
    data = TrainingData(lab.SPACE, builds, observations, prior, {"build_min": lab.build_min}, responses)
    return fit_model(data, rng)


class Physics:
    """An invented physics prior: the truth with a wrong constant and a shift that one parameter mends."""

    responses = ("clarity", "strength_z_mpa", "strength_xy_mpa")

    def __init__(self, parameters=(("place", 0.0, 1.0),), wrong=False):
        self.discrepancy_sd = {"clarity": 0.03, "strength_z_mpa": 2.0, "strength_xy_mpa": 2.0}
        self.parameters = parameters
        self.wrong = wrong

    def __call__(self, at, theta):
        shift = theta[0] if len(theta) else 0.0
        values = lab.truth(at)
        found = np.column_stack([values[name] for name in self.responses])
        found = found + (shift - 0.5) * np.array([0.1, 8.0, 4.0])
        return found[::-1] if self.wrong else found


def test_predictions_come_near_the_truth():
    model, at = fitted(24), points(200, 9)
    found = model.predict(at)
    for name, true in lab.truth(at).items():
        error = np.sqrt(np.mean((found[name].mean - true) ** 2))
        assert error < 0.35 * np.std(true), name
        assert np.mean((found[name].low <= true) & (true <= found[name].high)) > 0.85


def test_the_ratio_is_learned_as_one():
    """What moves both strengths of a build alike leaves the ratio alone: its scatter is a third of the quotient's."""
    rng = np.random.default_rng(4)
    builds, observations = lab.campaign(points(24), rng, scatter=0.2)
    common = dict(zip((build.label for build in builds), rng.standard_normal(24), strict=True))
    moved = [
        replace(item, value=item.value * (1.0 + 0.08 * common[item.build]))
        if item.key.quantity.startswith("strength")
        else item
        for item in observations
    ]
    model = fit_model(TrainingData(lab.SPACE, builds, moved), rng)
    ratio, noise = model.noise["z_ratio"], model.noise
    apart = (
        np.hypot(noise["strength_z_mpa"].between / 30.0, noise["strength_xy_mpa"].between / 46.0)
        * 30.0
        / 46.0
    )
    assert ratio.between < apart / 3.0
    at = points(100, 9)
    means = lab.truth(at)
    true = means["strength_z_mpa"] / means["strength_xy_mpa"]
    found = model.predict(at)["z_ratio"]
    assert np.sqrt(np.mean((found.mean - true) ** 2)) < 0.3 * np.std(true)
    assert np.mean((found.low <= true) & (true <= found.high)) > 0.85


def test_strengths_of_different_builds_still_give_a_ratio():
    def alternate(builds, observations):
        names = ("strength_z_mpa", "strength_xy_mpa")
        even = {build.label for build in builds[::2]}
        kept = [o for o in observations if o.key.quantity == names[o.build in even]]
        return builds, kept

    model, at = fitted(change=alternate), points(5, 3)
    draws = model.draws(at, 64, Probability.MEAN, np.random.default_rng(0))
    assert draws["z_ratio"] == pytest.approx(draws["strength_z_mpa"] / draws["strength_xy_mpa"])
    assert draws["z_ratio"].shape == (64, 5)


def test_known_functions_are_exact():
    model, at = fitted(), points(5, 3)
    assert model.predict(at)["build_min"].low == pytest.approx(lab.build_min(at))


def test_a_table_rules_over_a_known_function():
    def change(builds, observations):
        extra = [
            Observation(
                b.run,
                b.label,
                "",
                ResponseKey("build_min"),
                1.3 * float(lab.build_min(lab.SPACE.points([b.settings]))[0]),
            )
            for b in builds
        ]
        return builds, observations + extra

    model, at = fitted(change=change), points(20, 3)
    assert "build_min" not in model.known
    assert model.predict(at)["build_min"].mean == pytest.approx(1.3 * lab.build_min(at), rel=0.05)


def test_scatter_between_and_within_builds_is_kept_apart():
    """Eight repeats of four settings with five specimens: both scatters within 40 % of the truth."""
    rng = np.random.default_rng(4)
    at = np.repeat(points(4), 8, axis=0)
    builds, observations = lab.campaign(at, rng, specimens=5)
    noise = fit_model(TrainingData(lab.SPACE, builds, observations), rng).noise["strength_z_mpa"]
    assert noise.between == pytest.approx(lab.BETWEEN["strength_z_mpa"], rel=0.4)
    assert noise.within == pytest.approx(lab.WITHIN["strength_z_mpa"], rel=0.2)
    assert noise.within_known


def test_kinds_of_probability_widen_in_order():
    model, at = fitted(), points(3, 3)
    spread = [
        model.draws(at, 4000, kind, np.random.default_rng(0))["strength_z_mpa"].std(axis=0)
        for kind in (Probability.MEAN, Probability.NEXT_BUILD, Probability.NEXT_PART)
    ]
    assert np.all(spread[0] < spread[1])
    assert np.all(spread[1] < spread[2])


def test_the_settings_own_scatter_is_not_counted_twice():
    """
    Builds whose scatter is all from the nozzle: a next build scatters by the nozzle and by what is not known
    of the mean, and the scatter of builds is left with little.
    """
    rng = np.random.default_rng(5)
    sd = {"nozzle_c": 4.0}
    at = np.repeat(points(10), 3, axis=0)
    moved = at + np.array([0.0, 4.0, 0.0]) * rng.standard_normal(at.shape)
    builds, observations = lab.campaign(moved, rng, scatter=0.02)
    builds = [replace(b, settings=lab.SPACE.settings(p)) for b, p in zip(builds, at, strict=True)]
    model = fit_model(TrainingData(lab.SPACE, builds, observations, setting_sd=sd), rng)
    middle = lab.SPACE.from_unit(np.array([[0.5, 0.5, 0.5]]))
    unsure, scattered = (
        model.draws(middle, 4000, kind, np.random.default_rng(0), sd)["strength_z_mpa"].std()
        for kind in (Probability.MEAN, Probability.NEXT_BUILD)
    )
    nozzle = lab.truth(middle + np.array([0.0, 4.0, 0.0]) * rng.standard_normal((4000, 3)))[
        "strength_z_mpa"
    ].std()
    assert scattered == pytest.approx(np.hypot(unsure, nozzle), rel=0.1)
    assert model.noise["strength_z_mpa"].between < 0.5 * nozzle  # what the nozzle did is no scatter of builds


def test_exposure_is_a_nuisance_and_predictions_are_dry():
    """Six points of strength lost over 48 h: predictions for dry filament come back to the truth."""
    hours = np.random.default_rng(1).uniform(0.0, 48.0, 24)
    model, at = fitted(24, exposure=hours, drift=-6.0 / 48.0), points(100, 9)
    true = lab.truth(at)["strength_z_mpa"]
    bias = np.mean(model.predict(at)["strength_z_mpa"].mean - true)
    assert abs(bias) < 1.5
    assert model.nuisance.references["exposure_h"] == 0.0


def test_a_reference_away_from_dry_is_said():
    model = fitted(12, exposure=np.linspace(30.0, 50.0, 12))
    assert model.nuisance.references["exposure_h"] == pytest.approx(40.0)
    assert any("no build was printed near dry" in note for note in model.notes)


def test_lower_bounds_raise_the_mean_and_are_not_values():
    """
    Every bar broke at its radius at 60 % of its strength: as values they would pull the mean down
    to 60 %.
    """

    def bounded(builds, observations):
        changed = [
            replace(o, value=0.6 * o.value, bound=Bound.LOWER)
            if o.key.quantity == "strength_xy_mpa" and o.specimen != "S0"
            else o
            for o in observations
        ]
        return builds, changed

    def averaged(builds, observations):
        _, changed = bounded(builds, observations)
        return builds, [replace(o, bound=Bound.EXACT) for o in changed]

    at = points(50, 9)
    true = lab.truth(at)["strength_xy_mpa"].mean()
    right = fitted(change=bounded).predict(at)["strength_xy_mpa"].mean.mean()
    wrong = fitted(change=averaged).predict(at)["strength_xy_mpa"].mean.mean()
    assert right == pytest.approx(true, rel=0.03)
    assert wrong < 0.85 * true


def test_failed_builds_lower_the_chance_where_they_failed():
    def change(builds, observations):
        cold = [b.settings["nozzle_c"] < 225.0 for b in builds]
        failed = [
            replace(b, outcome=BuildOutcome.COLD) if c else b for b, c in zip(builds, cold, strict=True)
        ]
        return failed, observations

    model = fitted(24, change=change)
    at = lab.SPACE.from_unit(np.array([[0.5, 0.1, 0.5], [0.5, 0.9, 0.5]]))
    ok = np.mean(model.draws(at, 4000, Probability.MEAN, np.random.default_rng(0))["build_ok"] > 0.0, axis=0)
    assert ok[0] < 0.5
    assert ok[1] > 0.85
    assert fitted(12).failure is None


def test_physics_is_calibrated_and_trusted_when_right():
    model, at = fitted(8, prior=Physics()), points(100, 9)
    assert model.constants()["place"]["mean"] == pytest.approx(0.5, abs=0.2)
    without = fitted(8)
    for name in ("clarity", "strength_z_mpa"):  # the third is as good as its scatter either way
        true = lab.truth(at)[name]
        own, bare = (np.sqrt(np.mean((m.predict(at)[name].mean - true) ** 2)) for m in (model, without))
        assert own < 0.6 * bare, name
        assert model.weights[name] > 0.5


def test_wrong_physics_is_outvoted():
    """The prior's rows are shuffled: its weight falls, and errors stay within 1.5 of the model without it."""
    model, at = fitted(20, prior=Physics(wrong=True)), points(100, 9)
    without = fitted(20)
    for name, true in lab.truth(at).items():
        own, bare = (np.sqrt(np.mean((m.predict(at)[name].mean - true) ** 2)) for m in (model, without))
        assert own < 1.5 * bare, name
        assert model.weights[name] < 0.5


def test_physics_alone_before_any_build():
    rng = np.random.default_rng(0)
    model = fit_model(TrainingData(lab.SPACE, [], [], Physics(), {}, ("clarity", "z_ratio")), rng)
    assert model.basis == "prior"
    assert set(model.responses) == {"clarity", "z_ratio"}
    at = points(4, 3)
    strengths = Physics()(at, np.zeros(1))
    ratio = model.predict(at)["z_ratio"]
    assert ratio.mean == pytest.approx(strengths[:, 1] / strengths[:, 2], abs=0.05)
    found = model.predict(at)["clarity"]
    assert found.mean == pytest.approx(lab.truth(at)["clarity"] - 0.05, abs=0.03)
    assert np.all(found.high - found.low > 0.1)


def test_a_swapped_row_is_found():
    def change(builds, observations):
        swapped = [
            replace(o, value=5.0) if o.build == "B05" and o.key.quantity == "strength_xy_mpa" else o
            for o in observations
        ]
        return builds, swapped

    model = fitted(24, change=change)
    assert 4 in model.check()["strength_xy_mpa"]["suspicious"]
    assert fitted(24).check()["strength_xy_mpa"]["suspicious"] == []


def test_two_methods_of_one_quantity_are_said():
    def change(builds, observations):
        return builds, [
            replace(o, key=ResponseKey(o.key.quantity, "maximum" if o.build < "B05" else "iso527_2012"))
            for o in observations
        ]

    assert any("measured by 2 methods" in note for note in fitted(8, change=change).notes)


def test_one_build_is_enough_to_fit():
    model = fitted(1)
    assert np.all(np.isfinite(model.predict(points(3))["clarity"].mean))


def test_the_same_seed_gives_the_same_numbers():
    at = points(3)
    assert np.array_equal(fitted(10).predict(at)["clarity"].low, fitted(10).predict(at)["clarity"].low)


def test_a_build_without_a_factor_is_refused():
    def change(builds, observations):
        return [replace(builds[0], settings={"flow_pct": 100.0}), *builds[1:]], observations

    with pytest.raises(InputError, match="lacks the factor nozzle_c"):
        fitted(5, change=change)


def test_summary_is_plain_data():
    import json

    text = json.dumps(fitted(8).summary())
    assert "between_build_sd" in text
