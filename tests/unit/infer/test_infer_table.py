"""Observations become build means, scatter within and bounds."""

import numpy as np
import pytest

from voidless.campaign.space import Space
from voidless.campaign.types import Bound, Build, BuildOutcome, Factor, Observation, ResponseKey
from voidless.errors import InputError
from voidless.infer.table import TrainingData, reduce_observations

SPACE = Space((Factor("nozzle_c", 210.0, 260.0),))


def build(number, outcome=BuildOutcome.OK):
    return Build(f"B{number}", f"R{number}", number, 1, {"nozzle_c": 230.0}, outcome=outcome)


def seen(number, quantity, value, specimen="", **extra):
    feature = extra.pop("feature", "")
    return Observation(
        f"R{number}", f"B{number}", specimen, ResponseKey(quantity, feature=feature), value, **extra
    )


def reduced(observations, builds=None, **extra):
    return reduce_observations(TrainingData(SPACE, builds or [build(1), build(2)], observations, **extra))


def test_readings_are_averaged_before_specimens():
    table = reduced(
        [
            seen(1, "clarity", 0.60, "S1"), seen(1, "clarity", 0.62, "S1"), seen(1, "clarity", 0.62, "S1"),
            seen(1, "clarity", 0.70, "S2"), seen(2, "clarity", 0.5, "S1"),
        ]
    )["clarity"]  # fmt: skip
    mean = 0.5 * ((0.60 + 0.62 + 0.62) / 3 + 0.70)
    assert table.values == pytest.approx([mean, 0.5])
    assert table.counts.tolist() == [2.0, 1.0]
    assert table.freedom_within == 1.0
    assert table.freedom_reading == 2.0
    assert table.squares_within == pytest.approx(2 * ((0.70 - 0.6133333333) / 2) ** 2)


def test_readings_take_the_place_of_specimens_where_no_build_has_two():
    table = reduced([seen(1, "clarity", 0.60), seen(1, "clarity", 0.64), seen(2, "clarity", 0.5)])["clarity"]
    assert table.counts.tolist() == [2.0, 1.0]
    assert table.squares_within == pytest.approx(0.0008)


def test_a_bound_is_a_row_of_its_own():
    table = reduced(
        [seen(1, "strength_z_mpa", 30.0, "S1"), seen(1, "strength_z_mpa", 90.0, "S2", bound=Bound.LOWER)]
    )["strength_z_mpa"]
    assert sorted(zip(table.values.tolist(), table.sides.tolist(), strict=True)) == [(30.0, 0), (90.0, 1)]
    assert table.rows.tolist() == [0, 0]


def test_stated_uncertainties_become_the_variance_of_the_mean():
    table = reduced(
        [seen(1, "clarity", 0.6, "a", uncertainty=0.02), seen(1, "clarity", 0.6, "b", uncertainty=0.04)]
    )
    assert table["clarity"].variances == pytest.approx([(0.02**2 + 0.04**2) / 4])


def test_every_feature_is_an_output_of_its_own():
    tables = reduced(
        [seen(1, "size_error_mm", 0.1, feature="hole"), seen(1, "size_error_mm", 0.0, feature="pin")]
    )
    assert set(tables) == {"size_error_mm:hole", "size_error_mm:pin"}


def test_the_ratio_is_formed_build_by_build():
    """Rows of the ratio itself give way; scatter within builds is that of both strengths, to first order."""
    rows = [seen(1, "strength_z_mpa", v, str(i)) for i, v in enumerate((29.0, 31.0))]
    rows += [seen(1, "strength_xy_mpa", v, str(i)) for i, v in enumerate((38.0, 40.0, 42.0))]
    both = [*rows, seen(1, "z_ratio", 0.9)]
    table = reduced(both)["z_ratio"]
    assert table.values == pytest.approx([0.75])
    part = (2.0 + 0.75**2 * 4.0) / 40.0**2  # variance of one pair of specimens
    assert table.squares_within == pytest.approx(table.freedom_within * part)
    assert table.freedom_within == 1.0
    mean = (2.0 / 2.0 + 0.75**2 * 4.0 / 3.0) / 40.0**2
    assert part / table.counts == pytest.approx([mean])
    assert set(reduced(both[2:])) == {"strength_xy_mpa", "z_ratio"}


