"""
Time of one layer of one specimen in closed form, for many settings at once.

Every different section is inset by moving its corners and sampled by evenly spaced raster lines; times of lines, turns
and contours follow from trapezoids of speed. Ways aside to what beads leave open are counted by seams, corners and
raster lines.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from voidless.specimens.kind import SpecimenKind
from voidless.toolpath.estimate_parts import MotionTimes, Rows, Section, different_sections, trapezoid

__all__ = ["plain_layer", "raster_angles", "specimen_asides"]

Floats = NDArray[np.float64]

_LINES = 24
_MOST_ANGLES = 5
_CORNER_COSINE = math.cos(math.radians(20.0))
_JOIN_PITCHES = 2.0
_BACK_SHARE = 0.4
_LEAST_BACK, _MOST_BACK, _BARE_BACK = 0.28, 0.45, 0.503
_LEAST_RASTER = 0.3
"""Half the room between contours from which raster is laid there. [pitches]"""
_SHARP_COSINE = math.cos(math.radians(60.0))
_ASIDE = 0.6
"""Way to a place aside, about, and that of the bead laid there. [pitches]"""
_SEAM_ASIDES, _CORNER_ASIDES, _LINE_ASIDES = (0.0, 0.0, 1.5, 3.0), (0.0, 0.0, 0.7, 1.4), (0.5, 0.65, 0.0, 0.0)
"""
Ways aside of a section and layer, of each of its sharp corners and of each raster line: without contour, with one, two
and more. Read off planned specimens (docs/methods/motion.md).
"""
_LOOP_HOOK = 1.4
_STRING_HOOK = 0.8
"""Stroke back by which loops and strings begin, about; a loop ends as much short of its start. [pitches]"""


def _divided(section: Section, rows: Rows) -> tuple[Rows, NDArray[np.bool_]]:
    """Return rows whose contours divide a section too narrow for raster between them, and which those are."""
    half = section.room
    number = np.maximum(np.round(half / rows.pitch), 1.0)
    narrow = (half <= (rows.contours + _LEAST_RASTER) * rows.pitch) & (number <= rows.contours)
    pitch, contours = np.where(narrow, half / number, rows.pitch), np.where(narrow, number, rows.contours)
    return replace(rows, pitch=pitch, contours=contours), narrow


def _aside(rows: Rows, motion: MotionTimes) -> Floats:
    """Return the time of one way aside, `(n,)`. [s]"""
    way = _ASIDE * rows.pitch
    return np.asarray(2.0 * motion.travels(way) + _hook(way, rows, motion))


def _hook(way: Floats, rows: Rows, motion: MotionTimes) -> Floats:
    """Return the time of the stroke by which a bead begins, from rest to rest. [s]"""
    zero = np.zeros_like(way)
    return trapezoid(way, zero, zero, rows.speed, motion.bead)


def _contours(section: Section, rows: Rows, motion: MotionTimes) -> tuple[Floats, Floats]:
    """Return the time of the contours of one layer and how many find room, `(n,)`. [s], [1]"""
    room = np.maximum(np.ceil(section.half_width / rows.pitch - 0.5), 0.0)
    count = np.minimum(rows.contours, room)
    corners = np.flatnonzero(section.cosine < _CORNER_COSINE)
    if not len(corners):  # a round section: the loop begins and ends somewhere
        corners = np.zeros(1, dtype=np.int64)
    passed = motion.junction(section.cosine[corners])
    start, end = passed.copy(), np.roll(passed, -1)
    start[0] = end[-1] = 0.0
    total = np.zeros_like(rows.pitch)
    for number in range(int(count.max(initial=0.0))):
        inside = (number + 0.5) * rows.pitch
        place = section.vertices + inside[:, None, None] * section.mitre
        edges = np.linalg.norm(np.roll(place, -1, axis=1) - place, axis=2)
        runs = np.add.reduceat(np.roll(edges, -int(corners[0]), axis=1), corners - corners[0], axis=1)
        time = trapezoid(runs, start, end, rows.speed[:, None], motion.bead).sum(axis=1)
        time += _hook(_LOOP_HOOK * rows.pitch, rows, motion) - _LOOP_HOOK * rows.pitch / rows.speed
        if number:
            time = time + motion.travels(rows.pitch * math.sqrt(2.0))
        total += np.where(number < count, time, 0.0)
    return total, count


def _crossings(place: Floats, lines: Floats) -> tuple[Floats, Floats]:
    """Return where lines `(n, m)` cross a polygon `(n, e, 2)`, ascending, and du/dv there, `(n, m, c)`."""
    u0, v0 = place[:, None, :, 0], place[:, None, :, 1]
    following = np.roll(place, -1, axis=1)
    u1, v1 = following[:, None, :, 0], following[:, None, :, 1]
    y = lines[:, :, None]
    met = (v0 - y) * (v1 - y) < 0.0
    slope = np.divide(u1 - u0, v1 - v0, out=np.zeros_like(u0), where=np.abs(v1 - v0) > 1e-12)
    u = np.where(met, u0 + (y - v0) * slope, np.inf)
    if place.shape[1] == 4:  # convex: the outermost crossings are all
        first, last = u.argmin(axis=2), np.where(met, u, -np.inf).argmax(axis=2)
        order = np.stack([first, last], axis=2)
    else:
        order = np.argsort(u, axis=2)[:, :, :4]
    return np.take_along_axis(u, order, 2), np.take_along_axis(np.broadcast_to(slope, u.shape), order, 2)


def _line_times(
    ends: Floats, slopes: Floats, pitch: Floats, rows: Rows, motion: MotionTimes
) -> tuple[Floats, Floats]:
    """Return the time of every sampled bead and of the turn after it, `(n, m, runs)`. [s]"""
    pitch, speed = pitch[:, None, None], rows.speed[:, None, None]
    with np.errstate(invalid="ignore"):
        chord = np.where(np.isfinite(ends[:, :, 1::2]), ends[:, :, 1::2] - ends[:, :, 0::2], 0.0)
    gap_along = np.abs(slopes) * pitch
    gap = np.hypot(pitch, gap_along)
    forward, backward = motion.junction(gap_along / gap), motion.junction(-gap_along / gap)
    turn = trapezoid(gap, forward, backward, speed, motion.bead)
    bare = (rows.contours[:, None, None] == 0.0) & (gap <= _JOIN_PITCHES * pitch)
    closing = trapezoid(2.0 * gap, forward, np.zeros_like(gap), speed, motion.bead)
    fast = np.full_like(gap, motion.travel_speed)
    closing += trapezoid(gap, np.zeros_like(gap), forward, fast, motion.travel)  # back along the outline
    turn = np.where(gap > _JOIN_PITCHES * pitch, motion.travels(gap), np.where(bare, closing, turn))
    backward = np.where(bare, forward, backward)
    back = pitch / 2.0 - (rows.overlap / 100.0 * rows.width)[:, None, None]
    back = np.clip(back, _LEAST_BACK * pitch, _MOST_BACK * pitch)
    back = np.where(rows.contours[:, None, None] > 0.0, back, _BARE_BACK * pitch)
    way = np.maximum(chord - 2.0 * np.minimum(back, _BACK_SHARE * chord), 0.0)
    line = trapezoid(way, backward[:, :, 0::2], forward[:, :, 1::2], speed, motion.bead)
    joined = (turn[:, :, 0::2] + turn[:, :, 1::2]) / 2.0
    return np.where(chord > 0.0, line, 0.0), np.where(chord > 0.0, joined, 0.0)


def _pitches(
    width: Floats, rows: Rows, section: Section, count: Floats, angle: Floats
) -> tuple[Floats, Floats]:
    """Return the adapted raster pitch and the number of lines, `(n,)`. [mm], [1]"""
    reference = width
    if section.reference is not None:
        along = np.abs((angle + 90.0) % 180.0 - 90.0) < 1e-6
        gauge = section.reference - 2.0 * count * rows.pitch
        reference = np.where(along & (gauge > 0.0) & (gauge < width), gauge, width)
    lines = np.maximum(1.0, np.round(reference / rows.pitch))
    pitch = reference / lines
    return pitch, lines + 2.0 * np.maximum(0.0, np.floor((width - reference) / 2.0 / pitch + 1e-9))


def _raster(section: Section, rows: Rows, count: Floats, angle: Floats, motion: MotionTimes) -> Floats:
    """Return the time of the raster of one layer with the way to its start, `(n,)`. [s]"""
    place = section.vertices + (count * rows.pitch)[:, None, None] * section.mitre
    cosine, sine = np.cos(np.radians(angle)), np.sin(np.radians(angle))
    turn = np.stack([np.stack([cosine, -sine], -1), np.stack([sine, cosine], -1)], -2)
    place = place @ turn
    low, high = place[:, :, 1].min(axis=1), place[:, :, 1].max(axis=1)
    width = high - low
    open_rows = section.half_width - count * rows.pitch > 1e-9
    width = np.where(open_rows, width, 1.0)
    pitch, number = _pitches(width, rows, section, count, angle)
    span = (number * pitch)[:, None] * ((np.arange(_LINES) + 0.5) / _LINES - 0.5)
    lines = ((low + high) / 2.0)[:, None] + span
    ends, slopes = _crossings(place, lines)
    beads, turns = _line_times(ends, slopes, pitch, rows, motion)
    total = (beads.sum(axis=(1, 2)) * number + turns.sum(axis=(1, 2)) * (number - 1.0)) / _LINES
    total += _hook(_STRING_HOOK * pitch, rows, motion)
    seam = int(np.argmax(np.round(np.hypot(*section.vertices.T), 6)))
    start = place[:, seam] - (rows.pitch / 2.0)[:, None] * (section.mitre[seam] @ turn)  # on the last contour
    sides = [(row, side) for row in (0, -1) for side in (0, 1)]
    ways = [np.hypot(ends[:, row, side] - start[:, 0], lines[:, row] - start[:, 1]) for row, side in sides]
    way = np.where(count > 0, np.nanmin(ways, axis=0), 0.0)
    return np.where(open_rows, total + motion.travels(np.where(open_rows, way, 0.0)), 0.0)


def raster_angles(rows: Rows) -> tuple[Floats, Floats]:
    """Return raster angles `(n, k)` that stand for all layers, and their weights; few where they repeat."""
    number = np.arange(_MOST_ANGLES)
    turns = (rows.step[:, None] * (number + 1)) % 180.0
    repeats = np.minimum(turns, 180.0 - turns) < 1e-6
    period = np.where(repeats.any(axis=1), repeats.argmax(axis=1) + 1, _MOST_ANGLES)
    most = int(period.max(initial=1))
    weight = np.where(number[:most] < period[:, None], 1.0 / period[:, None], 0.0)
    return rows.angle[:, None] + number[:most] * rows.step[:, None], weight


def _body_layer(kind: SpecimenKind, rows: Rows, motion: MotionTimes) -> Floats:
    """Return the mean time of one layer of one specimen, `(n,)`. [s]"""
    if kind.wall_mm:  # one bead thick, whatever the contours
        loop = replace(rows, contours=np.ones_like(rows.pitch))
        times = [s.share * _contours(s, loop, motion)[0] for s in different_sections(kind)]
        return np.asarray(np.sum(times, axis=0))
    angles, weights = raster_angles(rows)
    total = np.zeros_like(rows.pitch)
    for section in different_sections(kind):
        fitted, narrow = _divided(section, rows)
        contours, count = _contours(section, fitted, motion)
        total += section.share * contours
        for angle, weight in zip(angles.T + kind.raster_offset_deg, weights.T, strict=True):
            used = np.flatnonzero((weight > 0.0) & ~narrow)
            if len(used):
                time = _raster(section, rows.take(used), count[used], angle[used], motion)
                total[used] += section.share * weight[used] * time
    return total


def specimen_asides(kind: SpecimenKind, rows: Rows, motion: MotionTimes) -> Floats:
    """Return the mean time of the ways aside of one layer of one specimen, `(n,)`. [s]"""
    number = np.zeros_like(rows.pitch)
    if kind.wall_mm:
        return number
    angles, weights = raster_angles(rows)
    which = rows.contours.astype(np.int64)
    seam, corner, line = (
        np.take(share, which, mode="clip") for share in (_SEAM_ASIDES, _CORNER_ASIDES, _LINE_ASIDES)
    )
    for section in different_sections(kind):
        _, narrow = _divided(section, rows)
        corners = int(np.count_nonzero(section.cosine < _SHARP_COSINE))
        turned = np.radians(angles + kind.raster_offset_deg)
        across = np.stack([-np.sin(turned), np.cos(turned)], axis=-1) @ section.vertices.T
        lines = (np.ptp(across, axis=-1) * weights).sum(axis=1) / rows.pitch
        number += np.where(narrow, 0.0, section.share * (seam + corners * corner + lines * line))
    return np.asarray(number * _aside(rows, motion))


def plain_layer(kind: SpecimenKind, rows: Rows, motion: MotionTimes) -> Floats:
    """Return the mean time of one layer of one specimen: holes and further bodies by their volume, `(n,)`. [s]"""
    solid = 1.0 if kind.wall_mm else kind.volume_mm3 / kind.main.volume_mm3
    return solid * _body_layer(kind, rows, motion)
