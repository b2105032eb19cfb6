"""
A bead along a closed line whose width follows the room about it.

From many places along the line, the room inside is measured straight across: up to what is laid there, up to
the middle where the line runs past itself, at a corner up to its bisector. The bead's path is then moved to
the middle of its room.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from voidless.toolpath.fill.types import Floats

__all__ = ["SHARP", "Ring", "measure_ring"]

_STEP = 0.25
"""Distance between measured places. [pitches]"""
_MOST_INSIDE = 1.5
"""Furthest room that a bead is asked to fill on its inner side. [pitches]"""
_CORNER_PITCHES = 1.0
"""Way on each side of a sharp corner over which room is spread evenly. [pitches]"""
SHARP = 0.35
"""Turn from which a corner counts as sharp. [rad]"""


@dataclass(frozen=True, eq=False)
class Ring:
    """
    A closed line in short pieces.

    Attributes
    ----------
    points : (n + 1, 2) float array
        Ends of the pieces, the last one is the first. [mm]
    inside_mm : (n,) float array
        Room on the inner side, straight across. [mm]
    apart_mm : (n,) float array
        Way from the middle of the piece to the nearest sharp corner. [mm]
    """

    points: Floats
    inside_mm: Floats
    apart_mm: Floats


def _cut(ring: Floats, step: float) -> Floats:
    """Return a closed line cut into short pieces."""
    edge = np.diff(ring, axis=0)
    number = np.maximum(1, np.ceil(np.hypot(*edge.T) / step)).astype(np.int64)
    source = np.repeat(np.arange(len(edge)), number)
    place = np.arange(len(source)) - np.repeat(np.cumsum(number) - number, number)
    points = ring[source] + edge[source] * (place / number[source])[:, None]
    return np.vstack([points, ring[-1:]])


def measure_ring(ring: Floats, lines: Floats, ahead: Floats, pitch: float) -> Ring:
    """
    Return how much room a bead along a closed line has to fill.

    Parameters
    ----------
    ring : (n + 1, 2) float array
        Closed line, material on its left. [mm]
    lines : (m, 4) float array
        Edges of all lines of the same kind, this one included. [mm]
    ahead : (k, 5) float array
        What bounds the bead on its inner side: all within a distance of straight lines; X and Y of both
        ends, distance. [mm]
    pitch : float
        Twice the distance of the line from what bounds it outside. [mm]

    Returns
    -------
    ring : Ring
        Short pieces with their room.
    """
    from voidless.toolpath.fill.ring_kernel import lower_room  # compiled, slow to import

    points = _cut(ring, _STEP * pitch)
    edge = np.diff(points, axis=0)
    length = np.hypot(*edge.T)
    normal = np.column_stack([-edge[:, 1], edge[:, 0]]) / length[:, None]
    inside = np.full(len(edge), _MOST_INSIDE * pitch)
    lower_room(inside, (points[1:] + points[:-1]) / 2.0, normal, lines, ahead)
    before = np.roll(edge, 1, axis=0)
    turn = np.arctan2(before[:, 0] * edge[:, 1] - before[:, 1] * edge[:, 0], np.sum(before * edge, axis=1))
    apart = _from_corners(length, turn > SHARP)
    # about a corner the room straight across says little: outside lies more than that, inside less
    return Ring(points, np.where(apart < _CORNER_PITCHES * pitch, pitch / 2.0, inside), apart)


def _from_corners(length: Floats, sharp: NDArray[np.bool_]) -> Floats:
    """Return the way from the middle of each piece to the nearest sharp corner, infinite if none. [mm]"""
    middle = np.cumsum(length) - length / 2.0
    vertices = middle[sharp] - length[sharp] / 2.0
    if not len(vertices):
        return np.full(len(length), np.inf)
    apart = np.abs(middle[:, None] - vertices)
    return np.asarray(np.minimum(apart, float(length.sum()) - apart).min(axis=1))