def test_a_bound_of_one_strength_is_a_bound_of_the_ratio():
    whole = [seen(1, "strength_z_mpa", 30.0, "a"), seen(1, "strength_xy_mpa", 40.0, "a")]
    broke = seen(1, "strength_z_mpa", 20.0, "b", bound=Bound.LOWER)
    table = reduced([*whole, broke])["z_ratio"]
    assert sorted(zip(table.values.tolist(), table.sides.tolist(), strict=True)) == [(0.5, 1), (0.75, 0)]
    below = seen(1, "strength_xy_mpa", 60.0, "b", bound=Bound.LOWER)
    table = reduced([*whole, below])["z_ratio"]
    assert sorted(zip(table.values.tolist(), table.sides.tolist(), strict=True)) == [(0.5, -1), (0.75, 0)]


def test_uncertainties_of_both_strengths_enter_the_ratio():
    rows = [
        seen(1, "strength_z_mpa", 30.0, uncertainty=0.6),
        seen(1, "strength_xy_mpa", 40.0, uncertainty=1.2),
    ]
    table = reduced(rows)["z_ratio"]
    assert np.sqrt(table.variances) == pytest.approx([0.75 * np.hypot(0.02, 0.03)])


def test_strengths_are_learned_apart_where_few_builds_have_both():
    rows = [seen(1, "strength_z_mpa", 30.0), seen(1, "strength_xy_mpa", 40.0)]
    rows += [seen(number, "strength_xy_mpa", 41.0) for number in (2, 3)]
    builds = [build(1), build(2), build(3)]
    assert set(reduced(rows, builds)) == {"strength_xy_mpa", "strength_z_mpa"}
    assert set(reduced(rows[:3], builds)) == {"strength_xy_mpa", "strength_z_mpa", "z_ratio"}


def test_values_of_failed_builds_are_not_used():
    builds = [build(1), build(2, BuildOutcome.CLOGGED)]
    table = reduced([seen(1, "clarity", 0.6), seen(2, "clarity", 0.1)], builds)["clarity"]
    assert table.values.tolist() == [0.6]


def test_only_wanted_responses_and_what_they_need():
    rows = [seen(1, "strength_z_mpa", 30.0), seen(1, "strength_xy_mpa", 40.0), seen(1, "clarity", 0.6)]
    assert set(reduced(rows, responses=("z_ratio",))) == {"z_ratio"}
    apart = [rows[0], seen(2, "strength_xy_mpa", 40.0), rows[2]]
    assert set(reduced(apart, responses=("z_ratio",))) == {"strength_z_mpa", "strength_xy_mpa"}


def test_values_without_build_and_run_are_left_to_summaries():
    assert reduced([Observation("", "", "S1", ResponseKey("clarity"), 0.6)]) == {}


def test_an_unknown_build_is_an_error():
    with pytest.raises(InputError, match="build is not known"):
        reduced([seen(7, "clarity", 0.6)])


def test_a_build_of_another_run_is_an_error():
    with pytest.raises(InputError, match="build is not known"):
        reduced([Observation("R9", "B1", "", ResponseKey("clarity"), 0.6)])


@pytest.mark.parametrize("bad", [{"value": float("nan")}, {"value": 0.6, "uncertainty": -1.0}])
def test_values_that_are_not_numbers_are_refused(bad):
    value = bad.pop("value")
    with pytest.raises(InputError, match="finite value"):
        reduced([seen(1, "clarity", value, **bad)])


def test_a_run_with_one_build_may_leave_the_build_empty():
    table = reduced([Observation("R2", "", "", ResponseKey("clarity"), 0.6)])["clarity"]
    assert table.rows.tolist() == [1]
    assert np.all(table.sides == 0)
