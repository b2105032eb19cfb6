"""
Melt that spreads over a layer: nearest free room first, volume conserved.

A layer is a grid of cells, each with room for so much melt. The nozzle runs along its path in short steps;
each step's melt takes the free room nearest to the nozzle, at most `reach` away. What finds no room there
stays under the nozzle as over-fill. So beads are bounded by what lies there already and spread into what is
free, and a bead alone becomes a strip about its path.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from voidless.errors import InputError

__all__ = ["REACH_NOZZLES", "Grid", "grid_over", "spread"]

Floats = NDArray[np.float64]
Cells = NDArray[np.float32]

REACH_NOZZLES = 1.25
"""Radius of the flat end of a nozzle, under which melt is pressed. [nozzle diameters] Common practice, no source."""
_STEP_CELLS = 1.0
"""Way of the nozzle between two portions of melt. [cells]"""
_FINEST = 80.0
_LEAST = 8
"""
Parts in which a cell fills while a front of melt passes over it, so that fronts lie between cells: at least the second
number, and so many that the reach holds the first. Places within a cell are told apart likewise, twice as finely where
cells are coarse.
"""
_DITHER = (0.7548776662466927, 0.5698402909980532)
"""
Places within a cell are rounded up or down in turn, by the fractions of the multiples of these numbers, which spread
evenly over a square (M. Roberts 2018, from memory): rounded one way along a whole bead they would shift it by up to a
sixteenth of a cell.
"""
_ROUNDED = 0.2
"""What two roundings to such places may add up to. [cells]"""


@dataclass(frozen=True)
class Grid:
    """
    Square cells over a rectangle; arrays on it are `(rows, columns)`, row 0 at the lowest Y.

    Attributes
    ----------
    x_mm, y_mm : float
        Lower left corner. [mm]
    rows, columns : int
        Number of cells in Y and X.
    cell_mm : float
        Side of a cell. [mm]
    """

    x_mm: float
    y_mm: float
    rows: int
    columns: int
    cell_mm: float

    @property
    def shape(self) -> tuple[int, int]:
        """Rows and columns."""
        return self.rows, self.columns


def grid_over(box_mm: tuple[float, float, float, float], margin_mm: float, cell_mm: float) -> Grid:
    """
    Return a grid over a box with a margin.

    Parameters
    ----------
    box_mm : (float, float, float, float)
        Lowest X and Y, highest X and Y. [mm]
    margin_mm : float
        Room on all sides. [mm]
    cell_mm : float
        Side of a cell. [mm]

    Returns
    -------
    grid : Grid
        Covers box and margin.

    Raises
    ------
    InputError
        The cell is not positive or the box is no box.
    """
    x0, y0, x1, y1 = box_mm
    level = margin_mm > 0.0  # a box without depth, as of one straight bead, still has its margin
    if not (cell_mm > 0.0 and (x1 > x0 or (level and x1 == x0)) and (y1 > y0 or (level and y1 == y0))):
        raise InputError("grid", f"box {box_mm} mm, cell {cell_mm} mm", "a box and a cell above 0 mm", "")
    columns = int(np.ceil((x1 - x0 + 2.0 * margin_mm) / cell_mm)) + 1
    rows = int(np.ceil((y1 - y0 + 2.0 * margin_mm) / cell_mm)) + 1
    return Grid(x0 - margin_mm, y0 - margin_mm, rows, columns, cell_mm)


@dataclass(frozen=True, eq=False)
class _Order:
    """
    Parts of cells about the nozzle in the order in which the front reaches them, for every phase of its middle.

    `rows`, `columns`, `distance` and `most` (how much of a cell the front has passed) are `(phases, n)`, `first`
    `(phases, k)` the first part at each quarter of a cell. `levels` are the parts of a cell,
    `phases` the places in it per direction.
    """

    levels: int
    phases: int

    rows: NDArray[np.int16]
    columns: NDArray[np.int16]
    distance: Cells
    most: Cells
    first: NDArray[np.int64]


@cache
def _order(reach_cells: float) -> _Order:
    far = int(np.ceil(reach_cells)) + 1
    levels = max(_LEAST, int(np.ceil(_FINEST / reach_cells)))
    phases = max(_LEAST, int(np.ceil(2.0 * _FINEST / reach_cells)))
    rows, columns = (part.ravel() for part in np.mgrid[-far : far + 1, -far : far + 1])
    rows, columns = np.repeat(rows, levels), np.repeat(columns, levels)
    part = np.tile(np.arange(levels), len(rows) // levels)
    middles = (np.arange(phases) + 0.5) / phases - 0.5
    found = []
    number = int(np.pi * reach_cells**2) * levels  # the same for all phases, so that the table is square
    for y in middles:
        for x in middles:
            distance = np.hypot(rows - y, columns - x) + (part + 0.5) / levels - 0.5
            order = np.argsort(distance, kind="stable")[:number]
            first = np.searchsorted(distance[order], np.arange(4 * far + 8) / 4.0).clip(max=number - 1)
            most = (part[order] + 1.0) / levels
            found.append((rows[order], columns[order], distance[order], most, first))
    rows, columns, distance, most, first = (np.array(each) for each in zip(*found, strict=True))
    return _Order(
        levels,
        phases,
        rows.astype(np.int16),
        columns.astype(np.int16),
        distance.astype(np.float32),
        most.astype(np.float32),
        first,
    )


@cache
def _kernel() -> Callable[..., None]:
    from voidless.compiling import njit  # slow to import

    def lay(
        fill: Any, room: Any, starts: Any, ends: Any, melt: Any, step: float,
        rows: Any, columns: Any, distance: Any, most: Any, first: Any, under: int, phases: int, fresh: int,
    ) -> None:  # fmt: skip
        number = rows.shape[1]
        given = np.zeros(fill.shape, np.float32)  # what the front at hand has put into a cell
        when = np.full(fill.shape, -fresh - 1, np.int32)  # and at which portion of melt it did so
        now = 0
        for bead in range(len(melt)):
            dy, dx = ends[bead, 0] - starts[bead, 0], ends[bead, 1] - starts[bead, 1]
            portions = max(1, int(np.ceil(np.hypot(dx, dy) / step)))
            full = 0.0  # all cells nearer than this are full
            way = np.hypot(dx, dy) / portions
            for portion in range(portions):
                share = (portion + 0.5) / portions
                y0 = starts[bead, 0] + share * dy + ((now * _DITHER[0]) % 1.0 - 0.5) / phases
                x0 = starts[bead, 1] + share * dx + ((now * _DITHER[1]) % 1.0 - 0.5) / phases
                row, column = int(np.floor(y0)), int(np.floor(x0))
                phase = int((y0 - row) * phases) * phases + int((x0 - column) * phases)
                left = melt[bead] / portions
                place = first[phase, max(0, int(4.0 * (full - way - _ROUNDED)))]
                while place < number:
                    y, x = row + rows[phase, place], column + columns[phase, place]
                    free = room[y, x] - fill[y, x]
                    if free > 0.0:
                        if now - when[y, x] > fresh:  # another front, maybe from the other side
                            given[y, x] = 0.0
                        free = min(free, most[phase, place] * room[y, x] - given[y, x])
                    if free > 0.0:
                        when[y, x] = now
                        if free >= left:
                            fill[y, x] += left
                            given[y, x] += left
                            left = 0.0
                            break
                        fill[y, x] += free
                        given[y, x] += free
                        left -= free
                    place += 1
                now += 1
                full = distance[phase, min(place, number - 1)]
                if left > 0.0:
                    for place in range(under):
                        fill[row + rows[phase, place], column + columns[phase, place]] += left / under

    return njit(cache=True, nogil=True)(lay)


def spread(
    starts_mm: Floats,
    ends_mm: Floats,
    area_mm2: Floats,
    grid: Grid,
    reach_mm: float,
    room: Cells | None = None,
) -> Cells:
    """
    Return how full each cell is after beads are laid one after the other.

    Parameters
    ----------
    starts_mm, ends_mm : (n, 2) float array
        Ends of the straight beads in the order in which they are laid. [mm]
    area_mm2 : (n,) float array
        Volume of each over layer thickness. [mm²]
    grid : Grid
        Cells; beads keep `reach_mm` from its edge.
    reach_mm : float
        How far from the nozzle's middle melt finds room. [mm]
    room : (rows, columns) float array or None
        Room of each cell in layer thicknesses; None is 1 everywhere. [1]

    Returns
    -------
    fill : (rows, columns) float array
        Melt in each cell over that of a cell filled to the layer thickness; above its room is over-fill. [1]

    Raises
    ------
    InputError
        A bead comes nearer to the grid's edge than `reach_mm`, a volume is negative or not a number, or the
        reach is under two cells.

    Notes
    -----
    This project's own model of squeezed melt: nearest first stands for the pressure that falls with distance
    from the nozzle. Gravity, surface tension and the time that flow takes are left out.
    """
    cell = grid.cell_mm
    origin = np.array([grid.y_mm, grid.x_mm])
    starts, ends = ((points[:, ::-1] - origin) / cell for points in (starts_mm, ends_mm))
    if not reach_mm >= 2.0 * cell:
        raise InputError("spread", f"reach {reach_mm} mm", f"at least two cells of {cell} mm", "")
    if not np.all(area_mm2 >= 0.0):
        raise InputError("spread", "a bead's volume", "a number not below 0", "")
    edge, both = reach_mm / cell + 2.0, np.vstack([starts, ends])
    if not np.all((both >= edge) & (both < np.array(grid.shape) - edge)):
        raise InputError(
            "spread", "a bead leaves the grid", f"beads {reach_mm} mm from its edge", "Widen it."
        )
    fill = np.zeros(grid.shape, dtype=np.float32)
    given = np.ones(grid.shape, dtype=np.float32) if room is None else room
    order = _order(reach_mm / cell)
    under = max(1, int(np.pi * (reach_mm / cell / 2.0) ** 2)) * order.levels
    _kernel()(
        fill, given, starts, ends, np.asarray(area_mm2, dtype=float) / cell**2, _STEP_CELLS,
        order.rows, order.columns, order.distance, order.most, order.first, under, order.phases,
        int(2.0 * reach_mm / cell / _STEP_CELLS),
    )  # fmt: skip
    return fill
