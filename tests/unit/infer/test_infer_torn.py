"""A build whose specimens lie apart as those of no other build do is named, and nothing else is."""

from dataclasses import replace
from importlib import util
from pathlib import Path

import numpy as np

from voidless.campaign.types import Bound, BuildOutcome, Observation, ResponseKey
from voidless.infer.effects import effects
from voidless.infer.model import TrainingData, fit_model
from voidless.infer.search import even_points
from voidless.infer.torn import torn, torn_builds

_SPEC = util.spec_from_file_location("invented_lab", Path(__file__).with_name("invented.py"))
lab = util.module_from_spec(_SPEC)
_SPEC.loader.exec_module(lab)


def bars(rng, builds=24, specimens=2, within=1.0):
    """Return bars of builds that differ by 10 MPa, whose own bars differ by 1 MPa."""
    means = 100.0 + rng.normal(0.0, 10.0, (builds, 1))
    values = means + within * rng.normal(0.0, 1.0, (builds, specimens))
    return {
        f"B{row:02d}": {f"z-{at}": float(v) for at, v in enumerate(line)} for row, line in enumerate(values)
    }


def test_a_spoiled_specimen_is_named_with_its_fellow():
    found = bars(np.random.default_rng(1))
    found["B07"]["z-1"] *= 0.5
    (named,) = torn(found)
    assert named.build == "B07"
    assert named.low == ("z-1", found["B07"]["z-1"])
    assert named.high == ("z-0", found["B07"]["z-0"])
    assert 0.5 < named.usual < 1.6


def test_two_spoiled_specimens_do_not_hide_each_other():
    found = bars(np.random.default_rng(2), builds=12, specimens=3)
    found["B03"]["z-0"], found["B09"]["z-2"] = found["B09"]["z-2"] - 40.0, found["B03"]["z-0"] + 40.0
    assert [item.build for item in torn(found)] == ["B03", "B09"]


def test_chance_names_hardly_any_build():
    """One response in a hundred at most, whatever the number of builds; 300 responses each."""
    rng = np.random.default_rng(3)
    for builds, specimens in ((8, 2), (24, 2), (12, 5)):
        assert sum(bool(torn(bars(rng, builds, specimens))) for _ in range(300)) <= 6


def test_scatter_in_proportion_to_the_value_is_no_fault():
    rng = np.random.default_rng(4)
    named = 0
    for _ in range(200):
        means = np.exp(rng.uniform(0.0, 4.0, (24, 1)))
        values = means * np.exp(0.05 * rng.normal(size=(24, 2)))
        named += bool(torn({str(row): dict(enumerate(line)) for row, line in enumerate(values.tolist())}))
    assert named <= 4


def test_few_builds_and_equal_specimens_say_nothing():
    found = bars(np.random.default_rng(5), builds=5)
    found["B01"]["z-0"] = 1.0
    assert torn(found) == []
    assert torn({str(row): {"a": 1.0, "b": 1.0} for row in range(8)}) == []


def _campaign():
    rng = np.random.default_rng(6)
    points = lab.SPACE.from_unit(even_points(14, 3, rng))
    builds, observations = lab.campaign(points, rng)
    place = next(
        i for i, o in enumerate(observations) if (o.build, o.key.quantity) == ("B05", "strength_xy_mpa")
    )
    return builds, observations, place


def test_learn_says_it_first_and_names_the_build():
    builds, observations, place = _campaign()
    spoiled = observations[place]
    observations[place] = Observation(spoiled.run, spoiled.build, spoiled.specimen, spoiled.key, 9.0)
    data = TrainingData(lab.SPACE, builds, observations)
    said = effects(fit_model(data, np.random.default_rng(0)), data, np.random.default_rng(0)).statements
    torn_ones = [text for text in said if "further apart than chance" in text]
    assert len(torn_ones) == 1
    assert "strength_xy_mpa: specimens of build B05 of run R05" in torn_ones[0]
    assert "S0 at 9 " in torn_ones[0]
    assert said.index(torn_ones[0]) < min(i for i, text in enumerate(said) if "explains" in text)


def test_bounds_failed_builds_and_the_runs_of_one_bed_are_left_apart():
    builds, observations, place = _campaign()
    spoiled = observations[place]
    low = Observation(spoiled.run, spoiled.build, spoiled.specimen, spoiled.key, 9.0)
    observations[place] = Observation(low.run, low.build, low.specimen, low.key, 9.0, bound=Bound.LOWER)
    assert not any(torn_builds(TrainingData(lab.SPACE, builds, observations)).values())
    observations[place] = low
    assert any(torn_builds(TrainingData(lab.SPACE, builds, observations)).values())
    failed = [replace(item, outcome=BuildOutcome.COLD) if item.label == "B05" else item for item in builds]
    assert not any(torn_builds(TrainingData(lab.SPACE, failed, observations)).values())
    key = ResponseKey("void_pct")
    shared = [
        Observation(
            f"R{2 * bed + half}", f"B{bed}", f"{half}-{at}", key, 1.0 + 5.0 * half + 0.01 * at + 0.001 * bed
        )
        for bed in range(8)
        for half in (0, 1)
        for at in (0, 1)
    ]
    assert not any(torn_builds(TrainingData(lab.SPACE, (), shared)).values())
