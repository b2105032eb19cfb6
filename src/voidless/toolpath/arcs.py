"""Arcs as chords whose lengths are those of the arc."""

from __future__ import annotations

import math
from dataclasses import dataclass

__all__ = ["Arc", "arc_by_centre", "arc_by_radius", "arc_chords"]

_SAGITTA_MM = 0.001
_MOST_CHORDS = 20_000
_NO_TURN = 1e-9


@dataclass(frozen=True)
class Arc:
    """Centre, radius, start angle and signed sweep (anticlockwise positive). [mm], [rad]"""

    centre: tuple[float, float]
    radius: float
    start: float
    sweep: float


def arc_by_centre(
    start: tuple[float, float], end: tuple[float, float], offset: tuple[float, float], clockwise: bool
) -> Arc | None:
    """Return the arc round `start + offset`; a full circle where the ends agree; None where none fits."""
    centre = (start[0] + offset[0], start[1] + offset[1])
    radius = math.hypot(*offset)
    if not radius > 0.0:
        return None
    first = math.atan2(-offset[1], -offset[0])
    last = math.atan2(end[1] - centre[1], end[0] - centre[0])
    sweep = (last - first) % (2.0 * math.pi)
    if math.hypot(end[0] - start[0], end[1] - start[1]) < 1e-9:
        sweep = 2.0 * math.pi
        return Arc(centre, radius, first, -sweep if clockwise else sweep)
    if min(sweep, 2.0 * math.pi - sweep) < _NO_TURN:
        return None  # the end lies on the same ray from the centre: no circle leads there
    return Arc(centre, radius, first, sweep - 2.0 * math.pi if clockwise else sweep)


def arc_by_radius(
    start: tuple[float, float], end: tuple[float, float], radius: float, clockwise: bool
) -> Arc | None:
    """Return the arc of a given radius, the long way round where it is negative; None where none fits."""
    chord = math.hypot(end[0] - start[0], end[1] - start[1])
    if not chord > 0.0 or not abs(radius) > 0.0 or chord > 2.0 * abs(radius) * (1.0 + 1e-6):
        return None
    height = math.sqrt(max(0.0, radius**2 - chord**2 / 4.0))
    side = -1.0 if clockwise == (radius > 0.0) else 1.0  # centre to the left of the chord is +1
    middle = ((start[0] + end[0]) / 2.0, (start[1] + end[1]) / 2.0)
    normal = (-(end[1] - start[1]) / chord, (end[0] - start[0]) / chord)
    centre = (middle[0] + side * height * normal[0], middle[1] + side * height * normal[1])
    return arc_by_centre(start, end, (centre[0] - start[0], centre[1] - start[1]), clockwise)


def arc_chords(arc: Arc, sagitta_mm: float = _SAGITTA_MM) -> list[tuple[float, float, float]]:
    """
    Return the ends of chords along an arc and the share of its sweep that each covers.

    Parameters
    ----------
    arc : Arc
        The arc.
    sagitta_mm : float
        Largest distance between chord and arc. [mm]

    Returns
    -------
    chords : list of (float, float, float)
        x and y [mm] and share [1]. Chords also end where the arc is furthest out along X or Y, so that
        their box is the arc's.
    """
    step = (
        2.0 * math.acos(max(-1.0, 1.0 - sagitta_mm / arc.radius))
        if arc.radius > sagitta_mm
        else math.pi / 2.0
    )
    count = min(_MOST_CHORDS, max(1, math.ceil(abs(arc.sweep) / step)))
    sign = math.copysign(1.0, arc.sweep)
    angles = {round(abs(arc.sweep) * number / count, 12) for number in range(1, count + 1)}
    quarter = math.pi / 2.0
    first = (-arc.start if sign < 0 else arc.start) % quarter
    turn = quarter - first
    while turn < abs(arc.sweep) - 1e-9:
        angles.add(round(turn, 12))
        turn += quarter
    ordered = [angle for angle in sorted(angles) if angle > 1e-12]
    chords, before = [], 0.0
    for angle in ordered:
        place = arc.start + sign * angle
        x = arc.centre[0] + arc.radius * math.cos(place)
        y = arc.centre[1] + arc.radius * math.sin(place)
        chords.append((x, y, (angle - before) / ordered[-1]))
        before = angle
    return chords
