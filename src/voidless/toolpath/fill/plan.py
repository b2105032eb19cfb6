"""
A region as contours and raster whose volumes fill it exactly.

First all contours but the innermost, then the raster among free room, last the innermost contour in the
channel that is left between the two: its width follows what the raster leaves open, and all about it is laid,
so its melt has nowhere to go but there.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import takewhile
from math import ceil
from typing import Any

import numpy as np

from voidless.errors import InputError
from voidless.toolpath.fill.contours import edges_of, far_corner, lay_contour
from voidless.toolpath.fill.even import evenness
from voidless.toolpath.fill.raster import lay_raster
from voidless.toolpath.fill.spine import lay_spine
from voidless.toolpath.fill.types import PLACE_DIGITS, Fill, Pattern, Piece, Walk
from voidless.toolpath.fill.volume import filled
from voidless.toolpath.moves import Kind

__all__ = ["plan_region"]

_SPECK_PITCHES2 = 0.05
"""Smaller parts of a region are left out, and said. [pitches squared]"""


_LEAST_RASTER = 0.3
"""Half the room between contours below which they are made wider instead of laying raster there, at least half of the
narrowest bead. [pitches]"""
_EXACT = 0.001
_WIDEST = 0.9
"""Widest bead with which a wall of varying thickness is divided. [widest]"""
_SMALL_PITCHES2, _UNEVEN, _LOOPS = 120.0, 0.99, 2
"""Parts up to this size whose raster leaves less of them even are laid in loops without raster, up to so many. [pitches
squared], [1]"""
_LONE_NOZZLES = 0.9
"""Half the thickness up to which a wall is one bead, since two would be too narrow or hard to keep even. [nozzles]"""


def _inset(region: Any, distance_mm: float) -> Any:
    """Return what is a distance inside; inner corners are rounded, so that beads keep their distance."""
    return region.buffer(-distance_mm, join_style="round", quad_segs=8)


def _path(part: Any, fill: Fill, number: int) -> Any:
    """Return the region whose edges are the paths of a contour, None where it finds no room."""
    path = _inset(part, (number + 0.5) * fill.pitch_mm)
    return path if path.area > _SPECK_PITCHES2 * fill.pitch_mm**2 else None


def _paths(part: Any, fill: Fill) -> list[Any]:
    """Return the paths of the contours that find room, from the outside inwards."""
    return list(
        takewhile(lambda path: path is not None, (_path(part, fill, n) for n in range(fill.contours)))
    )


def _divided(part: Any, fill: Fill) -> Fill:
    """Return the fill with a pitch by which contours alone divide a part too narrow for raster between them."""
    from shapely import maximum_inscribed_circle

    least = max(_LEAST_RASTER * fill.pitch_mm, fill.narrowest_mm / 2.0)
    if not _inset(part, fill.contours * fill.pitch_mm + least).is_empty:
        return fill
    half = float(maximum_inscribed_circle(part, _EXACT * fill.pitch_mm).length)
    typical = min(half, part.area / part.length)  # half of a wall's mean thickness
    number = max(1, round(typical / fill.pitch_mm), ceil(half / (_WIDEST * fill.widest_mm)))
    if number > fill.contours:
        return fill
    return replace(fill, pitch_mm=half / number, contours=number)


def _part(part: Any, fill: Fill, angle_deg: float, reference_mm: float | None) -> tuple[list[Piece], int]:
    """Return the moves of one connected part, and how many contours it took."""
    if _inset(part, _LONE_NOZZLES * fill.nozzle_mm).is_empty:
        return lay_spine(part), 0
    fill = _divided(part, fill)
    pitch, here = fill.pitch_mm, far_corner(part)
    paths = _paths(part, fill)
    pieces: list[Piece] = []
    for number, path in enumerate(paths[: max(len(paths) - 1, min(len(paths), 1))]):
        zone = _inset(part, (number + 1) * pitch)
        pieces += lay_contour(path, edges_of(zone), fill, number == 0, False, here)
    rest = _inset(part, len(paths) * pitch)
    reference = None if reference_mm is None else reference_mm - 2 * len(paths) * pitch
    raster = lay_raster(rest, fill, angle_deg, reference, pieces[-1].points[-1] if pieces else here)
    pieces += raster.pieces
    if len(paths) > 1:
        pieces += lay_contour(paths[-1], raster.strokes, fill, False, True, pieces[-1].points[-1])
    return pieces or lay_spine(part), len(paths)


def plan_region(region: Any, fill: Fill, angle_deg: float, reference_mm: float | None = None) -> Pattern:
    """
    Return contours and raster that fill a region exactly.

    Parameters
    ----------
    region : shapely Polygon or MultiPolygon
        Section of the part, holes included. [mm]
    fill : Fill
        Pitch, width, contours, overlap.
    angle_deg : float
        Direction of the raster beads from the X axis. [deg]
    reference_mm : float or None
        Width of the section that a whole number of beads has to divide (contours included). [mm]

    Returns
    -------
    pattern : Pattern
        Its areas sum to the region's within rounding.

    Raises
    ------
    InputError
        The region is empty.

    Notes
    -----
    docs/methods/fill.md. With one contour the turns of the raster fill what its beads leave open, where that is
    not too much; else the contour itself does, with nothing that bounds it outside. With none the raster
    closes the outline itself (edge.py). Each layer is planned without regard to the one
    below.
    """
    if not region.area > 0.0:
        raise InputError("fill", f"a section of {region.area} mm2", "an area above 0 mm2", "Check the part.")
    walks: list[Walk] = []
    missed, contours = 0.0, fill.contours
    for part in getattr(region, "geoms", [region]):
        if not part.area > _SPECK_PITCHES2 * fill.pitch_mm**2:
            missed += part.area
            continue
        laid, took = _part(part, fill, angle_deg, reference_mm)
        walks.append(_looped(filled(_walk(laid), part, fill), part, fill))
        contours = min(contours, took)
    if not walks:
        return Pattern(np.zeros(0, dtype=np.int64), np.zeros((0, 2)), np.zeros(0), missed, 0)
    kinds = np.concatenate([walk.kind for walk in walks])
    points = np.vstack([walk.points for walk in walks])
    area = np.concatenate([walk.area_mm2 for walk in walks])
    return Pattern(kinds, points, area * (region.area / area.sum()), missed, contours)


def _looped(walk: Walk, part: Any, fill: Fill) -> Walk:
    """Return loops for a small part without contour that its raster leaves uneven, where they are more even."""
    small = part.area <= _SMALL_PITCHES2 * fill.pitch_mm**2
    if fill.contours or not fill.even or not small or evenness(walk, part, fill) >= _UNEVEN:
        return walk
    loops = replace(fill, contours=_LOOPS)
    if _divided(part, loops) is loops:  # wide enough for a raster between loops
        return walk
    other = filled(_walk(_part(part, loops, 0.0, None)[0]), part, loops)
    return max(walk, other, key=lambda one: evenness(one, part, fill))


def _walk(pieces: list[Piece]) -> Walk:
    """Return pieces as one walk on places that a file can state, without moves of no length."""
    kind = np.concatenate([np.full(len(piece.points), int(piece.kind)) for piece in pieces])
    radius = np.concatenate([piece.radius_mm for piece in pieces])
    points = np.vstack([piece.points for piece in pieces]).round(PLACE_DIGITS)
    walk = Walk(kind, points, radius, np.zeros(len(kind)))
    return walk.take(np.flatnonzero((kind == Kind.TRAVEL) | (walk.length_mm > 0.0)))
