"""A region as contours and raster whose volumes fill it exactly."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

from voidless.errors import InputError
from voidless.toolpath.fill.types import Fill, Pattern
from voidless.toolpath.moves import Kind
from voidless.toolpath.region import inset, raster_lines, region_columns, rings_of, turned_edges

__all__ = ["plan_region"]

Floats = NDArray[np.float64]

_TURN_PITCHES = 2.5
"""Neighbouring beads nearer than this are joined by a turn; further apart the nozzle travels. [pitches]"""
_GROUP_PITCHES = 3.0
"""Shortest piece of a bead with its own width. [pitches]"""
_GROUP_CHANGE = 0.02
"""Relative change of width that starts a new piece. [1]"""
_SHIFT_SHARE = 0.4
"""Largest share of a bead by which each end may be drawn back. [1]"""


@dataclass(frozen=True, eq=False)
class _Bead:
    """A straight raster bead: ends `u` `(m + 1,)` of its pieces at `v`, `area` `(m,)` of each."""

    v: float
    u: Floats
    area: Floats

    def reversed(self) -> _Bead:
        return _Bead(self.v, self.u[::-1], self.area[::-1])


def _contour_moves(region: Any, fill: Fill) -> tuple[list[tuple[Kind, Floats, Floats]], int]:
    """Return closed loops from the outside inwards as (kind, points, areas), and how many found room."""
    moves: list[tuple[Kind, Floats, Floats]] = []
    outer = inset(region, 0.0)
    for number in range(fill.contours):
        rings = rings_of(inset(region, (number + 0.5) * fill.pitch_mm))
        if not rings:
            return moves, number
        inner = inset(region, (number + 1) * fill.pitch_mm)
        rings = [_from_far_corner(ring) for ring in rings]
        lengths = [np.hypot(*np.diff(ring, axis=0).T) for ring in rings]
        per_length = (outer.area - inner.area) / sum(float(length.sum()) for length in lengths)
        for ring, length in zip(rings, lengths, strict=True):
            moves.append((Kind.TRAVEL, ring[:1], np.zeros(1)))
            moves.append((Kind.CONTOUR, ring[1:], length * per_length))
        outer = inner
    return moves, fill.contours


def _from_far_corner(ring: Floats) -> Floats:
    """Return a closed ring that starts at its corner furthest out, front left where several are."""
    open_ring = ring[:-1]
    far = np.round(np.hypot(*open_ring.T), 6)
    first = np.lexsort((open_ring[:, 1], open_ring[:, 0], -far))[0]
    turned = np.roll(open_ring, -first, axis=0)
    return np.vstack([turned, turned[:1]])


def _pieces(ends: Floats, width: Floats, pitch: float) -> tuple[Floats, Floats]:
    """Return one bead's columns joined to pieces of nearly even width: ends `(m + 1,)` and areas `(m,)`."""
    step = np.diff(ends)
    area = step * width
    total = float(ends[-1] - ends[0])
    mean = float(area.sum()) / total
    if total < 2 * _GROUP_PITCHES * pitch or np.all(np.abs(width - mean) <= _GROUP_CHANGE * mean):
        return np.array([ends[0], ends[-1]]), np.array([area.sum()])
    cuts, areas = [float(ends[0])], [0.0]
    for start, share, size in zip(ends[:-1].tolist(), width.tolist(), area.tolist(), strict=True):
        length = start - cuts[-1]
        if length >= _GROUP_PITCHES * pitch and abs(share * length - areas[-1]) > _GROUP_CHANGE * areas[-1]:
            cuts.append(start)
            areas.append(0.0)
        areas[-1] += size
    if len(areas) > 1 and ends[-1] - cuts[-1] < _GROUP_PITCHES * pitch:
        areas[-2:] = [areas[-2] + areas[-1]]
        cuts.pop()
    return np.array([*cuts, float(ends[-1])]), np.array(areas)


def _beads(edges: Floats, fill: Fill, reference_mm: float | None) -> tuple[list[_Bead], float]:
    """Return the raster beads of a region, line by line, with ends drawn back, and their pitch."""
    lines, pitch = raster_lines(edges, fill.pitch_mm, reference_mm)
    columns = region_columns(edges, lines, pitch)
    draw = pitch / 2.0 - fill.overlap_pct / 100.0 * fill.width_mm
    beads = []
    for number, line in enumerate(lines.tolist()):
        present = np.concatenate([[False], columns.width[:, number] > 0.0, [False]])
        changes = np.flatnonzero(present[1:] != present[:-1])
        for first, last in zip(changes[0::2], changes[1::2], strict=True):
            ends, area = _pieces(columns.breaks[first : last + 1], columns.width[first:last, number], pitch)
            back = min(draw, _SHIFT_SHARE * float(ends[-1] - ends[0]))
            ends[0] += back
            ends[-1] -= back
            beads.append(_Bead(line, ends, area))
    return beads, pitch


