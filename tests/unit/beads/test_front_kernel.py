"""Fronts between cells: no drift to one side, rooms and piles, what cells take under a line."""

import math

import numpy as np
import pytest

from voidless.beads.front_kernel import _covered, lay_beads, lay_line, lay_strip, room_to_work
from voidless.beads.spread import grid_over, spread

NOWHERE = np.zeros((0, 0), np.float32)


def test_shares_under_a_line_add_up_to_the_area_under_it():
    """For slopes of whole numbers, too, whose lines meet few places within a cell (exact, so to rounding)."""
    for p, q in ((0, 1), (1, 1), (1, 3), (2, 3), (3, 4)):
        length = math.hypot(p, q)
        long, short = max(p, q) / length, min(p, q) / length
        for offset in (0.0, 0.17, 0.38, 0.71):
            rows, columns = np.mgrid[-60:60, 0 : max(q, 1) * 4]
            beyond = offset - (rows + 0.5) * (q / length) - (columns + 0.5) * (p / length)
            shares = sum(_covered(float(one), long, short)[0] for one in beyond.ravel())
            along = columns.shape[1]
            height = (
                60.0 + offset * length / q - along * p / (2.0 * q)
            )  # mean height of the line over the lowest row
            assert shares == pytest.approx(along * height, rel=1e-12)


def test_a_share_grows_as_told():
    """How a share grows is its difference over a short way; it rises from nothing to all."""
    for long, short in (
        (1.0, 0.0),
        (0.8, 0.6),
        (math.sqrt(0.5), math.sqrt(0.5)),
        (0.99, math.sqrt(1 - 0.99**2)),
    ):
        beyond = np.linspace(-0.8, 0.8, 33) + 1e-3
        shares = np.array([_covered(one, long, short) for one in beyond])
        ahead = np.array([_covered(one + 1e-7, long, short)[0] for one in beyond])
        np.testing.assert_allclose((ahead - shares[:, 0]) / 1e-7, shares[:, 1], atol=2e-6)
        assert shares[0, 0] == 0.0
        assert shares[-1, 0] == 1.0
        assert np.all(np.diff(shares[:, 0]) >= 0.0)


@pytest.mark.parametrize("angle", [0.0, 18.4349, 30.0, 45.0, 60.0, 71.0, 90.0])
def test_melt_of_a_bead_does_not_drift_to_a_side(angle):
    """The middle of its strip lies on its path within 0.02 um on cells of 10 um, whatever its direction."""
    way = np.array([math.cos(math.radians(angle)), math.sin(math.radians(angle))])
    start, cell, width = np.array([0.0031, 0.0017]), 0.01, 0.407
    end = start + 20.0 * way
    low, high = np.minimum(start, end), np.maximum(start, end)
    grid = grid_over((*low, *(high + 1e-6)), 1.0, cell)
    fill = spread(start[None], end[None], np.array([width * 20.0]), grid, 0.5).astype(float)
    row, column = np.nonzero(fill)
    x, y = grid.x_mm + (column + 0.5) * cell - start[0], grid.y_mm + (row + 0.5) * cell - start[1]
    along, aside = x * way[0] + y * way[1], y * way[0] - x * way[1]
    middle = (along > 3.0) & (along < 17.0)
    moment = np.sum((fill[row, column] * aside)[middle]) * cell**2 / 14.0  # mm³ a mm: middle times width
    assert abs(moment / width) < 2e-5


def test_one_bead_in_parts_is_one_bead():
    """Cut anywhere, a bead lays the same, within what a portion of melt is: fronts go on from piece to piece."""
    lines = np.array([[40.0, 40.0, 140.0, 52.0]])
    cuts = np.array([0.0, 0.13, 0.5, 0.77, 1.0])
    ends = lines[0, :2] + cuts[:, None] * (lines[0, 2:] - lines[0, :2])
    whole, parts = (np.zeros((100, 190), np.float32) for _ in range(2))
    lay_beads(whole, NOWHERE, lines, np.array([2600.0]), 34.0, 1.0)
    lay_beads(parts, NOWHERE, np.hstack([ends[:-1], ends[1:]]), 2600.0 * np.diff(cuts), 34.0, 1.0)
    assert parts.sum(dtype=float) == pytest.approx(2600.0, rel=1e-5)
    assert np.abs(parts - whole).sum() < 26.0


