"""A bead as a stadium: check values of plane geometry, inverses, refusals."""

import math

import numpy as np
import pytest

from voidless.beads.stadium import (
    bead_area,
    bead_width,
    filament_area,
    filament_feed,
    full_fill_flow,
    full_fill_pitch,
    void_share,
)
from voidless.errors import InputError

# Derived with double precision from the formulas of the stadium (rectangle and two half circles); the
# tolerance is half the last printed digit.
DERIVED = [
    (float(bead_area(0.20, 0.45)), 0.0814159, 5e-8),
    (float(full_fill_pitch(0.20, 0.45)), 0.4070796, 5e-8),
    (float(void_share(0.20, 0.45, 0.45)), 0.0953786, 5e-8),
    (float(full_fill_flow(0.20, 0.45)), 1.105435, 5e-7),
    (float(bead_area(0.30, 0.48)), 0.1246858, 5e-8),
    (float(full_fill_pitch(0.30, 0.48)), 0.4156194, 5e-8),
    (float(void_share(0.30, 0.48, 0.48)), 0.1341261, 5e-8),
    (float(void_share(0.10, 0.60, 0.60)), 0.0357670, 5e-8),
    (float(filament_feed(0.20, 0.4070796, 1.75)), 0.0338488, 5e-8),
]


@pytest.mark.parametrize(("found", "printed", "tolerance"), DERIVED)
def test_derived_values(found, printed, tolerance):
    """The formulas give the derived values to the printed digit."""
    assert found == pytest.approx(printed, abs=tolerance)


def test_width_is_the_inverse_of_area():
    """A width gives an area that gives the width back."""
    layer, width = np.array([0.08, 0.2, 0.3]), np.array([0.1, 0.45, 0.9])
    np.testing.assert_allclose(bead_width(layer, bead_area(layer, width)), width, rtol=1e-14)


def test_full_fill_leaves_nothing_open():
    """At the full-fill pitch the void share is 0; at the full-fill flow it is 0 with pitch = width."""
    pitch = full_fill_pitch(0.2, 0.45)
    assert float(void_share(0.2, 0.45, pitch)) == pytest.approx(0.0, abs=1e-15)
    assert float(void_share(0.2, 0.45, 0.45, full_fill_flow(0.2, 0.45))) == pytest.approx(0.0, abs=1e-15)


def test_a_round_bead_has_the_area_of_its_circle():
    """Width = layer thickness is a circle."""
    assert float(bead_area(0.2, 0.2)) == pytest.approx(math.pi * 0.01, rel=1e-14)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: bead_area(0.0, 0.4), "layer thickness above 0"),
        (lambda: bead_area(0.3, 0.2), "not below the layer"),
        (lambda: bead_area(math.nan, 0.4), "layer thickness above 0"),
        (lambda: bead_area(0.2, math.nan), "not below the layer"),
        (lambda: bead_width(0.2, 0.001), "at least pi h"),
        (lambda: void_share(0.2, 0.4, 0.0), "pitch above 0"),
        (lambda: void_share(0.2, 0.4, 0.4, -1.0), "flow above 0"),
        (lambda: filament_area(0.0), "filament diameter above 0"),
    ],
)
def test_impossible_sizes_are_refused(call, words):
    """Sizes that no stadium has are named."""
    with pytest.raises(InputError, match=words):
        call()
