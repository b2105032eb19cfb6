"""Paths of a region -> beads that fill it: areas from what they find free, what is left over."""

from __future__ import annotations

from typing import Any

import numpy as np

from voidless.toolpath.fill.even import CAREFUL, evened
from voidless.toolpath.fill.spots import with_spots
from voidless.toolpath.fill.sweep import cut, laid_walk, lattice_over
from voidless.toolpath.fill.types import Fill, Walk
from voidless.toolpath.moves import Kind

__all__ = ["filled"]

_PIECE, _END_PIECE, _LONG_PIECE = 0.4, 0.2, 1.0
"""Longest piece that has an area of its own: of a contour, of a raster near its ends, and away from them. [pitches]"""
_LONG = 2.0
"""From which length a bead of the raster is away from its ends. [pitches]"""
_LEEWAY, _FINE_LEEWAY = 0.008, 0.001
"""How much area a move may lay too early or too late where pieces are joined again, and where areas were corrected.
[pitches squared]"""
_STRAIGHT_MM = 0.0003
"""How far a move may leave the path it stands for. [mm]"""


def filled(walk: Walk, region: Any, fill: Fill) -> Walk:
    """
    Return beads that fill a region along given paths.

    Parameters
    ----------
    walk : Walk
        Paths in order, with the radius that each is to reach.
    region : shapely Polygon
        What they fill. [mm]
    fill : Fill
        Pitch, nozzle and limits of width.

    Returns
    -------
    walk : Walk
        The same paths, with ways on which nothing is laid where a bead would be narrower than 0.8 nozzle diameters,
        and short ways aside to what the paths leave open; areas sum to the region's.
    """
    if not fill.even:
        plain = 2.0 * np.minimum(walk.radius_mm, fill.pitch_mm / 2.0) * walk.length_mm
        plain *= region.area / plain.sum()
        return _joined(Walk(walk.kind, walk.points, walk.radius_mm, plain), _LEEWAY * fill.pitch_mm**2)
    raster = np.where(walk.length_mm > _LONG * fill.pitch_mm, _LONG_PIECE, _END_PIECE)
    pieces = cut(walk, np.where(walk.kind == Kind.CONTOUR, _PIECE, raster) * fill.pitch_mm)
    lattice = lattice_over(region, fill)
    laid = with_spots(laid_walk(pieces, lattice, fill), lattice, fill)
    leeway = _LEEWAY
    if fill.mended or region.area <= CAREFUL * fill.pitch_mm**2:
        laid, leeway = evened(laid, region, fill), _FINE_LEEWAY
    laid = _joined(laid, leeway * fill.pitch_mm**2)
    return Walk(laid.kind, laid.points, laid.radius_mm, laid.area_mm2 * (region.area / laid.area_mm2.sum()))


def _joined(walk: Walk, leeway_mm2: float) -> Walk:
    """Return a walk whose straight, even pieces are one move again."""
    from voidless.toolpath.fill.ring_kernel import thinned  # compiled, slow to import

    changes = (np.diff(walk.kind) != 0) | (walk.kind[1:] == Kind.TRAVEL)
    ends = np.append(np.flatnonzero(changes), len(walk.kind) - 1)
    keep, begin = [], 0
    for end in ends.tolist():
        if end == begin:
            keep.append(np.array([begin]))
        else:
            points = walk.points[begin - 1 : end + 1]
            kept = thinned(points, walk.area_mm2[begin : end + 1], _STRAIGHT_MM, leeway_mm2)
            keep.append(begin - 1 + kept[1:])
        begin = end + 1
    chosen = np.concatenate(keep)
    begins = np.concatenate([[0], chosen[:-1] + 1])
    area = np.add.reduceat(walk.area_mm2, begins)
    return Walk(walk.kind[chosen], walk.points[chosen], walk.radius_mm[chosen], area)
