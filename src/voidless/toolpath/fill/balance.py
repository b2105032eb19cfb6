"""
Beads that are laid, looked at and corrected before they are planned for good.

The plan's areas come from geometry. Here its beads spread over coarse cells (`voidless.beads.spread`); where melt
lacks at the resolution of a bead, the nearest bead gets more, where there is too much it gets less, until what
remains is what no width of these paths can mend.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from voidless.beads.spread import Grid, grid_over, spread
from voidless.toolpath.fill.types import Fill, Floats
from voidless.toolpath.moves import Kind
from voidless.toolpath.section_mask import coverage_of

__all__ = ["Walk", "balanced"]

Cells = NDArray[np.float32]

_PIECE = 0.5
"""Longest piece of a bead that is corrected by itself. [pitches]"""
_CELL = 1.0 / 8.0
"""Side of a cell. [pitches]"""
_BLOCK = 2
"""Cells, along a side, that go to a bead together."""
_REACH = 1.25
"""How far melt flows from the nozzle's middle. [nozzle diameters]"""
_OWN = 2.0
"""How far from a bead it answers for what lacks. [pitches]"""
_ROUNDS = 8
_WORTH = 0.8
"""Most rounds, and to how much of the former mean square a round has to lead so that another follows."""
_LARGER = 1.5
"""Step of a correction, in what lacks about a bead. [1]"""
_LEEWAY = 0.004
"""How much area a move may lay too early or too late where pieces are joined again. [pitches squared]"""
_STRAIGHT_MM = 1e-6


@dataclass(frozen=True, eq=False)
class Walk:
    """Moves in order: kinds `(n,)`, ends `(n, 2)` [mm], area that each fills `(n,)` [mm²]; the first is a travel."""

    kind: NDArray[np.int64]
    points: Floats
    area_mm2: Floats

    @property
    def starts(self) -> Floats:
        """Where each move begins. [mm]"""
        return np.vstack([self.points[:1], self.points[:-1]])

    @property
    def length_mm(self) -> Floats:
        """Length of each move. [mm]"""
        return np.asarray(np.hypot(*(self.points - self.starts).T))


def _cut(walk: Walk, longest: float) -> Walk:
    """Return a walk whose beads are cut into even pieces."""
    number = np.where(walk.area_mm2 > 0.0, np.maximum(np.ceil(walk.length_mm / longest - 1e-9), 1.0), 1.0)
    number = number.astype(np.int64)
    source = np.repeat(np.arange(len(number)), number)
    place = np.arange(len(source)) - np.repeat(np.cumsum(number) - number, number)
    share = ((place + 1.0) / number[source])[:, None]
    points = walk.starts[source] * (1.0 - share) + walk.points[source] * share
    return Walk(walk.kind[source], points, walk.area_mm2[source] / number[source])


def _joined(walk: Walk, pitch: float) -> Walk:
    """Return a walk whose straight, even pieces are one move again."""
    from voidless.toolpath.fill.ring_kernel import thinned  # compiled, slow to import

    ends = np.append(np.flatnonzero(np.diff(walk.kind) != 0), len(walk.kind) - 1)
    keep, begin = [], 0
    for end in ends.tolist():
        if walk.kind[end] == Kind.TRAVEL or end == begin:
            keep.append(np.arange(begin, end + 1))
        else:
            points = walk.points[begin - 1 : end + 1]
            kept = thinned(points, walk.area_mm2[begin : end + 1], _STRAIGHT_MM, _LEEWAY * pitch**2)
            keep.append(begin - 1 + kept[1:])
        begin = end + 1
    chosen = np.concatenate(keep)
    filled = np.cumsum(walk.area_mm2)[chosen]
    return Walk(walk.kind[chosen], walk.points[chosen], np.diff(filled, prepend=0.0))


def _limited(area: Floats, low: Floats, high: Floats, total: float) -> Floats:
    """Return areas within limits that have a total, as near as the limits let them."""
    for _ in range(4):
        area = np.clip(area, low, high)
        free = (area > low) & (area < high)
        if not free.any():
            break
        area = np.where(free, area * (1.0 + (total - area.sum()) / area[free].sum()), area)
    return np.clip(area, low, high)


class _Look:
    """A region on cells, and the beads that answer for its places."""

    def __init__(self, walk: Walk, region: Any, fill: Fill) -> None:
        from voidless.toolpath.fill.balance_kernel import nearest_beads  # compiled, slow to import

        cell = _CELL * fill.pitch_mm
        self.reach = _REACH * fill.nozzle_mm
        around = grid_over(region.bounds, 3.0 * self.reach + 4.0 * cell, cell)
        rows, columns = (-(-number // _BLOCK) for number in around.shape)
        self.grid = Grid(around.x_mm, around.y_mm, rows * _BLOCK, columns * _BLOCK, cell)
        self.window = 2 * int(fill.width_mm / cell / 2.0) + 1
        self.walk, self.laid = walk, walk.area_mm2 > 0.0
        self.target = coverage_of(region, self.grid)
        block = _BLOCK * cell
        origin = np.array([around.y_mm, around.x_mm])
        starts, ends = ((ends[:, ::-1] - origin) / block for ends in (walk.starts, walk.points))
        self.nearest = nearest_beads(starts, ends, self.laid, rows, columns, _OWN * fill.pitch_mm / block)

    def lack(self, area: Floats) -> tuple[Floats, float]:
        """Return by how much each bead should fill more, and the mean square of what lacks about a place."""
        from scipy.ndimage import uniform_filter

        laid, walk = self.laid, self.walk
        fill = spread(walk.starts[laid], walk.points[laid], area[laid], self.grid, self.reach)
        about = uniform_filter(self.target - fill, self.window, output=np.float64, mode="constant")
        rows, columns = self.nearest.shape
        block = about.reshape(rows, _BLOCK, columns, _BLOCK).sum(axis=(1, 3)) * self.grid.cell_mm**2
        owned = self.nearest >= 0
        more = np.bincount(self.nearest[owned], weights=block[owned], minlength=len(area))
        return np.asarray(more, dtype=float), float(np.mean(about[self.target > 0.0] ** 2))


def balanced(walk: Walk, region: Any, fill: Fill) -> Walk:
    """
    Return a walk whose beads have the widths at which they fill a region evenly.

    Parameters
    ----------
    walk : Walk
        Paths, and areas to begin with.
    region : shapely Polygon
        What they fill. [mm]
    fill : Fill
        Pitch, width and nozzle.

    Returns
    -------
    walk : Walk
        The same paths; no bead is narrower than 0.8 or wider than 2 nozzle diameters; areas sum to the region's
        where those limits let them.
    """
    pieces = _cut(walk, _PIECE * fill.pitch_mm)
    look = _Look(pieces, region, fill)
    length = np.where(look.laid, pieces.length_mm, 0.0)
    low, high = fill.narrowest_mm * length, fill.widest_mm * length
    area = _limited(pieces.area_mm2, low, high, region.area)
    best, least = area, np.inf
    for _ in range(_ROUNDS):
        more, square = look.lack(area)
        worth = square < _WORTH * least
        if square < least:
            best, least = area, square
        if not worth:
            break
        area = _limited(area + _LARGER * more, low, high, region.area)
    return _joined(Walk(pieces.kind, pieces.points, best), fill.pitch_mm)
