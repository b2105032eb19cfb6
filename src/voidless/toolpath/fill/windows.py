"""
Areas corrected where melt is off, in windows: cost grows with what is wrong, not with the size of a region.

Beads along the edges of a region (contours, ends of the raster) are laid again on a lattice of their own, the straight
ones between them just fill their strips. Where a square of one bead width lacks or has too much, the beads about it are
taken up and laid again with areas corrected, round by round, while all others stay. Then all are laid anew, since
what a window changes moves on along a loop to where it closes.
"""

from __future__ import annotations

from dataclasses import dataclass
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
from voidless.toolpath.fill.strip import Beads, Strip, grown, strip_over
from voidless.toolpath.fill.sweep import cut
from voidless.toolpath.fill.types import Fill, Floats, Walk
from voidless.toolpath.moves import Kind

__all__ = ["mended"]

Integers = NDArray[np.int64]

_PASSES = 4
"""How often all beads are laid, at most. [1]"""
_ROUNDS, _PATIENCE = 10, 3
"""Most rounds in a window, and most of them that bring nothing. [1]"""
_GOOD = 0.995
"""Share of the region about which melt is even enough to leave all but spots as they are. [1]"""
_SPOT = 0.018
"""How far off a spot is that is not left: a void of 0.004 mm² in the square of a bead of 0.45 mm. [1]"""
_AWAY = 0.5
"""Longer pieces of the raster lie away from its ends. [pitches]"""
_BESIDE = 0.75
"""How far from the outline a contour is the outermost: melt that finds its way on a lattice drifts to one side by up to
1 µm, and what it lays outside lacks where loops close. [pitches]"""
_PLAIN = 1e-6
"""How far the area of a bead that just fills its strip may be from length times width. [1]"""
_ABOUT, _BEYOND = 2, 3
"""Tiles about what is off whose beads are corrected, and tiles about those in which it is looked what comes of it."""


@dataclass(frozen=True, eq=False)
class _Job:
    """What windows share; `points` are changed in place. [mm]"""

    strip: Strip
    beads: Beads
    points: Floats
    near: Integers
    alone: Bools
    limits: tuple[Floats, Floats]
    fill: Fill

    def state(self, chosen: Integers) -> tuple[Floats, ...]:
        """Return what rounds change of some beads."""
        before = np.maximum(chosen - 1, 0)
        return self.beads.area[chosen], self.beads.lines[chosen], self.points[before], self.points[chosen]

    def restore(self, chosen: Integers, state: tuple[Floats, ...]) -> None:
        """Set some beads back."""
        lone = self.alone[chosen]
        self.beads.area[chosen], self.beads.lines[chosen] = state[:2]
        self.points[chosen[lone] - 1], self.points[chosen[lone]] = state[2][lone], state[3][lone]


def mended(walk: Walk, region: Any, fill: Fill) -> Walk:
    """
    Return beads with areas corrected where melt is not even.

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
        The same paths in shorter pieces, areas within the limits; they sum to the region's.
    """
    walk = cut(walk, np.where(_filling(walk, fill), np.inf, PIECE * fill.pitch_mm))
    away, alone = _filling(walk, fill), lone_beads(walk, fill)
    near, laid = np.flatnonzero(walk.laid & ~away), np.flatnonzero(walk.laid)
    strip = strip_over(region, fill, (walk.starts + walk.points)[near] / 2.0)
    place, nothing = strip.lattice.place_mm, np.zeros((2, len(away)))
    lines = np.hstack([strip.lattice.at(walk.starts), strip.lattice.at(walk.points)])
    radius = np.where(away, walk.radius_mm / place, -1.0 * _outermost(walk, region, fill))
    beads = Beads(lines, walk.area_mm2 / place**2, radius, nothing[0], nothing[1])
    lowest, highest = area_limits(walk, alone, fill)
    limits = (lowest / place**2, highest / place**2)
    job = _Job(strip, beads, walk.points.copy(), near, alone, limits, fill)
    area, points = _best(job, laid, region.area / place**2)
    return Walk(walk.kind, points, walk.radius_mm, area * place**2)


def _filling(walk: Walk, fill: Fill) -> Bools:
    """Return which beads are plain ones of the raster away from its ends."""
    plain = 2.0 * walk.radius_mm * walk.length_mm
    far = (walk.kind == Kind.RASTER) & (walk.length_mm > _AWAY * fill.pitch_mm)
    return np.asarray(walk.laid & far & (np.abs(walk.area_mm2 - plain) <= _PLAIN * plain))


