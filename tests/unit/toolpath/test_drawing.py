"""Layers as plain segments."""

import numpy as np
import pytest

from voidless.errors import InputError
from voidless.specimens.order import SpecimenOrder
from voidless.toolpath.build import plan_build
from voidless.toolpath.drawing import draw_layer
from voidless.toolpath.moves import Kind


def test_a_layer_of_a_plaque(bench, settings):
    """Segments lie on the plaque, and length times width adds up to its section."""
    path = plan_build([SpecimenOrder("plaque")], settings, bench)
    drawing = draw_layer(path, 3)
    bead = drawing.width_mm > 0.0
    length = np.hypot(*(drawing.segments[:, 1] - drawing.segments[:, 0]).T)
    assert (length * drawing.width_mm)[bead].sum() == pytest.approx(400.0, rel=1e-9)
    inside = np.abs(drawing.segments[bead] - path.placements[0].centre_mm).max()
    assert inside <= 10.0
    assert drawing.height_mm == pytest.approx(0.8)
    assert set(drawing.kind[bead].tolist()) == {Kind.CONTOUR, Kind.RASTER, Kind.TURN}


def test_layers_that_are_not_there(bench, settings):
    """A layer beyond the last, and moves without a thickness, are refused."""
    path = plan_build([SpecimenOrder("plaque")], settings, bench)
    with pytest.raises(InputError, match="layer 15"):
        draw_layer(path, 15)
    with pytest.raises(InputError, match="Pass layer_mm"):
        draw_layer(path.moves, 1)
    assert len(draw_layer(path.moves, 1, 0.2).kind) > 50
