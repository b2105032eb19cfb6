"""Strengths of three directions: the weakest is named and said first."""

import pytest

from voidless.campaign.types import Bound, Observation, ResponseKey
from voidless.workflows.strength import strength_rows


def _bar(name, value, bound=Bound.EXACT):
    return ("f", Observation("", "", "", ResponseKey(name), value, bound=bound))


def test_the_weakest_of_three_comes_first():
    rows = [
        *(_bar("strength_xy_mpa", value) for value in (50.0, 52.0)),
        *(_bar("strength_across_mpa", value) for value in (30.0, 31.0)),
        *(_bar("strength_z_mpa", value) for value in (40.0, 41.0)),
        _bar("strength_z_mpa", 10.0, Bound.LOWER),
    ]
    (row,) = strength_rows(rows)
    assert (row["weakest"], row["across_mean"], row["n_across"]) == ("across", pytest.approx(30.5), 2)
    assert row["ratio"] == pytest.approx(40.5 / 51.0)
    places = [row["text"].index(words) for words in ("across the beads 30.50", "layers 40.50", "plane 51.00")]
    assert places == sorted(places)
    assert "1 bars were only limits" in row["text"]


def test_one_direction_alone_has_no_weakest():
    (row,) = strength_rows([_bar("strength_z_mpa", 40.0)])
    assert (row["weakest"], row["across_mean"]) == (None, None)
