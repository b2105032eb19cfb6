"""How beads are corrected by what squares about them lack: areas within their limits, short beads moved towards it."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from voidless.toolpath.fill.sweep import Lattice
from voidless.toolpath.fill.types import Fill, Floats, Walk

__all__ = [
    "DEAD", "EVEN", "GAIN", "LEAST_ROOM", "LINES", "MOST_ALONE", "PIECE", "PLACES", "STEP", "Bools", "area_limits",
    "lone_beads", "moved_beads", "parts_of",
]  # fmt: skip

Bools = NDArray[np.bool_]

EVEN = 0.008
"""How even melt has to be: 1 %, less what cells and rounding in a file make of it. [1]"""
GAIN = 2.4
"""How much of what a piece's surroundings lack it gets in a round. [1]"""
DEAD = 0.002
"""What counts as nothing: the lattice knows no better. [1]"""
LEAST_ROOM = 0.25
"""Least share of a square that is room when the mean over it is formed: as at a corner. [1]"""
_ALONE, _SHARE = 0.25, 0.3
"""Longest bead that stands alone, and what it is taken for, since it has little area of its own. [pitches, squared]"""
_LEAST_ALONE, MOST_ALONE = 0.006, 0.5
"""Least and greatest area of such a bead; it is one nozzle wide, and as long as its area wants. [pitches squared]"""
_ABOUT, _PULL, _STRIDE = 0.55, 0.3, 0.05
"""Within which distance such a bead is pulled towards what lacks, [pitches], how strongly, [1], how far at most in a
round, [pitches]."""
PIECE = 0.4
"""Longest piece that is corrected as one. [pitches]"""
PLACES = 28.0
"""Places in a pitch, at least. [1]"""
STEP = 2.0
"""Way over which melt is laid at a time. [places]"""
LINES = 4
"""Lines through a place on which its share inside of the region is looked at. [1]"""


def lone_beads(walk: Walk, fill: Fill) -> Bools:
    """Return which beads are short ones between ways on which nothing is laid."""
    laid = np.concatenate([[False], walk.laid, [False]])
    return np.asarray(walk.laid & ~laid[:-2] & ~laid[2:] & (walk.length_mm < _ALONE * fill.pitch_mm))


def area_limits(walk: Walk, alone: Bools, fill: Fill) -> tuple[Floats, Floats]:
    """Return the least and the greatest area that each bead may get, its own one among them. [mm²]"""
    lowest, highest = fill.areas_mm2(walk.length_mm)
    lowest, highest = np.minimum(lowest, walk.area_mm2), np.maximum(highest, walk.area_mm2)
    lowest[alone], highest[alone] = _LEAST_ALONE * fill.pitch_mm**2, MOST_ALONE * fill.pitch_mm**2
    return lowest, highest


def parts_of(area_mm2: Floats, alone: Bools, fill: Fill) -> Floats:
    """Return the area by which corrections of beads are measured. [mm²]"""
    return np.where(alone, _SHARE * fill.pitch_mm**2, area_mm2)


def moved_beads(
    points: Floats, some: NDArray[np.int64], area_mm2: Floats, off: Any, dead: float, held: Any, lattice: Lattice,
    fill: Fill,
) -> tuple[Floats, Floats]:  # fmt: skip
    """
    Return both ends of short beads that lie nearer to what lacks, each as long as its area wants.

    Parameters
    ----------
    points : (n, 2) float array
        Ends of all moves. [mm]
    some : (m,) int array
        Numbers of the beads.
    area_mm2 : (m,) float array
        What each is to lay. [mm²]
    off : (rows, columns) float array
        How much too much each place has. [1]
    dead : float
        What of it counts as nothing. [1]
    held : (rows, columns) array
        Above 0 where a bead may go.
    lattice : Lattice
        The places.
    fill : Fill
        Pitch and nozzle.

    Returns
    -------
    starts, ends : (m, 2) float array
        Of the beads. [mm]
    """
    from voidless.toolpath.fill.even_kernel import first_moments  # compiled, slow to import

    place, starts, ends = lattice.place_mm, points[some - 1], points[some]
    middles = (lattice.at(starts) + lattice.at(ends)) / 2.0
    moments = first_moments(off, middles, _ABOUT * fill.pitch_mm / place, dead)
    step = -_PULL * moments * place**2 / area_mm2[:, None]  # places
    most = _STRIDE * fill.pitch_mm / place
    step *= np.minimum(1.0, most / np.maximum(np.hypot(*step.T), 1e-12))[:, None]
    way = ends - starts
    way *= (fill.dab_mm(area_mm2) / np.maximum(np.hypot(*way.T), 1e-12))[:, None]
    column, row = (middles + step).astype(np.int64).T
    step *= (held[row, column] > 0.0)[:, None]
    middle = (starts + ends) / 2.0 + step @ lattice.turn.T * place
    return middle - way / 2.0, middle + way / 2.0
