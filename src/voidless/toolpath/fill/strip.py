"""Places of a region, or of strips along its edges, on which beads are laid and melt is compared with room."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from voidless.beads.spread import REACH_NOZZLES
from voidless.toolpath.fill.even_rules import DEAD, EVEN, LEAST_ROOM, LINES, MOST_ALONE, PLACES, STEP, Bools
from voidless.toolpath.fill.sweep import Lattice, lattice_over
from voidless.toolpath.fill.types import Fill, Floats
from voidless.toolpath.region import rings_of

__all__ = ["Beads", "Spans", "Strip", "grown", "strip_over"]

Integers = NDArray[np.int64]
Shares = NDArray[np.float32]

_BESIDE = 2
"""Tiles on each side of a bead in which its melt may lie. [1]"""
_LOOKED = 0.5
"""Way between places of an outline at which it is looked up in which tile they are. [tiles]"""


@dataclass(frozen=True, eq=False)
class Beads:
    """
    Straight beads in order, changed in place.

    Attributes
    ----------
    lines : (n, 4) float array
        Column and row of both ends. [places]
    area : (n,) float array
        What each lays. [places]
    away : (n,) bool array
        Which lie away from ends: strips of one width, if that is what they come to.
    """

    lines: Floats
    area: Floats
    away: Bools

    @property
    def middles(self) -> Floats:
        """Column and row of the middle of each. [places]"""
        return np.asarray((self.lines[:, :2] + self.lines[:, 2:]) / 2.0)


@dataclass(frozen=True, eq=False)
class Spans:
    """Columns, from and before, of rows of tiles: those of row k are `columns[first[k] : first[k + 1]]`. [places]"""

    first: Integers
    columns: Integers


@dataclass(frozen=True, eq=False)
class Strip:
    """
    Places in square tiles; only those of some tiles are looked at. Arrays are changed in place.

    Attributes
    ----------
    lattice : Lattice
        Where the places are.
    tile, half : int
        Places along the side of a tile, and to each side of a place in its square. [1]
    looked : (r, c) bool array
        Tiles in which melt is compared with room.
    wanted, given : Spans
        Of these tiles, and of them and those about them.
    reach : float
        How far melt flows at most. [places]
    fill, front, when : (rows, columns) arrays
        Melt, what the front at hand has put there, and at which portion it did so last. [places], [places], [1]
    share, room, off : (rows, columns) arrays
        Share of a place inside of the region; room of the square about it, 0 where it is not judged; how much too
        much melt that square has. [1], [places], [1]
    worst : (r, c) float array
        How far off the worst place of each tile is, 0 where it is even. [1]
    portions : (1,) int array
        Portions of melt that were laid. [1]
    """

    lattice: Lattice
    tile: int
    half: int
    looked: Bools
    wanted: Spans
    given: Spans
    reach: float
    fill: Shares
    front: Shares
    when: NDArray[np.int32]
    share: Shares
    room: Shares
    off: Shares
    worst: Floats
    portions: Integers

    def tile_of(self, places: Floats) -> tuple[Integers, Integers]:
        """Return the row and the column of the tile in which each place `(n, 2)` lies."""
        column, row = (places // self.tile).astype(np.int64).T
        return row, column

    def lay(self, beads: Beads, chosen: Integers) -> None:
        """Lay some beads in order where nothing lies."""
        from voidless.toolpath.fill.even_kernel import lay_evenly  # compiled, slow to import

        self.fill[:] = 0.0
        self.portions[0] = lay_evenly(
            self.fill, self.front, self.when, beads.lines, beads.area, beads.away, chosen, self.reach, STEP,
            int(self.portions[0] + 2.0 * self.reach / STEP) + 1,  # fronts of before are over
        )  # fmt: skip

    def compare(self) -> tuple[float, int]:
        """Return the sum of squares of what is beyond even, and how many places are not even."""
        from voidless.toolpath.fill.even_kernel import off_of, square_more  # compiled, slow to import

        square_more(
            self.fill, self.share, self.given.first, self.given.columns, self.wanted.first, self.wanted.columns,
            self.tile, self.half, self.off,
        )  # fmt: skip
        self.worst[:] = 0.0
        found: tuple[float, int] = off_of(
            self.off, self.room, self.wanted.first, self.wanted.columns, self.tile, EVEN, self.worst
        )
        return found

    def means(self, middles: Floats) -> Floats:
        """Return the mean of what is off over the squares about places. [1]"""
        from voidless.toolpath.fill.even_kernel import means_about  # compiled, slow to import

        least = LEAST_ROOM * (2 * self.half + 1) ** 2
        return np.asarray(means_about(self.off, self.room, middles, self.half, DEAD, least))


def grown(tiles: Bools, by: int) -> Bools:
    """Return tiles and those about them, so many to each side."""
    from scipy.ndimage import maximum_filter

    return np.asarray(maximum_filter(tiles, size=2 * by + 1, mode="constant", cval=False))


def _spans(tiles: Bools, tile: int, half: int, columns: int) -> Spans:
    """Return the columns of tiles, half a square from the edges of the lattice at least."""
    ends = np.diff(np.pad(tiles, ((0, 0), (1, 1))).astype(np.int8), axis=1)
    row, begin = np.nonzero(ends == 1)
    end = np.nonzero(ends == -1)[1]
    found = np.clip(np.column_stack([begin, end]) * tile, half, columns - half)
    return Spans(np.searchsorted(row, np.arange(len(tiles) + 1)), found)


def strip_over(region: Any, fill: Fill, middles_mm: Floats) -> Strip:
    """
    Return strips along the outlines of a region and some of its beads.

    Parameters
    ----------
    region : shapely Polygon or MultiPolygon
        What they fill. [mm]
    fill : Fill
        Pitch, width and nozzle.
    middles_mm : (n, 2) float array
        Middles of the beads. [mm]

    Returns
    -------
    strip : Strip
        With nothing laid.
    """
    from shapely.geometry.polygon import orient

    from voidless.toolpath.fill.even_kernel import (
        mark_shares,
        room_of,
        square_more,
    )  # compiled, slow to import

    lattice = lattice_over(region, fill, 1.0 / PLACES, MOST_ALONE * fill.pitch_mm, marked=False)
    shape, half = lattice.free.shape, int(fill.width_mm / lattice.place_mm / 2.0)
    tile = half + 2
    rings = [lattice.at(ring) for ring in rings_of(orient(region))]
    edges = np.vstack([np.hstack([ring[:-1], ring[1:]]) for ring in rings])
    tiles = np.zeros((-(-shape[0] // tile), -(-shape[1] // tile)), dtype=bool)
    for places in (lattice.at(middles_mm), _along(edges, _LOOKED * tile)):
        column, row = (places // tile).astype(np.int64).T
        tiles[row, column] = True
    looked = grown(tiles, _BESIDE)
    given, wanted = (_spans(some, tile, half, shape[1]) for some in (grown(looked, 1), looked))
    melt, front, share, room, off = (np.zeros(shape, np.float32) for _ in range(5))
    mark_shares(share, edges, LINES, given.first, given.columns, tile)
    square_more(melt, share, given.first, given.columns, wanted.first, wanted.columns, tile, half, room)
    room_of(room, share, wanted.first, wanted.columns, tile)
    return Strip(
        lattice, tile, half, looked, wanted, given, REACH_NOZZLES * fill.nozzle_mm / lattice.place_mm,
        melt, front, np.zeros(shape, np.int32), share, room, off, np.zeros(tiles.shape), np.zeros(1, np.int64),
    )  # fmt: skip


def _along(edges: Floats, step: float) -> Floats:
    """Return places along edges, so far apart at most."""
    number = np.maximum(1, np.ceil(np.hypot(*(edges[:, 2:] - edges[:, :2]).T) / step)).astype(np.int64)
    source = np.repeat(np.arange(len(edges)), number)
    place = np.arange(len(source)) - np.repeat(np.cumsum(number) - number, number)
    share = (place / number[source])[:, None]
    return np.asarray(edges[source, :2] * (1.0 - share) + edges[source, 2:] * share)
