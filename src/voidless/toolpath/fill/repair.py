"""
Paths changed where areas alone cannot make melt even.

A bead that is as narrow as allowed and still has too much about it is passed over on part of its way; a gap that no
bead about it can reach gets a short bead of its own. Areas are corrected again afterwards.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from voidless.toolpath.fill.even_rules import DEAD, GAIN, Bools
from voidless.toolpath.fill.spots import with_spots
from voidless.toolpath.fill.sweep import Lattice
from voidless.toolpath.fill.types import PLACE_DIGITS, Fill, Floats, Walk, joined_walks
from voidless.toolpath.moves import Kind

__all__ = ["lacking", "repaired"]

_LEAST = 1.01
"""A bead of up to so much of its least area is as narrow as it may be. [1]"""
_SHORTEST = 0.0075
"""A way that is shorter is not worth being passed over. [pitches]"""
_MOST = 0.7
"""From which share of a piece on it is passed over as a whole. [1]"""
_LACKS = 0.006
"""How much a square lacks before what is free in it is a gap to fill. [1]"""


def repaired(
    walk: Walk, off: Floats, lowest: Floats, alone: Bools, open_places: Bools, lattice: Lattice, fill: Fill
) -> Walk:
    """
    Return a walk without what is laid too much, and with short beads in gaps.

    Parameters
    ----------
    walk : Walk
        Beads with their areas.
    off : (n,) float array
        How much more melt than room there is about each, beyond what counts as nothing. [1]
    lowest : (n,) float array
        Least areas. [mm²]
    alone : (n,) bool array
        Which are short beads between ways on which nothing is laid.
    open_places : (rows, columns) bool array
        Places inside that are free where a square about them lacks too much.
    lattice : Lattice
        The places.
    fill : Fill
        Pitch, nozzle and limits of width.

    Returns
    -------
    walk : Walk
        With more moves where something was changed.
    """
    tight = walk.laid & ~alone & (walk.area_mm2 <= _LEAST * lowest) & (off > DEAD)
    return with_spots(_relieved(walk, off, tight, fill), _gaps(open_places, lattice), fill)


def lacking(off: NDArray[np.float32]) -> Bools:
    """Return where squares lack so much that what is free in them is a gap. [1]"""
    return np.asarray(off < -_LACKS)


def _gaps(open_places: Bools, lattice: Lattice) -> Lattice:
    """Return the lattice with nothing free but gaps."""
    return Lattice(
        open_places.astype(np.uint8), lattice.inside, lattice.turn, lattice.origin_mm, lattice.place_mm
    )


def _relieved(walk: Walk, off: Floats, tight: Bools, fill: Fill) -> Walk:
    """Return a walk that passes over a part of each run of beads that are as narrow as allowed."""
    some = np.flatnonzero(tight)
    if not len(some):
        return walk
    parts, done = [], 0
    for run in np.split(some, np.flatnonzero(np.diff(some) > 1) + 1):
        way = GAIN * float(np.sum(off[run] * walk.area_mm2[run])) / fill.narrowest_mm
        if way >= _SHORTEST * fill.pitch_mm:
            piece = int(run[np.argmax(off[run])])
            parts += [walk.part(done, piece), _passed(walk, piece, way)]
            done = piece + 1
    return joined_walks([*parts, walk.part(done, len(walk.kind))])


def _passed(walk: Walk, piece: int, way_mm: float) -> Walk:
    """Return a bead of which the first part is passed over, all of it where that is most."""
    share = way_mm / float(walk.length_mm[piece])
    one, travel, none = walk.part(piece, piece + 1), np.array([int(Kind.TRAVEL)]), np.zeros(1)
    if share > _MOST:
        return Walk(travel, one.points, none, none)
    middle = (walk.starts[piece] * (1.0 - share) + walk.points[piece] * share).round(PLACE_DIGITS)
    rest = Walk(one.kind, one.points, one.radius_mm, one.area_mm2 * (1.0 - share))
    return joined_walks([Walk(travel, middle[None], none, none), rest])
