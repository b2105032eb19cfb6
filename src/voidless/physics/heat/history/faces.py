"""Faces between columns: what lies beside each, how much of a whole face they share, and what of it faces the air."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from voidless.physics.heat.history.lattice import Lattice

if TYPE_CHECKING:
    from voidless.physics.heat.history.grid import Beads

__all__ = ["Laid", "borders_of", "faces_of", "neighbours_of"]

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]

_GAP = 0.25e-3  # [m] beads up to this apart pass heat as if what is between them were filled
_CORNER = np.deg2rad(45.0)  # beads that turn by more end there


@dataclass(frozen=True, eq=False)
class Laid:
    """
    Cells in the order in which they are laid, in columns.

    Attributes
    ----------
    column, layer, bead, cell : (cells,) int array
        Column and layer of each, the bead that lays it, its place among all cells, column by column.
    along : (cells,) float array
        Way along all beads to it. [m]
    ix, iy : (columns,) int array
        Where columns are on the lattice.
    first, last, start : (columns,) int array
        Lowest and highest layer of columns, and where their cells begin.
    """

    column: Integers
    layer: Integers
    bead: Integers
    cell: Integers
    along: Floats
    ix: Integers
    iy: Integers
    first: Integers
    last: Integers
    start: Integers


def neighbours_of(beads: Beads, lattice: Lattice, laid: Laid) -> tuple[Integers, Floats]:
    """
    Return the column on each side of every column, and how far apart they are over the size of a cell.

    What lies beyond an empty cell is beside a column where beads of both, in a layer, are apart by no more than a
    narrow gap: whether a gap leaves a cell empty is the grid's doing.
    """
    number = np.full(lattice.shape, -1, dtype=np.int64)
    number[laid.ix, laid.iy] = np.arange(laid.ix.size)
    found = np.full((laid.ix.size, 4), -1, dtype=np.int64)
    apart = np.ones((laid.ix.size, 4))
    for direction in range(4):
        axis, step = direction // 2, 2 * (direction % 2) - 1
        looks = np.ones(laid.ix.size, dtype=bool)
        for far in range(1, 2 + max(1, int(_GAP / lattice.across[axis]))):
            jx, jy = (laid.ix + far * step, laid.iy) if axis == 0 else (laid.ix, laid.iy + far * step)
            inside = (jx >= 0) & (jx < number.shape[0]) & (jy >= 0) & (jy < number.shape[1])
            there = np.where(inside, number[np.where(inside, jx, 0), np.where(inside, jy, 0)], -1)
            new = looks & (there >= 0)
            looks &= ~new  # what comes first is what is beside, or nothing is: so both sides find each other
            if far > 1 and new.any():
                gap = _gaps(beads, lattice, laid, np.where(new, there, -1))
                new &= gap <= _GAP
                apart[new, direction] = 1.0 + gap[new] / lattice.across[axis]
            found[new, direction] = there[new]
    return found, apart


def _gaps(beads: Beads, lattice: Lattice, laid: Laid, other: Integers) -> Floats:
    """Return the least distance in a layer between the beads of columns and of others, where one is given. [m]"""
    bead_of = np.full(int(laid.cell.max()) + 1, -1, dtype=np.int64)
    bead_of[laid.cell] = laid.bead
    asked = np.flatnonzero(other[laid.column] >= 0)
    mine = laid.column[asked]
    layer, there = laid.layer[asked], other[mine]
    both = (layer >= laid.first[there]) & (layer <= laid.last[there])
    asked, mine, layer, there = asked[both], mine[both], layer[both], there[both]
    beside = bead_of[laid.start[there] + layer - laid.first[there]]
    asked, mine, there, beside = (a[beside >= 0] for a in (asked, mine, there, beside))
    middle = lattice.from_grid(
        np.column_stack(
            [
                (0.5 * (laid.ix[mine] + laid.ix[there]) + 0.5) * lattice.across[0],
                (0.5 * (laid.iy[mine] + laid.iy[there]) + 0.5) * lattice.across[1],
            ]
        )
    )
    gap = np.full(other.size, np.inf)
    between = _outside(beads, laid.bead[asked], middle) + _outside(beads, beside, middle)
    np.minimum.at(gap, mine, np.maximum(between, 0.0))
    return gap


def _outside(beads: Beads, bead: Integers, place: Floats) -> Floats:
    """Return how far places are from the side of beads, less than 0 inside. [m]"""
    step, away = (beads.end - beads.start)[bead], place - beads.start[bead]
    share = np.sum(away * step, axis=1) / np.maximum(np.sum(step**2, axis=1), 1e-18)
    off = away - np.clip(share, 0.0, 1.0)[:, None] * step
    return np.asarray(np.hypot(off[:, 0], off[:, 1]) - 0.5 * beads.width[bead])


def faces_of(
    beads: Beads, lattice: Lattice, laid: Laid, neighbour: Integers, apart: Floats, area: Floats
) -> Floats:
    """
    Return four shares of every column and side, where columns fill that `area` of a cell.

    What the column exchanges of what a whole face between whole cells would; how much more the other side takes of
    it, for its smaller area; what the column loses of what a whole side would to the air; how long a contact is fresh.

    A row of cells that follows a slanting bead has steps in its side, which is longer than the bead's: each face
    counts as the part of the bead's side that it stands for, and at the ends of beads as their end.
    """
    lies = _along_sides(beads, lattice, laid)
    other = np.where(neighbour >= 0, area[neighbour], area[:, None])
    theirs = np.where((neighbour >= 0)[..., None], lies[neighbour], lies[:, None, :])
    faces = np.empty((area.size, 4, 4))
    faces[:, :, 0] = np.minimum(area[:, None], other) / area[:, None] / apart
    faces[:, :, 1] = area[:, None] / other
    for direction in range(4):
        axis = direction // 2
        faces[:, direction, 2] = lies[:, axis] / area
        # the flow between fresh half-spaces counts by the area; when it falls below a face's, by its square
        faces[:, direction, 3] = lies[:, axis] * theirs[:, direction, axis]
    return faces


def _along_sides(beads: Beads, lattice: Lattice, laid: Laid) -> Floats:
    """Return how much of a face across each axis lies along the sides of a column's beads: mean of layers by itself."""
    step = beads.end - beads.start
    heading = np.arctan2(step[:, 1], step[:, 0])
    turned = np.abs((np.diff(heading) + np.pi) % (2.0 * np.pi) - np.pi)
    goes_on = beads.joined[1:] & (turned < _CORNER)
    begins, ends = np.append(True, ~goes_on), np.append(~goes_on, True)
    c, s = np.abs(np.cos(heading - lattice.angle)), np.abs(np.sin(heading - lattice.angle))
    bead = laid.bead
    place = laid.along - np.concatenate([[0.0], np.cumsum(beads.length)])[bead]
    reach = 0.5 * (c * lattice.across[0] + s * lattice.across[1])[bead]
    at_end = (begins[bead] & (place < reach)) | (ends[bead] & (beads.length[bead] - place < reach))
    found = np.empty((laid.ix.size, 2))
    for axis, beside in enumerate((s, c)):
        side = np.where(at_end, np.minimum(c + s, 1.0)[bead], beside[bead])
        # layers whose beads run along the axis have no side across it, and say nothing of it
        weight = np.maximum(np.bincount(laid.column, side), 1e-9)
        found[:, axis] = np.bincount(laid.column, side**2) / weight
    return found


def borders_of(
    neighbour: Integers,
    block_of: Integers,
    blocks: int,
    across: tuple[float, float],
    area: Floats,
    faces: Floats,
) -> tuple[Integers, Floats, Floats]:
    """Return neighbouring blocks `(blocks, 4)`, their common border and the border to the air. [1/m]"""
    beside = np.full((blocks, 4), -1, dtype=np.int64)
    border, air = np.zeros((blocks, 4)), np.zeros(blocks)
    for direction in range(4):
        face = 1.0 / across[direction // 2]
        other = neighbour[:, direction]
        out, is_open = (other >= 0) & (block_of[other] != block_of), other < 0
        air += face * np.bincount(block_of, faces[:, direction, 2] * area * is_open, minlength=blocks)
        beside[block_of[out], direction] = block_of[other[out]]
        border[:, direction] = face * np.bincount(
            block_of, faces[:, direction, 0] * area * out, minlength=blocks
        )
    return beside, border, air