def test_a_front_from_the_other_side_fills_what_is_left():
    """A row of cells that is three tenths full from one side is filled from the other, and nothing beyond."""
    fill = np.zeros((100, 240), np.float32)
    fill[:40], fill[40] = 1.0, 0.3
    lay_beads(fill, NOWHERE, np.array([[30.0, 50.3, 220.0, 50.3]]), np.array([20.05 * 190.0]), 30.0, 1.0)
    assert (
        fill[40:60, 130:200].min() > 0.99
    )  # a bead begins round: it is as wide as it stays after five widths
    assert fill[60, 130:200] == pytest.approx(0.3, abs=0.1)
    assert fill.max() <= 1.0 + 1e-5


def test_melt_is_laid_when_the_nozzle_has_come_so_far():
    """In a channel, the front is ahead by the same melt whether it is laid in long or in short portions."""
    rooms = np.zeros((80, 300), np.float32)
    rooms[30:50] = 1.0  # a channel 20 cells wide, closed behind
    rooms[:, :20] = 0.0
    ahead = []
    for step in (0.25, 2.0):
        fill = np.zeros_like(rooms)
        lay_beads(fill, rooms, np.array([[30.0, 40.0, 200.0, 40.0]]), np.array([20.0 * 195.0]), 34.0, step)
        ahead.append(fill[:, 200:].sum(dtype=float) / 20.0)
    assert (
        ahead[0] > 195.0 - 180.0
    )  # 170 on the way and 10 behind its begin, as far as a small front gets there
    assert ahead[1] == pytest.approx(ahead[0], abs=0.06)


@pytest.mark.parametrize("angle", [0.0, 31.7175, 45.0, 80.0])
def test_a_strip_is_what_portions_come_to(angle):
    """Beside a bead that is there, melt laid at once after some laid in portions lies where all in portions does."""
    way = np.array([math.cos(math.radians(angle)), math.sin(math.radians(angle))])
    aside = np.array([-way[1], way[0]])
    start, before = np.array([140.3, 60.2]), np.zeros((300, 380), np.float32)
    first = np.hstack([start, start + 200.0 * way])[None]
    lay_beads(before, NOWHERE, first, np.array([4000.0]), 34.0, 1.0)
    ends = start + 20.0 * aside + np.array([[30.0], [120.0], [150.0], [180.0]]) * way
    laid = []
    for strip in (False, True):
        fill, state = before.copy(), np.zeros(6)
        given, when = np.zeros_like(fill), np.full(fill.shape, -1_000_000_000, np.int32)
        for piece in range(3):
            line = np.hstack([ends[piece], ends[piece + 1]])
            area = 20.0 * float(np.hypot(*(ends[piece + 1] - ends[piece])))
            rest = (34.0, 1.0, state)
            if piece == 1 and strip:
                assert lay_strip(fill, given, when, line, area, *rest)
            else:
                lay_line(fill, NOWHERE, given, when, line, area, *rest, *room_to_work(34.0))
        assert fill.sum(dtype=float) == pytest.approx(4000.0 + 3000.0, abs=0.1)
        laid.append(fill)
    assert np.abs(laid[1] - laid[0]).sum() < 0.005 * 3000.0
    assert np.abs(laid[1] - laid[0]).max() < 0.25


def test_a_strip_that_would_be_none_is_refused():
    """Where another bead leaves half of the room, portions have to look closer."""
    fill = np.zeros((120, 200), np.float32)
    fill[50:60] = 1.0  # one half of its room is taken
    given, when = np.zeros_like(fill), np.full(fill.shape, -1_000_000_000, np.int32)
    line = np.array([60.0, 60.0, 140.0, 60.0])
    assert not lay_strip(fill, given, when, line, 20.0 * 80.0, 34.0, 1.0, np.zeros(6))
    assert fill.sum() == 2000.0


def test_what_finds_no_room_lies_under_the_nozzle():
    """With a reach of six cells, what is more than the disc holds is piled up within three."""
    fill = np.zeros((40, 40), np.float32)
    given, when = np.zeros_like(fill), np.full(fill.shape, -1_000_000_000, np.int32)
    line = np.array([20.0, 20.0, 20.5, 20.0])
    lay_line(fill, NOWHERE, given, when, line, 300.0, 6.0, 1.0, np.zeros(6), *room_to_work(6.0))
    assert fill.sum(dtype=float) == pytest.approx(300.0, rel=1e-5)
    over = np.argwhere(fill > 1.001)
    assert np.hypot(*(over + 0.5 - (20.0, 20.25)).T).max() <= 3.0
    assert fill[fill > 1.001].sum() > 28.0
