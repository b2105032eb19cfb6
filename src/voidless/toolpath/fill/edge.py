"""
Where no contour is, the raster closes the outline itself: strokes along it from each end of a bead to the next.

A turn joins every second pair of ends. The nozzle lays the way between the others as it comes by, half a pitch from the
outline, and goes back without laying: so all of the way is laid once, and no notch is left between two ends.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from voidless.toolpath.fill.types import Floats

__all__ = ["NO_STROKES", "Strokes", "strokes_between"]

_SAME_MM = 1e-6


@dataclass(frozen=True, eq=False)
class Strokes:
    """
    Ways along the outline, by the end of a bead: twice its place in the walk, and one more for where it ends.

    Attributes
    ----------
    turns : dict of (n, 2) float arrays
        To where a bead begins, from the end of the one before. [mm]
    feet : dict of lists of (n, 2) float arrays
        From an end to ones that come later. [mm]
    """

    turns: dict[int, Floats]
    feet: dict[int, list[Floats]]


NO_STROKES = Strokes({}, {})


def strokes_between(
    rings: list[Floats], at: NDArray[np.int64], points: Floats, joined: NDArray[np.bool_], longest_mm: float
) -> Strokes:
    """
    Return the strokes between neighbouring ends of beads.

    Parameters
    ----------
    rings : list of (n, 2) float arrays
        Closed rings on which beads end. [mm]
    at : (m,) int array
        Edge of the rings, one ring after the other, on which each end lies, start and end of a bead in turn. [1]
    points : (m, 2) float array
        The ends. [mm]
    joined : (m / 2,) bool array
        Which beads are joined to the one before.
    longest_mm : float
        Longest way between two ends; longer ones run along the beads. [mm]

    Returns
    -------
    strokes : Strokes
        Each part of the way once.
    """
    strokes, first = Strokes({}, {}), 0
    for ring in rings:
        number = len(ring) - 1
        ends = np.flatnonzero((at >= first) & (at < first + number))
        along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(ring, axis=0).T))])
        edge = at[ends] - first
        place = along[edge] + np.hypot(*(points[ends] - ring[edge]).T)
        order = np.argsort(place, kind="stable")
        ends, place = ends[order], place[order]
        way = np.mod(np.roll(place, -1) - place, along[-1])
        for k in np.flatnonzero(way <= longest_mm).tolist():
            one, other = int(ends[k]), int(ends[(k + 1) % len(ends)])
            if one != other:
                _keep(strokes, one, other, _part(ring, along, float(place[k]), float(way[k])), joined)
        first += number
    return strokes


def _keep(strokes: Strokes, one: int, other: int, way: Floats, joined: NDArray[np.bool_]) -> None:
    """Keep the way from one end to another as a turn, or as a foot from the one that comes first."""
    early, late = min(one, other), max(one, other)
    way = way if one == early else way[::-1]
    if late == early + 1 and late % 2 == 0 and joined[late // 2] and late not in strokes.turns:
        strokes.turns[late] = way
    else:
        strokes.feet.setdefault(early, []).append(way)


def _part(ring: Floats, along: Floats, begin: float, length: float) -> Floats:
    """Return the points of a closed ring from a place on for a length. [mm]"""
    corners = np.concatenate([along[:-1], along[:-1] + along[-1]])
    between = corners[(corners > begin + _SAME_MM) & (corners < begin + length - _SAME_MM)]
    places = np.mod(np.concatenate([[begin], between, [begin + length]]), along[-1])
    return np.column_stack([np.interp(places, along, ring[:, k]) for k in (0, 1)])