def _ordered(beads: list[_Bead], start: Floats) -> list[_Bead]:
    """Return the beads in walking order: from an outermost line near the start, always to the nearest end."""
    ends = np.array([[[b.u[0], b.v], [b.u[-1], b.v]] for b in beads])
    lines = ends[:, 0, 1]
    left = np.ones(len(beads), dtype=bool)
    outermost = (lines == lines.min()) | (lines == lines.max())
    walk, here = [], start
    candidates = outermost
    while left.any():
        distance = np.hypot(*(ends - here).transpose(2, 0, 1))
        distance[~(left & candidates)] = np.inf
        bead, side = np.unravel_index(int(np.argmin(np.round(distance, 6))), distance.shape)
        walk.append(beads[bead].reversed() if side else beads[bead])
        here = ends[bead, 1 - side]
        left[bead] = False
        candidates = left
    return walk


def _raster_moves(walk: list[_Bead], pitch: float) -> list[tuple[Kind, Floats, Floats]]:
    """Return beads joined by turns or travels; a turn takes its volume from the beads it joins."""
    area = [bead.area.copy() for bead in walk]
    length = [np.abs(np.diff(bead.u)) for bead in walk]
    ends = [(np.array([bead.u[0], bead.v]), np.array([bead.u[-1], bead.v])) for bead in walk]
    gaps = [float(np.hypot(*(b[0] - a[1]))) for a, b in pairwise(ends)]
    joined = [gap <= _TURN_PITCHES * pitch for gap in gaps]
    turn_area = [0.0] * len(gaps)
    extra = [np.zeros(len(part)) for part in area]
    for number, gap in enumerate(gaps):
        if joined[number]:
            extra[number][-1] += gap / 2.0
            extra[number + 1][0] += gap / 2.0
    per_length = [part / (size + more) for part, size, more in zip(area, length, extra, strict=True)]
    for number, gap in enumerate(gaps):
        if joined[number]:
            turn_area[number] = gap / 2.0 * float(per_length[number][-1] + per_length[number + 1][0])
    moves: list[tuple[Kind, Floats, Floats]] = [(Kind.TRAVEL, ends[0][0][None], np.zeros(1))]
    for number, bead in enumerate(walk):
        points = np.column_stack([bead.u[1:], np.full(len(bead.area), bead.v)])
        moves.append((Kind.RASTER, points, per_length[number] * length[number]))
        if number < len(gaps):
            kind = Kind.TURN if joined[number] else Kind.TRAVEL
            moves.append((kind, ends[number + 1][0][None], np.array([turn_area[number]])))
    return moves


def _raster(region: Any, fill: Fill, angle_deg: float, reference_mm: float | None, start: Floats) -> Any:
    """Return the raster in the specimen's frame, areas scaled to the region's, and what was missed. [mm²]"""
    cosine, sine = math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))
    back = np.array([[cosine, sine], [-sine, cosine]])
    beads, pitch = _beads(turned_edges(region, angle_deg), fill, reference_mm)
    if not beads:  # slivers beside the middle line: nothing can be laid, and the plan says so
        return [], float(region.area)
    moves = _raster_moves(_ordered(beads, start @ back.T), pitch)
    filled = sum(float(area.sum()) for _, _, area in moves)
    scale = region.area / filled
    return [(kind, points @ back, area * scale) for kind, points, area in moves], region.area - filled


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
        Its areas sum to the section's within rounding.

    Raises
    ------
    InputError
        The region is empty.

    Notes
    -----
    Contour bands are one pitch wide; a contour's area is that between two insets. The raster pitch is
    adapted so that a whole number of beads divides the rest. A bead's end is drawn back by half a pitch so
    that its round end touches the contour, less the overlap; turns run along the contour. What is
    left out: corners are not rounded, and each layer is planned without regard to the one below.
    """
    if not region.area > 0.0:
        raise InputError("fill", f"a section of {region.area} mm2", "an area above 0 mm2", "Check the part.")
    moves, contours = _contour_moves(region, fill)
    rest_region = inset(region, contours * fill.pitch_mm)
    missed = 0.0
    if rest_region.area > 0.0:
        here = moves[-1][1][-1] if moves else rings_of(region)[0][0]
        rest = None if reference_mm is None else reference_mm - 2 * contours * fill.pitch_mm
        raster, missed = _raster(rest_region, fill, angle_deg, rest, here)
        moves += raster
    kinds = np.concatenate([np.full(len(points), int(kind)) for kind, points, _ in moves])
    points = np.vstack([points for _, points, _ in moves])
    area = np.concatenate([area for _, _, area in moves])
    return Pattern(kinds, points, area, missed, contours)