def _outermost(walk: Walk, region: Any, fill: Fill) -> Bools:
    """Return which beads run along the outline, with nothing beside them when they are laid."""
    from shapely import distance, points, prepare

    found, outline = walk.laid & (walk.kind == Kind.CONTOUR), region.boundary
    prepare(outline)
    middles = (walk.starts + walk.points)[found] / 2.0
    found[found] = distance(points(middles), outline) < _BESIDE * fill.pitch_mm
    return np.asarray(found)


def _best(job: _Job, laid: Integers, total: float) -> tuple[Floats, Floats]:
    """Return areas [places] and points [mm] with which melt was most even."""
    strip, beads = job.strip, job.beads
    wanted, given = strip.spans(strip.looked), strip.spans(grown(strip.looked, 1))
    least, best = np.inf, (beads.area, job.points)
    for number in range(_PASSES):
        beads.area[job.near] *= 1.0 + (total - beads.area.sum()) / beads.area[job.near].sum()
        strip.clear(beads, job.near)
        strip.lay(beads, laid)
        score, uneven = strip.compare(strip.looked, wanted, given)
        if score < least:
            least, best = score, (beads.area.copy(), job.points.copy())
        level = EVEN if uneven > (1.0 - _GOOD) * total else _SPOT
        if number == _PASSES - 1 or not (strip.worst > level).any():
            break
        _mend(job, level)
    return best


def _mend(job: _Job, level: float) -> None:
    """Correct beads in windows about all places that are further off than told."""
    from scipy.ndimage import label

    strip = job.strip
    windows, number = label(grown(strip.worst > level, _ABOUT), structure=np.ones((3, 3)))
    of_bead = windows[strip.tile_of(job.beads.middles[job.near])]
    order = np.argsort(of_bead, kind="stable")
    ends = np.searchsorted(of_bead[order], np.arange(1, number + 2))
    for window in range(1, number + 1):
        chosen = job.near[order[ends[window - 1] : ends[window]]]
        if len(chosen):
            _mend_window(job, chosen, windows == window, level)


def _mend_window(job: _Job, chosen: Integers, window: Bools, level: float) -> None:
    """Correct some beads, round by round, and keep the best."""
    strip, beads = job.strip, job.beads
    looked = grown(window, _BEYOND) & strip.looked
    wanted, given = strip.spans(looked), strip.spans(grown(looked, 1))
    least, _ = strip.compare(looked, wanted, given)
    best, kept, number = job.state(chosen), 0, 0
    while number < min(_ROUNDS, kept + _PATIENCE) and strip.worst[looked].max() > level:
        number += 1
        area, shifted = _corrected(job, chosen)
        strip.lift(beads, chosen, given)
        beads.area[chosen] = area
        _shift(job, shifted)
        strip.lay(beads, chosen)
        score, _ = strip.compare(looked, wanted, given)
        if score < least:
            least, best, kept = score, job.state(chosen), number
    if kept < number:
        strip.lift(beads, chosen, given)
        job.restore(chosen, best)
        strip.lay(beads, chosen)
        strip.compare(looked, wanted, given)


def _corrected(job: _Job, chosen: Integers) -> tuple[Floats, Any]:
    """Return areas of beads [places], and where the short ones among them go, as they correct what is off."""
    area, place2 = job.beads.area[chosen], job.strip.lattice.place_mm**2
    parts = parts_of(area * place2, job.alone[chosen], job.fill) / place2
    area = area - GAIN * job.strip.means(job.beads.middles[chosen]) * parts
    area = np.clip(area, job.limits[0][chosen], job.limits[1][chosen])
    lone = job.alone[chosen]
    some = chosen[lone]
    ends = moved_beads(
        job.points,
        some,
        area[lone] * place2,
        job.strip.off,
        DEAD,
        job.strip.room,
        job.strip.lattice,
        job.fill,
    )
    return area, (some, *ends)


def _shift(job: _Job, shifted: tuple[Integers, Floats, Floats]) -> None:
    """Move short beads."""
    some, starts, ends = shifted
    lattice = job.strip.lattice
    job.points[some - 1], job.points[some] = starts, ends
    job.beads.lines[some] = np.hstack([lattice.at(starts), lattice.at(ends)])
