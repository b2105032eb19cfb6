"""Numbers on specimens: legible, closed, outside of gauges and measured faces."""

import numpy as np
import pytest

from voidless.errors import InputError
from voidless.meshes.faults import find_faults
from voidless.specimens.catalogue import CATALOGUE, specimen
from voidless.specimens.marking import DEPTH_MM, LEAST_DOT_MM, fits, marked
from voidless.specimens.mesh import specimen_mesh

MARKED = [kind for kind in CATALOGUE.values() if fits(kind, "12-6")]


def strokes(kind, text, raised=False):
    """Return the boxes (low, high corner) that a mark adds. [mm]"""
    after = marked(kind, text, raised)
    added = after.bodies[len(kind.bodies) :] if raised else after.holes[len(kind.holes) :]
    return [
        (
            np.append(s.levels[0].outline.min(axis=0), s.base_mm),
            np.append(s.levels[0].outline.max(axis=0), s.top_mm),
        )
        for s in added
    ]


@pytest.mark.parametrize("kind", MARKED, ids=lambda kind: kind.name)
def test_marks_stay_clear_of_the_gauge(kind):
    """No stroke lies within the gauge length along the pull, and all lie within the specimen."""
    axis = {"X": 0, "Z": 2}[kind.orientation[0]]
    middle = kind.height_mm / 2.0 if axis == 2 else 0.0
    half = np.array([kind.box_mm[0] / 2.0, kind.box_mm[1] / 2.0])
    for low, high in strokes(kind, "12-6"):
        assert np.all(low[:2] >= -half - 1e-9)
        assert np.all(high[:2] <= half + 1e-9)
        assert -1e-9 <= low[2] < high[2] <= kind.height_mm + 1e-9
        if kind.gauge_length_mm:
            nearest = np.clip(middle, low[axis], high[axis])
            assert abs(nearest - middle) > kind.gauge_length_mm / 2.0
        width = (high - low)[[0, 2] if kind.mark_places[0].face == "front" else [0, 1]].min()
        assert width >= LEAST_DOT_MM - 1e-9


@pytest.mark.parametrize("kind", MARKED[::4], ids=lambda kind: kind.name)
def test_marked_solids_are_closed_and_exact(kind):
    """The solid is closed, and smaller by the volume of the strokes."""
    after = marked(kind, "12-6")
    mesh = specimen_mesh(after)
    assert not any(fault.blocks for fault in find_faults(mesh))
    cut = sum(float(np.prod(high - low)) for low, high in strokes(kind, "12-6"))
    assert mesh.volume_mm3 == pytest.approx(kind.volume_mm3 - cut, rel=1e-9)
    assert after.section_mm2 == kind.section_mm2 if kind.gauge_mm else after.features == kind.features


def test_faces_that_are_measured_carry_none():
    """Sealing faces, density specimens and light guides have no place."""
    for name in ("cup", "cup_lid", "wall_xy", "block", "density_cube", "light_guide", "bead_wall"):
        assert not fits(specimen(name), "1")
        with pytest.raises(
            InputError, match=r"no place for the sunk mark '1'.*Write on the specimen by hand"
        ):
            marked(specimen(name), "1")


def test_plaques_are_marked_on_their_edges():
    """Nothing of the faces that light passes is touched more than the depth of a stroke from the edge."""
    low = np.min([low for low, _ in strokes(specimen("plaque"), "7-3")], axis=0)
    high = np.max([high for _, high in strokes(specimen("plaque"), "7-3")], axis=0)
    assert (low[1], high[1]) == pytest.approx((-10.0, -10.0 + DEPTH_MM))
    assert 0.0 < low[2] < high[2] < 3.0


def test_digits_differ_and_stand_in_order():
    """Ten digits have ten shapes; a longer number is wider; a mark reads from left to right."""
    kind = specimen("iso527_1a_xy")
    shapes = {str(np.round(strokes(kind, digit), 6).tolist()) for digit in "0123456789"}
    assert len(shapes) == 10
    one_four = strokes(kind, "14")
    middle = np.mean([kind.mark_places[0].centre_mm[0]])
    right = [box for box in one_four if box[0][0] > middle]
    assert len(right) == 7  # a 4 is two dots, two dots, a bar, a dot, a dot
    small = specimen("bar_xy")
    lines = {round(float(low[1]), 6) for low, _ in strokes(small, "107-16")}
    assert len(lines) == 10  # two rows of five lines where one row would be too small


def test_raised_where_it_is_allowed():
    """Bending bars may carry raised numbers beyond their supports; grips may not."""
    after = marked(specimen("bend_bar_xy"), "7", raised=True)
    assert after.height_mm == pytest.approx(4.0 + DEPTH_MM)
    assert after.volume_mm3 > specimen("bend_bar_xy").volume_mm3
    assert all(high[0] < -32.0 for _, high in strokes(specimen("bend_bar_xy"), "7", raised=True))
    with pytest.raises(InputError, match="no place for the raised mark '7'"):
        marked(specimen("iso527_1a_xy"), "7", raised=True)


@pytest.mark.parametrize("text", ["", "B7", "-", "7 3", "٣"])
def test_texts_that_are_no_numbers(text):
    """Digits and hyphens only."""
    with pytest.raises(InputError, match="digits and hyphens"):
        marked(specimen("iso527_1a_xy"), text)


@pytest.mark.parametrize("text", ["", " ", "-", "--", "7 ", "B7", "\u0667"])
def test_what_cannot_be_sunk_fits_nowhere(text):
    """Empty, blank, without digits, with other signs: no place, and a fault that says what is taken."""
    assert not fits(specimen("plaque"), text)
    with pytest.raises(InputError, match="digits and hyphens"):
        marked(specimen("plaque"), text)


def test_one_sign_is_enough():
    """A mark of one digit is sunk in strokes that all have a size."""
    assert fits(specimen("plaque"), "7")
    assert all(np.all(high > low) for low, high in strokes(specimen("plaque"), "7"))
