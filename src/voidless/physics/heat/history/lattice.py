"""Where the grid of a heat history lies: its angle, cell size and offset follow the raster."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from voidless.physics.heat.history.types import Method

if TYPE_CHECKING:
    from voidless.physics.heat.history.grid import Beads

__all__ = ["Lattice", "lattice_of"]

Floats = NDArray[np.float64]

_ALIGNED = np.deg2rad(1.0)
_ONE_WAY = 0.8  # share of the length that has to lie one way for long cells
_STRETCH = 0.04  # how far the pitch may be from the beads' own width
_TRIES = 401
_SAMPLE = 20_000


@dataclass(frozen=True)
class Lattice:
    """
    A rectangular grid.

    Attributes
    ----------
    angle : float
        Direction of its first axis. [rad]
    origin : (float, float)
        Corner of the first cell, in grid axes. [m]
    across : (float, float)
        Size of a cell. [m]
    shape : (int, int)
        Number of cells along both axes.
    aligned : float
        Share of the bead length that lies along the axes. [1]
    """

    angle: float
    origin: tuple[float, float]
    across: tuple[float, float]
    shape: tuple[int, int]
    aligned: float

    def to_grid(self, points: Floats) -> Floats:
        """Return points `(n, 2)` in grid axes from the grid's corner. [m]"""
        return np.asarray(_turned(points, -self.angle) - np.asarray(self.origin))

    def from_grid(self, points: Floats) -> Floats:
        """Return points `(n, 2)` in the axes of the bed. [m]"""
        return _turned(points + np.asarray(self.origin), self.angle)


def _turned(points: Floats, angle: float) -> Floats:
    cosine, sine = np.cos(angle), np.sin(angle)
    x, y = points[:, 0], points[:, 1]
    return np.column_stack([cosine * x - sine * y, sine * x + cosine * y])


def lattice_of(beads: Beads, method: Method) -> Lattice:
    """Return the grid that suits beads: along most of them, its lines between them."""
    step = beads.end - beads.start
    length = beads.length
    heading = np.arctan2(step[:, 1], step[:, 0])
    angle = _main_angle(heading, length)
    turned0, turned1 = _turned(beads.start, -angle), _turned(beads.end, -angle)
    along = np.abs(np.sin(heading - angle)) < _ALIGNED
    cross = np.abs(np.cos(heading - angle)) < _ALIGNED
    share = length[along].sum() / length.sum()
    order = np.argsort(beads.width)
    half = np.searchsorted(np.cumsum(length[order]), 0.5 * length.sum())
    width = float(beads.width[order][min(half, order.size - 1)])
    pitch, phase_y = _pitch(turned0[along, 1], length[along], width)
    pitch_x, phase_x = _pitch(turned0[cross, 0], length[cross], width)
    count = method.cells_per_bead
    low = np.minimum(turned0, turned1).min(axis=0) - width
    high = np.maximum(turned0, turned1).max(axis=0) + width
    if share > _ONE_WAY:
        across = (method.along * pitch / count, pitch / count)
        phase_x = low[0]
    else:
        across = (pitch_x / count, pitch / count)
    size = (across[0] * count, across[1] * count)
    origin = tuple(
        phase - 0.5 * whole + whole * np.floor((least - phase) / whole)
        for phase, whole, least in zip((phase_x, phase_y), size, low, strict=True)
    )
    shape = tuple(int(np.ceil((high[axis] - origin[axis]) / across[axis])) + 1 for axis in (0, 1))
    aligned = (length[along].sum() + length[cross].sum()) / length.sum()
    return Lattice(angle, (origin[0], origin[1]), across, (shape[0], shape[1]), float(aligned))


def _main_angle(heading: Floats, length: Floats) -> float:
    """Return the direction that most of the length lies along or across, nearest to it by a tenth of a degree."""
    turn = np.rad2deg(heading) % 90.0
    weight, edges = np.histogram(turn, bins=900, range=(0.0, 90.0), weights=length)
    best = float(edges[int(np.argmax(weight + np.roll(weight, 1)))])
    near = np.abs((turn - best + 45.0) % 90.0 - 45.0) < 0.2
    shift = float(np.average((turn[near] - best + 45.0) % 90.0 - 45.0, weights=length[near]))
    across = np.deg2rad(best + shift)
    # of the two axes the first is the one that more of the length follows
    one = length[np.abs(np.sin(heading - across)) < _ALIGNED].sum()
    other = length[np.abs(np.cos(heading - across)) < _ALIGNED].sum()
    return float(across if one >= other else across + np.pi / 2.0)


def _pitch(offset: Floats, length: Floats, width: float) -> tuple[float, float]:
    """Return the spacing of parallel beads and where one of them lies. [m]"""
    if not offset.size:
        return width, 0.0
    if offset.size > _SAMPLE:
        pick = np.linspace(0, offset.size - 1, _SAMPLE).astype(int)
        offset, length = offset[pick], length[pick]
    middle = float(np.average(offset, weights=length))
    tries = width * np.linspace(1.0 - _STRETCH, 1.0 + _STRETCH, _TRIES)
    turns = np.exp(2j * np.pi * (offset - middle)[None, :] / tries[:, None])
    strength = np.sum(turns * length, axis=1)  # a product of matrices would wake threads that then spin
    best = int(np.argmax(np.abs(strength)))
    return float(tries[best]), middle + float(np.angle(strength[best])) * float(tries[best]) / (2.0 * np.pi)
