"""Paths changed where areas alone cannot make melt even: ways passed over, short beads in gaps, bent walls."""

from dataclasses import replace

import numpy as np
import pytest
from shapely import LineString, Polygon, box

from voidless.toolpath.fill import even, plan
from voidless.toolpath.fill.even_rules import GAIN
from voidless.toolpath.fill.plan import plan_region
from voidless.toolpath.fill.repair import repaired
from voidless.toolpath.fill.sweep import lattice_over
from voidless.toolpath.fill.types import Fill, Walk
from voidless.toolpath.judge import judge_beads
from voidless.toolpath.moves import Kind

FILL = Fill(0.4070796, 0.45, 2, 20.0, 0.4)
PIECE_MM, PIECES = 0.16, 10
STRIP = box(0.0, -0.2, PIECE_MM * PIECES, 0.2)


def _straight():
    """A bead along the middle of a strip, in pieces."""
    points = np.column_stack([PIECE_MM * np.arange(PIECES + 1), np.zeros(PIECES + 1)])
    kind = np.array([int(Kind.TRAVEL), *[int(Kind.CONTOUR)] * PIECES])
    laid = np.minimum(np.arange(PIECES + 1), 1.0)
    return Walk(kind, points, 0.2 * laid, 0.8 * 0.4 * PIECE_MM * laid)


def _repaired(walk, off, lowest, places=()):
    lattice = lattice_over(STRIP, FILL)
    free = np.zeros(lattice.free.shape, bool)
    for place in places:
        column, row = lattice.at(np.array([place]))[0].astype(int)
        free[row - 3 : row + 4, column - 3 : column + 4] = True
    return repaired(walk, off, lowest, np.zeros(len(off), bool), free, lattice, FILL)


@pytest.mark.parametrize("too_much", [0.004, 0.05])
def test_beads_as_narrow_as_allowed_are_passed_over_where_there_is_too_much(too_much):
    """The worst of three tight pieces loses what all have too much, or all of its way; the others stay."""
    walk = _straight()
    off, lowest = np.zeros(PIECES + 1), 0.5 * walk.area_mm2
    off[[4, 5, 6]], lowest[[4, 5, 6]] = [0.9 * too_much, too_much, 0.8 * too_much], walk.area_mm2[4]
    found = _repaired(walk, off, lowest)
    passed = walk.length_mm[walk.laid].sum() - found.length_mm[found.laid].sum()
    wanted = GAIN * 2.7 * too_much * PIECE_MM
    assert passed == pytest.approx(min(wanted, PIECE_MM) if wanted > 0.7 * PIECE_MM else wanted, abs=1e-4)
    gone = np.flatnonzero(~found.laid[1:]) + 1
    assert len(gone) == 1
    assert found.starts[gone[0]] == pytest.approx(walk.starts[5])
    assert np.all(found.points[-1] == walk.points[-1])


def test_beads_that_may_still_become_narrower_are_left():
    """Too much about beads that are wider than the least: their areas do it."""
    walk = _straight()
    found = _repaired(walk, np.full(PIECES + 1, 0.05), 0.8 * walk.area_mm2)
    assert np.array_equal(found.laid, walk.laid)


def test_a_gap_gets_a_short_bead():
    """What stays open beside a bead is laid on a way aside from it, as large as it is."""
    walk = _straight()
    gap = (0.8, 0.1)
    found = _repaired(walk, np.zeros(PIECES + 1), 0.5 * walk.area_mm2, [gap])
    new = np.flatnonzero(found.laid & ~np.isin(found.points[:, 0], walk.points[:, 0]))
    assert len(new) == 1
    assert found.area_mm2[new[0]] == pytest.approx(49.0 * (FILL.pitch_mm / 28.0) ** 2, rel=1e-6)
    assert (found.starts[new[0]] + found.points[new[0]]) / 2.0 == pytest.approx(gap, abs=0.02)


WALL = Polygon([(4, 13), (12.5, 13), (18.5, 9.2), (18.5, 4), (17.5, 4), (17.5, 8.2), (11.5, 12), (4, 12)])
"""A wall that is 1 mm thick, 1.4 mm where it is slanted."""


def _judged(pattern, region):
    starts, bead = np.vstack([pattern.points[:1], pattern.points[:-1]]), pattern.area_mm2 > 0.0
    return judge_beads(starts[bead], pattern.points[bead], pattern.area_mm2[bead], region, 0.4, 0.45)


def test_paths_that_change_make_a_bent_wall_more_even(monkeypatch):
    """Areas alone bring 99.4 % of a wall that bends twice within 1 %: gaps in its corners are out of reach."""
    changed = _judged(plan_region(WALL, FILL, 0.0), WALL).good_share
    monkeypatch.setattr(even, "_REPAIRS", 0)
    assert changed > _judged(plan_region(WALL, FILL, 0.0), WALL).good_share + 0.001


def test_no_gap_where_a_loop_closes_in_a_plank():
    """A bar on edge, 44 x 3.2 mm, thin layers, that had a gap of 0.007 mm2 with beads laid place by place."""
    bar, thin = box(-22.0, -1.6, 22.0, 1.6), Fill(0.4242478, 0.45, 2, 20.0, 0.4)
    verdict = _judged(plan_region(bar, thin, 0.0), bar)
    assert verdict.gap_largest_mm2 < 0.002
    assert verdict.good_share > 0.999


def test_a_stroke_that_its_raster_leaves_uneven_is_laid_in_loops(monkeypatch):
    """An arc as of an embossed digit, 0.9 mm wide, no contour: loops are even, a raster along it is not."""
    turn = np.radians(np.linspace(40.0, 140.0, 41))
    arc = LineString(np.column_stack([2.0 * np.cos(turn), 2.0 * np.sin(turn)])).buffer(0.45, cap_style="flat")
    bare = replace(FILL, contours=0)
    loops = plan_region(arc, bare, 0.0)
    assert not np.any(loops.kind == Kind.RASTER)
    assert _judged(loops, arc).good_share > 0.99
    monkeypatch.setattr(plan, "_SMALL_PITCHES2", 0.0)
    assert _judged(plan_region(arc, bare, 0.0), arc).good_share < 0.95
