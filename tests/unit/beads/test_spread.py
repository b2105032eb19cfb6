"""Melt that spreads: volume is conserved, a bead alone is a strip about its path, neighbours bound it."""

import numpy as np
import pytest

from voidless.beads.spread import grid_over, spread
from voidless.errors import InputError

GRID = grid_over((0.0, 0.0, 6.0, 3.0), 1.0, 0.02)


def _row(fill, y_mm):
    return fill[int((y_mm - GRID.y_mm) / GRID.cell_mm)]


def _bead(x0, y0, x1, y1, area):
    return np.array([[x0, y0]]), np.array([[x1, y1]]), np.array([area])


def test_volume_is_conserved():
    """What is fed is found again, whether it has room or not."""
    rng = np.random.default_rng(4)
    starts, ends = rng.uniform((0.0, 0.0), (6.0, 3.0), (2, 40, 2))
    area = rng.uniform(0.0, 1.0, 40)
    fill = spread(starts, ends, area, GRID, 0.5)
    assert fill.sum(dtype=float) * GRID.cell_mm**2 == pytest.approx(area.sum(), rel=1e-5)  # 32-bit cells


def test_a_bead_alone_is_a_strip_about_its_path():
    """Far from its start a bead of 0.4 mm² per mm is 0.4 mm wide, half on either side."""
    fill = spread(*_bead(0.0, 1.5, 6.0, 1.5, 0.4 * 6.0), GRID, 0.5)
    across = fill[:, int((4.0 - GRID.x_mm) / GRID.cell_mm)]
    middles = GRID.y_mm + (np.arange(GRID.rows) + 0.5) * GRID.cell_mm
    assert across.sum() * GRID.cell_mm == pytest.approx(0.4, abs=0.01)
    assert np.average(middles, weights=across) == pytest.approx(1.5, abs=0.01)


@pytest.mark.parametrize("angle", [0.0, 30.0, 45.0, 71.0])
def test_width_does_not_depend_on_direction(angle):
    """The strip of a bead is as wide in every direction, within a cell."""
    way = np.array([np.cos(np.radians(angle)), np.sin(np.radians(angle))])
    grid = grid_over((-3.0, -3.0, 3.0, 3.0), 1.0, 0.01)
    fill = spread(-3.0 * way[None], 3.0 * way[None], np.array([0.4 * 6.0]), grid, 0.5)
    y, x = (np.indices(grid.shape) + 0.5) * grid.cell_mm + np.array([grid.y_mm, grid.x_mm])[:, None, None]
    off, along = x * way[1] - y * way[0], x * way[0] + y * way[1]
    middle = (along > 0.0) & (along < 2.0) & (fill > 0.5)
    assert np.abs(off[middle]).max() == pytest.approx(0.2, abs=0.015)


def test_a_neighbour_bounds_a_bead():
    """A second bead 0.3 mm beside the first finds room only on its far side."""
    starts, ends = np.array([[0.0, 1.0], [0.0, 1.3]]), np.array([[6.0, 1.0], [6.0, 1.3]])
    both = spread(starts, ends, np.array([2.4, 2.4]), GRID, 0.6)
    column = both[:, int((4.0 - GRID.x_mm) / GRID.cell_mm)]
    filled = GRID.y_mm + np.flatnonzero(column > 0.5) * GRID.cell_mm
    assert column.max() == pytest.approx(1.0)
    assert filled.min() == pytest.approx(0.8, abs=0.03)
    assert filled.max() == pytest.approx(1.6, abs=0.03)


def test_what_finds_no_room_is_over_fill():
    """With no room within reach melt piles up under the nozzle, and nowhere else."""
    room = np.zeros(GRID.shape, dtype=np.float32)
    fill = spread(*_bead(2.0, 1.5, 3.0, 1.5, 0.1), GRID, 0.4, room)
    assert fill.sum(dtype=float) * GRID.cell_mm**2 == pytest.approx(0.1, rel=1e-5)
    assert np.all(_row(fill, 1.5 + 0.25) == 0.0)
    assert _row(fill, 1.5).max() > 0.1


def test_room_may_be_deeper():
    """Where there is room for half as much again, a cell takes it before melt moves on."""
    room = np.full(GRID.shape, 1.5, dtype=np.float32)
    fill = spread(*_bead(0.0, 1.5, 6.0, 1.5, 0.4 * 6.0), GRID, 0.5, room)
    across = fill[:, int((4.0 - GRID.x_mm) / GRID.cell_mm)]
    assert across.max() == pytest.approx(1.5)
    assert (across > 0.75).sum() * GRID.cell_mm == pytest.approx(0.4 / 1.5, abs=0.03)


@pytest.mark.parametrize(
    ("area", "reach", "x", "words"),
    [
        (-1.0, 0.5, 3.0, "not below 0"),
        (np.nan, 0.5, 3.0, "not below 0"),
        (1.0, 0.01, 3.0, "two cells"),
        (1.0, 0.5, 9.0, "leaves the grid"),
    ],
)
def test_senseless_beads_are_refused(area, reach, x, words):
    """Negative volumes, no reach, beads off the grid, and NaN."""
    with pytest.raises(InputError, match=words):
        spread(*_bead(0.0, 1.5, x, 1.5, area), GRID, reach)


def test_a_box_that_is_none_is_refused():
    """A grid needs a box and a cell; a box without depth needs its margin."""
    for box, margin in (((0.0, 0.0, 0.0, 1.0), 0.0), ((1.0, 0.0, 0.0, 1.0), 1.0)):
        with pytest.raises(InputError, match="a box and a cell"):
            grid_over(box, margin, 0.1)
    assert grid_over((0.0, 0.0, 0.0, 1.0), 1.0, 0.1).shape == (31, 21)
