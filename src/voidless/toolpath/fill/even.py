"""
Areas corrected until melt is even about every place.

What beads find free they are given without looking back: a bead that is laid later pushes melt aside, a corner takes
more, and what all that comes to shows where loops close. So beads are laid again, this time with the places outside of
the outline too, and melt is compared with room in a square of one bead width about every place near edges and ends of
beads. A piece gets less where there is too much about it and more where there is too little, round by round. In small
regions paths change where that does not do (`repair.py`).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from voidless.toolpath.fill.even_rules import (
    DEAD,
    EVEN,
    GAIN,
    PIECE,
    Bools,
    area_limits,
    lone_beads,
    moved_beads,
    parts_of,
)
from voidless.toolpath.fill.repair import lacking, repaired
from voidless.toolpath.fill.strip import Beads, Strip, grown, strip_over
from voidless.toolpath.fill.sweep import cut
from voidless.toolpath.fill.types import Fill, Floats, Walk
from voidless.toolpath.moves import Kind

__all__ = ["CAREFUL", "evened", "evenness"]

Integers = NDArray[np.int64]

_ROUNDS, _PATIENCE = (30, 12), (8, 4)
"""Most rounds, and most of them that bring nothing, in regions that are small and in others. [1]"""
_REPAIRS, _WORTH = 3, 0.0005
"""How often paths of small regions are changed at most, and what it has to bring to be done again. [1]"""
CAREFUL = 1000.0
"""Small regions: ends and corners are many there, and a round is quick. [pitches squared]"""
_CALM, _CALMEST = 0.8, 0.5
"""By how much less beads are corrected after a round that brought nothing, and how little at last. [1]"""
_GOOD = 0.001
"""Share of the region about which melt may be uneven for no more rounds, if no spot is left. [1]"""
_SPOT = (0.012, 0.018)
"""How far off a spot is that is not left, in small regions and in others: there a void of 0.004 mm² in the square of a
bead of 0.45 mm. [1]"""
_AWAY = 0.5
"""Longer pieces of the raster lie away from its ends. [pitches]"""
_KEPT = 4
"""How many pieces of a straight bead, about a pitch long, are laid as carefully as its ends, on each side. [1]"""
_PLAIN = 1e-6
"""How far the area of a bead of the raster may be from length times width to be one that is not corrected. [1]"""
_ABOUT = 2
"""Tiles about what is off whose beads are corrected. [1]"""
_OPEN = 0.5
"""A place that is filled to less than this is part of a gap. [1]"""


@dataclass(frozen=True, eq=False)
class _Job:
    """What rounds share; `points` are changed in place. [mm]"""

    strip: Strip
    beads: Beads
    points: Floats
    near: Integers
    alone: Bools
    limits: tuple[Floats, Floats]
    fill: Fill
    total: float

    def off_about(self, beads: Any) -> Floats:
        """Return the mean of what is off over the squares about the middles of beads. [1]"""
        return self.strip.means(self.beads.middles[beads])


@dataclass(frozen=True, eq=False)
class _Found:
    """Beads with which melt was most even, what they were found with, for what share of the region it was so, whether
    nothing is left to do, and whether a spot lacks so much that it is a void.
    """

    walk: Walk
    job: _Job
    good: float
    done: bool
    lacks: bool


def evened(walk: Walk, region: Any, fill: Fill) -> Walk:
    """
    Return beads with areas corrected so that melt is as even as it can be about every place.

    Parameters
    ----------
    walk : Walk
        Beads in order, with areas, ways aside included.
    region : shapely Polygon
        What they fill. [mm]
    fill : Fill
        Pitch, width, and limits of width.

    Returns
    -------
    walk : Walk
        Beads in pieces; areas within the limits of width, as far as they were, and together the region's.
    """
    walk = cut(walk, np.where(_plain(walk, fill), np.inf, PIECE * fill.pitch_mm))
    small = region.area <= CAREFUL * fill.pitch_mm**2
    best = found = _corrected(walk, region, fill, small)
    for _ in range(_REPAIRS):
        if found.done or not (small or found.lacks):
            break
        before, found = found, _corrected(_repaired(found), region, fill, small)
        best = max(best, found, key=lambda one: one.good)
        if np.array_equal(found.walk.laid, before.walk.laid) and found.good < before.good + _WORTH:
            break
    return best.walk


def evenness(walk: Walk, region: Any, fill: Fill) -> float:
    """Return the share of a small region about which melt of a walk is even. [1]"""
    job = _job(cut(walk, np.full(len(walk.kind), PIECE * fill.pitch_mm)), region, fill)
    job.strip.lay(job.beads, np.flatnonzero(job.beads.area > 0.0))
    return 1.0 - job.strip.compare()[1] / job.total


def _plain(walk: Walk, fill: Fill) -> Bools:
    """Return which beads are plain ones of the raster away from its ends."""
    plain = 2.0 * walk.radius_mm * walk.length_mm
    far = (walk.kind == Kind.RASTER) & (walk.length_mm > _AWAY * fill.pitch_mm)
    return np.asarray(walk.laid & far & (np.abs(walk.area_mm2 - plain) <= _PLAIN * plain))


def _far(plain: Bools) -> Bools:
    """Return which plain beads have as many more on both sides as keep them from what ends do."""
    from scipy.ndimage import binary_erosion

    return np.asarray(binary_erosion(plain, np.ones(2 * _KEPT + 1, bool), border_value=0))


def _job(walk: Walk, region: Any, fill: Fill) -> _Job:
    """Return beads on places where nothing is laid."""
    away, alone = _plain(walk, fill), lone_beads(walk, fill)
    near = np.flatnonzero(walk.laid & ~away)
    strip = strip_over(region, fill, (walk.starts + walk.points)[near] / 2.0)
    place = strip.lattice.place_mm
    lines = np.hstack([strip.lattice.at(walk.starts), strip.lattice.at(walk.points)])
    lowest, highest = area_limits(walk, alone, fill)
    limits = (lowest / place**2, highest / place**2)
    beads = Beads(lines, walk.area_mm2 / place**2, _far(away))
    return _Job(strip, beads, walk.points.copy(), near, alone, limits, fill, region.area / place**2)


def _corrected(walk: Walk, region: Any, fill: Fill, small: bool) -> _Found:
    """Return the beads with which melt was most even, of as many tries as there are rounds."""
    job = _job(walk, region, fill)
    strip, beads, laid = job.strip, job.beads, np.flatnonzero(walk.laid)
    one = 0 if small else 1
    rounds, patience, spot = _ROUNDS[one], _PATIENCE[one], _SPOT[one]
    least, best, kept, gain, done = np.inf, (beads.area, job.points, 0, 0.0), 0, GAIN, False
    for number in range(rounds):
        beads.area[job.near] *= 1.0 + (job.total - beads.area.sum()) / beads.area[job.near].sum()
        strip.lay(beads, laid)
        score, uneven = strip.compare()
        if score < least:
            lowest = float(strip.off.min())
            least, best, kept = score, (beads.area.copy(), job.points.copy(), uneven, lowest), number
        done = uneven <= _GOOD * job.total and not (strip.worst > spot).any()
        if done or number == rounds - 1 or number - kept >= patience:
            break
        if kept < number:
            gain = max(_CALM * gain, _CALMEST)
        _correct(job, gain)
    area, points, uneven, lowest = best
    area[job.near] = _within(area[job.near], job.limits[1][job.near])
    walk = Walk(walk.kind, points, walk.radius_mm, area * strip.lattice.place_mm**2)
    return _Found(walk, job, 1.0 - uneven / job.total, done, lowest < -_SPOT[1])


def _within(area: Floats, highest: Floats) -> Floats:
    """Return areas none of which is above its limit, as scaling may carry some; the others get what was above."""
    room = highest - area
    over, rest = -room[room < 0.0].sum(), np.maximum(room, 0.0)
    if not 0.0 < over < rest.sum():
        return area
    return np.asarray(np.minimum(area, highest) + rest * (over / rest.sum()))


def _correct(job: _Job, gain: float) -> None:
    """Correct beads about places that are not even: areas, and where the short ones among them lie."""
    row, column = job.strip.tile_of(job.beads.middles[job.near])
    chosen = job.near[grown(job.strip.worst > EVEN, _ABOUT)[row, column]]
    place2, lone = job.strip.lattice.place_mm**2, job.alone[chosen]
    area = job.beads.area[chosen]
    parts = parts_of(area * place2, lone, job.fill) / place2
    area = np.clip(area - gain * job.off_about(chosen) * parts, job.limits[0][chosen], job.limits[1][chosen])
    some, lattice = chosen[lone], job.strip.lattice
    starts, ends = moved_beads(
        job.points, some, area[lone] * place2, job.strip.off, DEAD, job.strip.room, lattice, job.fill
    )
    job.beads.area[chosen] = area
    job.points[some - 1], job.points[some] = starts, ends
    job.beads.lines[some] = np.hstack([lattice.at(starts), lattice.at(ends)])


def _repaired(found: _Found) -> Walk:
    """Return beads whose paths are changed where melt is still off."""
    again = _job_again(found)
    strip, fill = again.strip, again.fill
    inside = strip.share >= 0.5
    lattice = replace(strip.lattice, inside=inside.astype(np.uint8))
    gaps = inside & lacking(strip.off) & (strip.fill < _OPEN)
    off, lowest = np.zeros(len(found.walk.kind)), again.limits[0] * lattice.place_mm**2
    off[again.near] = again.off_about(again.near)
    return repaired(found.walk, off, lowest, again.alone, gaps, lattice, fill)


def _job_again(found: _Found) -> _Job:
    """Return the job with the best beads laid, not the last ones."""
    lattice, walk = found.job.strip.lattice, found.walk
    lines = np.hstack([lattice.at(walk.starts), lattice.at(walk.points)])
    beads = Beads(lines, walk.area_mm2 / lattice.place_mm**2, found.job.beads.away)
    found.job.strip.lay(beads, np.flatnonzero(walk.laid))
    found.job.strip.compare()
    return replace(found.job, beads=beads, points=walk.points)
