"""Plane outlines of specimens: counter-clockwise vertices, centred on the origin, long axis along X."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from voidless.errors import InputError
from voidless.specimens.standards import TensileBar

__all__ = ["circle", "flank", "rectangle", "shape_area", "tensile_outline"]

Floats = NDArray[np.float64]

_SAGITTA_MM = 0.005


def rectangle(length_mm: float, width_mm: float) -> Floats:
    """Return the corners `(4, 2)` of a rectangle that is `length_mm` long in X and `width_mm` in Y. [mm]"""
    half = np.array([length_mm, width_mm]) / 2.0
    return np.asarray(np.array([[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]]) * half)


def circle(diameter_mm: float) -> Floats:
    """
    Return a circle as a polygon of the circle's exact area that leaves it by 5 µm at most, `(n, 2)`. [mm]

    Notes
    -----
    Corners stand outside of the circle, the middles of edges inside: regular polygon of n corners at
    radius r √(2π / (n sin(2π / n))).
    """
    radius = diameter_mm / 2.0
    number = 4 * math.ceil(math.pi / math.acos(max(0.5, 1.0 - _SAGITTA_MM / radius)) / 4.0)
    turn = 2.0 * math.pi / number
    reach = radius * math.sqrt(turn / math.sin(turn))
    angles = (np.arange(number) + 0.5) * turn
    return np.asarray(reach * np.column_stack([np.cos(angles), np.sin(angles)]))


def shape_area(outline: Floats) -> float:
    """Return the signed area of a closed outline `(n, 2)`, positive if counter-clockwise. [mm²]"""
    x, y = outline[:, 0], outline[:, 1]
    return float(0.5 * np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y))


def _arc(centre: tuple[float, float], radius: float, start: float, end: float) -> list[tuple[float, float]]:
    """Return points of an arc, both ends included, whose chords leave it by 5 µm at most."""
    step = 2.0 * math.acos(max(0.0, 1.0 - _SAGITTA_MM / radius))
    angles = np.linspace(start, end, max(2, math.ceil(abs(end - start) / step) + 1))
    return [(centre[0] + radius * math.cos(a), centre[1] + radius * math.sin(a)) for a in angles]


def flank(bar: TensileBar) -> list[tuple[float, float]]:
    """Return a tensile bar's upper right flank as points x, y, from the end of the parallel part out. [mm]"""
    rise = (bar.wide - bar.narrow) / 2.0
    inner, outer = bar.radius, bar.outer_radius
    start = (bar.parallel / 2.0, bar.narrow / 2.0)
    if outer == 0.0:  # one arc that meets the end at an angle
        turn = math.acos(1.0 - rise / inner)
        return _arc((start[0], start[1] + inner), inner, -math.pi / 2.0, -math.pi / 2.0 + turn)
    turn = math.acos(1.0 - rise / (inner + outer))  # two arcs, tangent to each other and to the end
    run = (inner + outer) * math.sin(turn)
    first = _arc((start[0], start[1] + inner), inner, -math.pi / 2.0, -math.pi / 2.0 + turn)
    centre = (start[0] + run, bar.wide / 2.0 - outer)
    return first + _arc(centre, outer, math.pi / 2.0 + turn, math.pi / 2.0)[1:]


def tensile_outline(bar: TensileBar) -> Floats:
    """
    Return the outline of a tensile bar with enlarged ends.

    Parameters
    ----------
    bar : TensileBar
        Dimensions.

    Returns
    -------
    outline : (n, 2) float array
        Counter-clockwise, centred, pull along X. [mm]

    Raises
    ------
    InputError
        The fillets do not fit into the length.

    Notes
    -----
    Arcs are chords that leave the circle by 5 µm at most. A bar without outer radius has one arc per
    flank, tangent to the narrow part.
    """
    side = flank(bar)
    end = bar.length / 2.0
    if not side[-1][0] < end:
        raise InputError(bar.standard, f"fillets end at {side[-1][0]:.2f} mm", f"less than {end:.2f} mm", "")
    corner = [(end, -bar.wide / 2.0), (end, bar.wide / 2.0)]
    right = np.array([(x, -y) for x, y in side] + corner + side[::-1])
    return np.asarray(np.vstack([right, -right]))
