"""
Where no contour is, the raster closes the outline itself: strokes along it from each end of a bead to the next.

A turn joins every second pair of ends. The nozzle lays the way between the others as it comes by, half a pitch from the
outline, and goes back without laying: so all of the way is laid once, and no notch is left between two ends.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from voidless.toolpath.fill.beside import Aside, Lines, beside, spaced
from voidless.toolpath.fill.types import Floats

__all__ = ["Foot", "Strokes", "no_strokes", "strokes_between"]

_SAME_MM = 1e-6
_NEAR = 0.05
"""Places on the way that are nearer to each other than this count as one. [pitches]"""
_STEP = 0.2
"""Distance of places along the outline. [pitches]"""


@dataclass(frozen=True, eq=False)
class Foot:
    """A way that is laid from an end of a bead and back: its points, and half of the room of each part. [mm]"""

    points: Floats
    radius_mm: Floats

    def turned(self) -> Foot:
        """Return the same way from its other end."""
        return Foot(self.points[::-1], self.radius_mm[::-1])


@dataclass(frozen=True, eq=False)
class Strokes:
    """
    Ways along the outline, by the end of a bead: twice its place in the walk, and one more for where it ends.

    Attributes
    ----------
    turns : dict of (n, 2) float arrays
        To where a bead begins, from the end of the one before. [mm]
    feet : dict of lists of Foot
        From an end to ones that come later, or beside the outline.
    asides : list of Aside
        Where beads go aside to the outline.
    """

    turns: dict[int, Floats]
    feet: dict[int, list[Foot]]
    asides: list[Aside]


def no_strokes() -> Strokes:
    """Return none, as where a contour is."""
    return Strokes({}, {}, [])


def strokes_between(
    rings: list[Floats], at: NDArray[np.int64], lines: Lines, joined: NDArray[np.bool_], longest_mm: float,
    narrowest_mm: float,
) -> Strokes:  # fmt: skip
    """
    Return the strokes between neighbouring ends of beads.

    Parameters
    ----------
    rings : list of (n, 2) float arrays
        Closed rings on which beads end, what is filled on their left. [mm]
    at : (m,) int array
        Edge of the rings, one ring after the other, on which each end lies, start and end of a bead in turn. [1]
    lines : Lines
        The beads in the order of the walk.
    joined : (m / 2,) bool array
        Which beads are joined to the one before.
    longest_mm : float
        Longest way between two ends that is laid as it is; longer ones run along the beads. [mm]
    narrowest_mm : float
        Least room beside a bead that gets one of its own. [mm]

    Returns
    -------
    strokes : Strokes
        Each part of the way once.
    """
    strokes, first = no_strokes(), 0
    points = np.column_stack([lines.u.ravel(), np.repeat(lines.v, 2)])
    for ring in rings:
        number = len(ring) - 1
        ends = np.flatnonzero((at >= first) & (at < first + number))
        along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(ring, axis=0).T))])
        edge = at[ends] - first
        place = along[edge] + np.hypot(*(points[ends] - ring[edge]).T)
        order = np.argsort(place, kind="stable")
        ends, place = ends[order], place[order]
        ways = np.mod(np.roll(place, -1) - place, along[-1])
        for k, length in enumerate(ways.tolist()):
            one, other = int(ends[k]), int(ends[(k + 1) % len(ends)])
            step = math.inf if length <= longest_mm else _STEP * lines.pitch_mm
            way = _part(ring, along, float(place[k]), length, step, _NEAR * lines.pitch_mm)
            if length > longest_mm:
                _keep_long(strokes, min(one, other), way, lines, narrowest_mm)
            elif one != other and length >= _NEAR * lines.pitch_mm:
                _keep(strokes, one, other, way, joined, lines.pitch_mm / 2.0)
        first += number
    return strokes


def _keep(
    strokes: Strokes, one: int, other: int, way: Floats, joined: NDArray[np.bool_], radius_mm: float
) -> None:
    """Keep the way from one end to another as a turn, or as a foot from the one that comes first."""
    early, late = min(one, other), max(one, other)
    way = way if one == early else way[::-1]
    if late == early + 1 and late % 2 == 0 and joined[late // 2] and late not in strokes.turns:
        strokes.turns[late] = way
    else:
        strokes.feet.setdefault(early, []).append(Foot(way, np.full(len(way) - 1, radius_mm)))


def _keep_long(strokes: Strokes, end: int, way: Floats, lines: Lines, narrowest_mm: float) -> None:
    beads, asides = beside(way, lines, narrowest_mm)
    strokes.asides.extend(asides)
    for points, radius in beads:
        strokes.feet.setdefault(end, []).append(Foot(points, radius))


def _part(
    ring: Floats, along: Floats, begin: float, length: float, step_mm: float, apart_mm: float
) -> Floats:
    """Return the points of a closed ring from a place on for a length, so near to each other. [mm]"""
    corners = np.concatenate([along[:-1], along[:-1] + along[-1]])
    even = begin + length * np.linspace(0.0, 1.0, max(2, math.ceil(length / step_mm) + 1))
    between = np.concatenate([even[1:-1], corners])
    between = np.unique(between[(between > begin + _SAME_MM) & (between < begin + length - _SAME_MM)])
    places = np.mod(np.concatenate([[begin], between, [begin + length]]), along[-1])
    points = np.column_stack([np.interp(places, along, ring[:, k]) for k in (0, 1)])
    return np.asarray(points[spaced(points, apart_mm)])
