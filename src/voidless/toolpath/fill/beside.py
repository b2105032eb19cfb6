"""
An outline that runs nearly along the beads of a raster: what is left between the two.

Where a bead finds room between the outline and the bead beside it, it is laid there; where not, the bead beside it
takes the room, too: it goes aside to the middle of what it has to fill.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from voidless.toolpath.fill.types import Floats

__all__ = ["Aside", "Lines", "beside", "spaced"]

_STEEP = 1.0 / 3.0
"""Sine of the angle against the beads from which a way along the outline is laid whatever lies beside it. [1]"""
_SHORTEST = 1.0
"""Shorter ways are left to ways aside. [pitches]"""
_LITTLE = 0.01
"""Less room than this is no reason to go aside. [pitches]"""


@dataclass(frozen=True, eq=False)
class Lines:
    """Beads `number` by line (place across, ascending) with both ends, lowest first, and the pitch. [mm]"""

    v: Floats
    u: Floats
    pitch_mm: float

    def next_to(self, u: float, v: float, side: float) -> tuple[int, float]:
        """Return the bead that is next to a place on a side of it, and how far its line is; -1 for none. [mm]"""
        far = (self.v - v) * side
        low, high = self.u.min(axis=1), self.u.max(axis=1)
        near = (far > -1e-6) & (far < self.pitch_mm * (1.0 + 1e-6)) & (low <= u + 1e-6) & (high >= u - 1e-6)
        if not near.any():
            return -1, self.pitch_mm
        bead = int(np.argmin(np.where(near, far, np.inf)))
        return bead, max(0.0, float(far[bead]))


@dataclass(frozen=True, eq=False)
class Aside:
    """Where a bead goes aside: places along it, ascending, and how far across, to the middle of its room. [mm]"""

    bead: int
    u: Floats
    across: Floats


def beside(way: Floats, lines: Lines, narrowest_mm: float) -> tuple[list[tuple[Floats, Floats]], list[Aside]]:
    """
    Return the beads along a part of an outline, and where those of the raster go aside to it.

    Parameters
    ----------
    way : (n, 2) float array
        Half a pitch from the outline, what is to fill on the left, places near to each other. [mm]
    lines : Lines
        The raster.
    narrowest_mm : float
        Least room that gets a bead of its own. [mm]

    Returns
    -------
    beads : list of ((m, 2) float array, (m - 1,) float array)
        Their paths and half of their room. [mm]
    asides : list of Aside
    """
    step = np.gradient(way, axis=0)
    side = np.where(step[:, 0] > 0.0, 1.0, -1.0)
    steep = np.abs(step[:, 1]) > _STEEP * np.hypot(*step.T)
    found = [lines.next_to(u, v, s) for (u, v), s in zip(way.tolist(), side.tolist(), strict=True)]
    bead = np.array([number for number, _ in found])
    room = np.array([far for _, far in found])
    own = steep | (room >= narrowest_mm) | (bead < 0)
    room = np.where(steep, lines.pitch_mm, room)
    beads, asides = [], []
    for some in _runs(own, bead):
        if own[some[0]]:
            path = way[some] + np.column_stack(
                [0.0 * room[some], side[some] * (room[some] - lines.pitch_mm) / 2.0]
            )
            if np.hypot(*np.diff(path, axis=0).T).sum() >= _SHORTEST * lines.pitch_mm:
                beads.append((path, (room[some][1:] + room[some][:-1]) / 4.0))
        elif len(some) > 1 and room[some].max() > _LITTLE * lines.pitch_mm:
            order = np.argsort(way[some, 0], kind="stable")
            across = -side[some] * room[some] / 2.0
            asides.append(Aside(int(bead[some[0]]), way[some, 0][order], across[order]))
    return beads, asides


def _runs(own: NDArray[np.bool_], bead: NDArray[np.int64]) -> list[NDArray[np.int64]]:
    """Return the places of each part that is laid, or taken by one bead."""
    kind = np.where(own, -1, bead)
    return np.split(np.arange(len(kind)), np.flatnonzero(np.diff(kind)) + 1)


def spaced(points: Floats, apart_mm: float) -> NDArray[np.int64]:
    """Return which points of a way are kept so that they are so far apart, the first and the last always."""
    kept, last = [0], len(points) - 1
    for k in range(1, last):
        if min(math.dist(points[k], points[kept[-1]]), math.dist(points[k], points[last])) >= apart_mm:
            kept.append(k)
    return np.array([*kept, last])
