"""Strengths of three directions: the weakest is named and said first."""

import pytest

from voidless.campaign.types import Bound, Observation, ResponseKey
from voidless.workflows.strength import built_rows, strength_rows, with_breaks


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


def test_a_build_of_several_directions_names_its_weakest_and_one_of_one_direction_does_not():
    def bar(build, name, value):
        return Observation("R01", build, "", ResponseKey(name), value)

    seen = [
        *(bar("B01", "strength_xy_mpa", value) for value in (50.0, 52.0)),
        *(bar("B01", "strength_across_mpa", value) for value in (30.0, 31.0)),
        bar("B02", "strength_z_mpa", 40.0),
        Observation("", "", "", ResponseKey("strength_z_mpa"), 1.0),
    ]
    (row,) = built_rows(seen)
    assert (row["group"], row["weakest"], row["n_z"]) == ("R01 B01", "across", 0)
    assert row["text"].startswith("R01 B01: in plane across the beads 30.50 MPa of 2, in plane 51.00")
    assert "one build" in row["note"]
    assert strength_rows([("f", one) for one in seen])[0]["n_z"] == 1


def test_how_the_welds_broke_is_said():
    (row,) = strength_rows([_bar("strength_z_mpa", 40.0), _bar("strength_z_mpa", 41.0)])
    curves = [
        ("f", "z", "before yield"),
        ("f", "z", "after yield"),
        ("f", "xy", "after yield"),
        ("g", "z", "no break"),
    ]
    (told,) = with_breaks([row], curves)
    assert told["broke"] == {"z": {"before yield": 1, "after yield": 1}, "xy": {"after yield": 1}}
    assert told["text"] == row["text"] + " Through the layers 1 of 2 broke before yield."
    assert with_breaks([row], [])[0]["text"] == row["text"]
