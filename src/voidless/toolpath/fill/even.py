"""
Areas corrected until melt is even: beads are laid on a lattice of their own, and those about a place get less or more.

Beads that get what they find free (`sweep.py`) are right one by one; what they lay amiss by thousandths meets where a
loop closes, and at corners. Here all of them are laid again, outside of the region too, and what a square of one bead
width lacks or has too much is given to or taken from the beads in it, round by round. Short beads that stand alone,
ways aside above all, also move towards what lacks. Where that does not do, paths change (`repair.py`).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from voidless.beads.spread import REACH_NOZZLES
from voidless.toolpath.fill.even_rules import (
    DEAD,
    EVEN,
    GAIN,
    LEAST_ROOM,
    LINES,
    MOST_ALONE,
    PIECE,
    PLACES,
    STEP,
    Bools,
    area_limits,
    lone_beads,
    moved_beads,
    parts_of,
)  # fmt: skip
from voidless.toolpath.fill.repair import lacking, repaired
from voidless.toolpath.fill.sweep import Lattice, cut, lattice_over, places_in_order
from voidless.toolpath.fill.types import Fill, Floats, Walk
from voidless.toolpath.region import rings_of

__all__ = ["evened", "evenness"]

Shares = NDArray[np.float32]

_ROUNDS, _REPAIRS = 8, 3
"""Most rounds on places as coarse as they may be, as many on finer ones, and again after each change of paths. [1]"""
_BETTER, _WORSE, _LEAST_GAIN = 1.1, 0.7, 0.25
"""What a round that helped, or did not, makes of the gain, and the least of it: beads that share a square else take
turns in giving it too much and too little. [1]"""
_GOOD = 0.997
"""Share of places about which melt is even enough to stop. [1]"""
_WORTH = 0.0005
"""What more rounds have to bring to be followed by others. [1]"""
_SPOT = 0.018
"""How much a spot lacks that is not left: a void of 0.004 mm² in the square of a bead of 0.45 mm. [1]"""
_WIDE = 0.98
"""Share of a square that is room where spots are looked for: what lacks at the outline is open. [1]"""
_MOST_PLACES = 72.0
"""Places in a pitch, at most. [1]"""
_NUMBER, _LOOK_NUMBER, _FINER = 8e5, 2e6, 1.25
"""Into how many places a region is divided, as long as they are no finer, and for a last look, where that is so much
finer. [1]"""
_FAIR, _ENOUGH = 0.995, 0.991
"""Share of such places from which paths are not changed, and from which nothing more is done at a last look. [1]"""


@dataclass(frozen=True, eq=False)
class _Bed:
    """A lattice: shares of its places inside, spans and square of `square_sums`, what is judged and its room there."""

    lattice: Lattice
    inside: Shares
    spans: NDArray[np.int64]
    half: int
    judged: NDArray[np.bool_]
    room: Shares

    def off(self, more: Shares) -> Shares:
        """Return how far the squares about the places that are judged are off. [1]"""
        return self.squares(more) / self.room

    def at_places(self, values: Any) -> Any:
        """Return values of the places that are judged at all places, nothing elsewhere."""
        all_places = np.zeros(self.inside.shape, values.dtype)
        all_places[self.judged] = values
        return all_places

    def squares(self, values: Shares) -> Shares:
        """Return sums over squares at the places that are judged. [places]"""
        from voidless.toolpath.fill.even_kernel import square_sums  # compiled, slow to import

        sums = np.zeros(self.inside.shape, np.float32)
        square_sums(values, self.spans, self.half, sums)
        return np.asarray(sums[self.judged])

    @property
    def wide(self) -> NDArray[np.bool_]:
        """Which places that are judged have room all about them. [1]"""
        return np.asarray(self.room > _WIDE * self.full)

    @property
    def full(self) -> int:
        """Places of a square. [1]"""
        return (2 * self.half + 1) ** 2


def evened(walk: Walk, region: Any, fill: Fill) -> Walk:
    """
    Return beads with areas corrected so that melt is as even as it can be about every place.

    Parameters
    ----------
    walk : Walk
        Beads with their areas, in order.
    region : shapely Polygon
        What they fill. [mm]
    fill : Fill
        Pitch, widths and nozzle.

    Returns
    -------
    walk : Walk
        The same way in pieces; areas within the limits of width, as far as they were, and together the region's.
    """
    walk = cut(walk, np.full(len(walk.kind), PIECE * fill.pitch_mm))
    walk = _corrected(walk, _bed(region, fill, PLACES), region.area, fill).walk
    fine, finest = (_places(number, region, fill) for number in (_NUMBER, _LOOK_NUMBER))
    best = _settled(walk, _bed(region, fill, fine), region.area, fill, _REPAIRS)
    if finest < _FINER * fine:
        return best.walk
    bed = _bed(region, fill, finest)
    seen = _tried(best.walk, bed, fill)
    if seen.good >= _ENOUGH and not seen.spotty:
        return best.walk
    return max(seen, _settled(seen.walk, bed, region.area, fill, 1), key=_how_good).walk


def evenness(walk: Walk, region: Any, fill: Fill) -> float:
    """Return the share of the places of a region about which melt of a walk is even. [1]"""
    return _tried(walk, _bed(region, fill, _places(_NUMBER, region, fill)), fill).good


def _places(number: float, region: Any, fill: Fill) -> float:
    """Return how many places a pitch is divided into for so many in all, within limits."""
    return float(min(max(math.sqrt(number * fill.pitch_mm**2 / region.area), PLACES), _MOST_PLACES))


@dataclass(frozen=True, eq=False)
class _Try:
    """Beads on a bed, how far squares about places that are judged are off, and which places stay free, 1."""

    walk: Walk
    bed: _Bed
    off: Shares
    free: NDArray[np.uint8]

    @property
    def good(self) -> float:
        """Share of places about which melt is even. [1]"""
        return float(np.mean(np.abs(self.off) <= EVEN))

    @property
    def spotty(self) -> bool:
        """Whether a spot lacks too much to be left. [1]"""
        return bool(np.any(self.off[self.bed.wide] < -_SPOT))


def _how_good(one: _Try) -> float:
    return one.good


def _settled(walk: Walk, bed: _Bed, total_mm2: float, fill: Fill, repairs: int) -> _Try:
    """Return the beads with which melt was most even, paths changed so often at most."""
    best = found = _corrected(walk, bed, total_mm2, fill)
    for _ in range(repairs):
        if found.good >= _FAIR and not found.spotty:
            break
        before, found = found, _corrected(_repaired(found, bed, fill), bed, total_mm2, fill)
        best = max(best, found, key=_how_good)
        if np.array_equal(found.walk.laid, before.walk.laid) and found.good < before.good + _WORTH:
            break
    return best


def _corrected(walk: Walk, bed: _Bed, total_mm2: float, fill: Fill) -> _Try:
    """Return the beads with which melt was most even, of as many tries as there are rounds."""
    alone = lone_beads(walk, fill)
    limits = area_limits(walk, alone, fill)
    best = found = _tried(_scaled(walk, walk.area_mm2, total_mm2), bed, fill)
    gain = GAIN
    for _ in range(_ROUNDS - 1):
        if found.good >= _GOOD:
            break
        walk, beyond = found.walk, _beyond(found.off, bed)
        change = gain * _about(walk, beyond, bed) * parts_of(walk.area_mm2, alone, fill)
        area = np.where(walk.laid, np.clip(walk.area_mm2 - change, *limits), 0.0)
        walk = _scaled(_shifted(walk, alone, area, beyond, bed, fill), area, total_mm2)
        before, found = found, _tried(walk, bed, fill)
        gain = (
            min(GAIN, gain * _BETTER) if found.good >= before.good else max(_LEAST_GAIN * GAIN, gain * _WORSE)
        )
        best = max(best, found, key=_how_good)
    return best


def _repaired(found: _Try, bed: _Bed, fill: Fill) -> Walk:
    """Return beads whose paths are changed where melt is still off."""
    walk = found.walk
    alone = lone_beads(walk, fill)
    open_places = bed.at_places(lacking(found.off)) & (found.free == 1)
    off = _about(walk, _beyond(found.off, bed), bed)
    return repaired(walk, off, area_limits(walk, alone, fill)[0], alone, open_places, bed.lattice, fill)


def _about(walk: Walk, beyond: Shares, bed: _Bed) -> Floats:
    """Return the mean over the square about the middle of each bead. [1]"""
    column, row = bed.lattice.at((walk.starts + walk.points) / 2.0).astype(np.int64).T
    return np.asarray(_mean(beyond, bed)[row, column], dtype=float)


def _scaled(walk: Walk, area_mm2: Floats, total_mm2: float) -> Walk:
    """Return a walk with given areas, together as large as told."""
    return Walk(walk.kind, walk.points, walk.radius_mm, area_mm2 * (total_mm2 / area_mm2.sum()))


def _shifted(walk: Walk, alone: Bools, area_mm2: Floats, beyond: Shares, bed: _Bed, fill: Fill) -> Walk:
    """Return a walk whose short beads lie nearer to what lacks, each as long as its area wants."""
    some, points = np.flatnonzero(alone), walk.points.copy()
    points[some - 1], points[some] = moved_beads(
        walk.points, some, area_mm2[some], beyond, 0.0, bed.inside, bed.lattice, fill
    )
    return Walk(walk.kind, points, walk.radius_mm, walk.area_mm2)


def _bed(region: Any, fill: Fill, places: float) -> _Bed:
    """Return the places of a region, so many in a pitch."""
    from shapely.geometry.polygon import orient

    from voidless.toolpath.fill.even_kernel import mark_shares, square_sums  # compiled, slow to import

    lattice = lattice_over(region, fill, 1.0 / places, MOST_ALONE * fill.pitch_mm)
    inside = np.zeros(lattice.free.shape, np.float32)
    rings = [lattice.at(ring) for ring in rings_of(orient(region))]
    mark_shares(inside, np.vstack([np.hstack([ring[:-1], ring[1:]]) for ring in rings]), LINES)
    half = int(fill.width_mm / lattice.place_mm / 2.0)
    spans = _spans(inside, math.ceil(REACH_NOZZLES * fill.nozzle_mm / lattice.place_mm) + half)
    sums = np.zeros(inside.shape, np.float32)
    square_sums(inside, spans, half, sums)
    judged = inside >= 0.5
    return _Bed(lattice, inside, spans, half, judged, sums[judged])


def _spans(inside: Shares, beyond: int) -> NDArray[np.int64]:
    """Return the columns, from and before, of each row in which there is something inside, or near to it."""
    from scipy.ndimage import maximum_filter1d, minimum_filter1d

    some = inside > 0.0
    columns = some.shape[1]
    first = np.where(some.any(axis=1), some.argmax(axis=1) - beyond, columns)
    last = np.where(some.any(axis=1), columns - some[:, ::-1].argmax(axis=1) + beyond, 0)
    size = 2 * beyond + 1
    first, last = minimum_filter1d(first, size), maximum_filter1d(last, size)
    return np.column_stack([first, np.maximum(first, last)]).astype(np.int64)


def _tried(walk: Walk, bed: _Bed, fill: Fill) -> _Try:
    """Return what comes of beads that are laid."""
    from voidless.toolpath.fill.even_kernel import lay_given  # compiled, slow to import

    place = bed.lattice.place_mm
    lines = np.hstack([bed.lattice.at(walk.starts), bed.lattice.at(walk.points)])
    free, melt = np.ones_like(bed.lattice.free), np.zeros(bed.inside.shape, np.float32)
    steps, distance, first = places_in_order(REACH_NOZZLES * fill.nozzle_mm / place)
    lay_given(free, melt, lines, walk.area_mm2 / place**2, walk.laid, steps, distance, first, STEP)
    melt += 1 - free
    melt -= bed.inside
    return _Try(walk, bed, bed.off(melt), free)


def _beyond(off: Shares, bed: _Bed) -> Shares:
    """Return at all places what is beyond nothing, where it is judged. [1]"""
    return np.asarray(bed.at_places(np.sign(off) * np.maximum(np.abs(off) - DEAD, 0.0)))


def _mean(beyond: Shares, bed: _Bed) -> Shares:
    """Return the mean over squares. [1]"""
    room = np.maximum(bed.room, LEAST_ROOM * bed.full)
    return np.asarray(bed.at_places(bed.squares(beyond) / room))
