"""
Arcs as chords whose lengths are those of the arc.

Plain functions of numbers, each of which stands alone: the byte scanner compiles these same functions.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

__all__ = ["ROUNDING_MM", "SAGITTA_MM", "arc_circle", "arc_sweep", "chord_angles"]

ROUNDING_MM = 0.01
"""What ends and radius written to 0.001 mm or 0.0001 in can miss of a half circle (0.003 and 0.007), and some. [mm]"""
SAGITTA_MM = 0.005
"""Largest distance between a chord and its arc: a hundredth of a fine bead's width. [mm]"""


def arc_circle(
    x0: float, y0: float, x1: float, y1: float, radius: float, clockwise: bool
) -> tuple[float, float, bool]:
    """
    Return the centre of the circle of a given radius, the long way where it is negative; False if none.

    Ends that stand a rounding further apart than the circle is wide are those of half a circle.
    """
    chord = math.hypot(x1 - x0, y1 - y0)
    if not chord > 0.0 or not abs(radius) > 0.0 or chord > 2.0 * abs(radius) + ROUNDING_MM:
        return 0.0, 0.0, False
    height = math.sqrt(max(0.0, radius * radius - chord * chord / 4.0))
    side = -1.0 if clockwise == (radius > 0.0) else 1.0  # centre to the left of the chord is +1
    x = (x0 + x1) / 2.0 - side * height * (y1 - y0) / chord
    y = (y0 + y1) / 2.0 + side * height * (x1 - x0) / chord
    return x, y, True


def arc_sweep(
    x0: float, y0: float, x1: float, y1: float, x: float, y: float, clockwise: bool
) -> tuple[float, float, float]:
    """
    Return radius, start angle and signed sweep (anticlockwise positive) of an arc round a centre.

    A full circle where the ends agree; a sweep of 0 where no circle leads there.
    """
    radius = math.hypot(x0 - x, y0 - y)
    if not radius > 0.0:
        return 0.0, 0.0, 0.0
    turn = 2.0 * math.pi
    first = math.atan2(y0 - y, x0 - x)
    if math.hypot(x1 - x0, y1 - y0) < 1e-9:
        return radius, first, -turn if clockwise else turn
    sweep = (math.atan2(y1 - y, x1 - x) - first) % turn
    if min(sweep, turn - sweep) < 1e-9:  # the end lies on the same ray from the centre
        return radius, first, 0.0
    return radius, first, sweep - turn if clockwise else sweep


def chord_angles(start: float, sweep: float, radius: float) -> NDArray[np.float64]:
    """
    Return the angles swept at the ends of chords along an arc, `(n,)`, ascending to the whole sweep. [rad]

    Chords also end where the arc is furthest out along X or Y, so that their box is the arc's.
    """
    total, quarter = abs(sweep), math.pi / 2.0
    step = quarter
    if radius > SAGITTA_MM:
        step = max(2.0 * math.acos(1.0 - SAGITTA_MM / radius), total / 20_000.0)
    border = quarter - (start if sweep > 0.0 else -start) % quarter
    if border < 1e-9:
        border += quarter
    ends = np.empty(int(total / step) + int(total / quarter) + 7)
    number, before = 0, 0.0
    while before < total:
        piece_end = border if border < total - 1e-9 else total
        count = max(1, math.ceil((piece_end - before) / step - 1e-9))
        for part in range(1, count + 1):
            ends[number] = before + (piece_end - before) * part / count
            number += 1
        before = piece_end
        border += quarter
    return ends[:number]
