"""What each bead has beside it: how much of the room it fills, and along how much of its sides another bead lies."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from voidless.physics.heat.history.grid import Beads, Cells

__all__ = ["room_filled", "sides_covered"]

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]

_PARALLEL = np.cos(np.deg2rad(30.0))  # beads that meet at more have no spacing
_NEAREST = 0.3  # of their width: beads nearer than this lie on each other


def room_filled(beads: Beads, told: Floats, cells: Cells) -> Floats:
    """
    Return the share of its room that each bead fills, at most 1.

    Parameters
    ----------
    beads : Beads
        What is laid.
    told : (n,) float array
        Width of each bead, section over thickness, as it is told. [m]
    cells : Cells
        The grid that the beads cover.

    Returns
    -------
    share : (n,) float array
        Mean width of two beads over the distance of their centre lines; mean over the welds
        beside. NaN where no bead lies along it. [1]
    """
    total, number = np.zeros(beads.layer.size), np.zeros(beads.layer.size)
    for direction in range(4):
        own, other, face, _ = _faces(cells, direction)
        spacing, along = _spacing(beads, own, other, face)
        width = 0.5 * (told[own] + told[other])
        known = along & (spacing > _NEAREST * width)
        share = np.minimum(width[known] / spacing[known], 1.0)
        for bead in (own[known], other[known]):
            total += np.bincount(bead, weights=share, minlength=total.size)
            number += np.bincount(bead, minlength=total.size)
    return np.where(number > 0.0, total / np.maximum(number, 1.0), np.nan)


def sides_covered(beads: Beads, cells: Cells) -> Floats:
    """
    Return along how much of its two sides another bead lies, whichever was laid first.

    Parameters
    ----------
    beads : Beads
        What is laid.
    cells : Cells
        The grid that the beads cover.

    Returns
    -------
    share : (n,) float array
        0 on a wall of one bead, 0.5 on an outer contour, 1 within a body. NaN where a bead covers no cell. [1]
    """
    count = beads.layer.size
    covered = np.zeros(count)
    way = _ways(beads)
    for direction in range(4):
        own, other, _, edge = _faces(cells, direction)
        apart = own != other
        for bead in (own[apart], other[apart]):
            covered += np.bincount(bead, weights=np.abs(way[bead] @ edge), minlength=count)
    # a bead is as long as the cells that it was given: cells of one size do not end where beads do
    held = np.bincount(cells.event_bead, minlength=count) * cells.across[0] * cells.across[1]
    sides = 2.0 * held / np.maximum(beads.width, 1e-12)
    return np.where(held > 0.0, np.minimum(covered / np.maximum(sides, 1e-12), 1.0), np.nan)


def _faces(cells: Cells, direction: int) -> tuple[Integers, Integers, Floats, Floats]:
    """
    Return every weld beside.

    The beads on both sides, the later one first, where they meet, and the face as a vector along it. [m]
    """
    bead_of = np.zeros(cells.cells, dtype=np.int64)
    bead_of[cells.event_cell] = cells.event_bead
    at = np.flatnonzero((cells.welds[cells.event_cell] >> direction) & 1)
    other = cells.neighbour[cells.event_column[at], direction]
    beside = cells.cell_start[other] + cells.event_layer[at] - cells.first_layer[other]
    turn = cells.lattice.angle + (np.pi / 2.0 if direction >= 2 else 0.0)
    step = (0.5 if direction % 2 else -0.5) * cells.across[direction // 2]
    normal = np.array([np.cos(turn), np.sin(turn)])
    edge = cells.across[1 - direction // 2] * np.array([-normal[1], normal[0]])
    return cells.event_bead[at], bead_of[beside], cells.event_xy[at] + step * normal, edge


def _ways(beads: Beads) -> Floats:
    """Return the directions in which beads are laid, of length 1."""
    return np.asarray((beads.end - beads.start) / np.maximum(beads.length, 1e-12)[:, None])


def _spacing(beads: Beads, own: Integers, other: Integers, face: Floats) -> tuple[Floats, NDArray[np.bool_]]:
    """Return the distance between two beads' centre lines at a place, and whether they lie along each other. [m]"""
    way = _ways(beads)
    away = [
        way[bead, 0] * (face[:, 1] - beads.start[bead, 1])
        - way[bead, 1] * (face[:, 0] - beads.start[bead, 0])
        for bead in (own, other)
    ]
    same = np.sum(way[own] * way[other], axis=1)
    return np.abs(away[0] - np.sign(same) * away[1]), np.abs(same) > _PARALLEL
