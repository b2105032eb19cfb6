"""
Melt that spreads over a layer: nearest free room first, volume conserved.

A layer is a grid of cells, each with room for so much melt. The nozzle runs along its path in short steps;
each step's melt takes the free room nearest to the nozzle, at most `reach` away. What finds no room there
stays under the nozzle as over-fill. So beads are bounded by what lies there already and spread into what is
free, and a bead alone becomes a strip about its path.
"""

from __future__ import annotations

from dataclasses import dataclass

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
    origin = np.array([grid.x_mm, grid.y_mm])
    lines = np.hstack([(starts_mm - origin) / cell, (ends_mm - origin) / cell])
    if not reach_mm >= 2.0 * cell:
        raise InputError("spread", f"reach {reach_mm} mm", f"at least two cells of {cell} mm", "")
    if not np.all(area_mm2 >= 0.0):
        raise InputError("spread", "a bead's volume", "a number not below 0", "")
    edge, size = reach_mm / cell + 2.0, np.array([grid.columns, grid.rows] * 2)
    if not np.all((lines >= edge) & (lines < size - edge)):
        raise InputError(
            "spread", "a bead leaves the grid", f"beads {reach_mm} mm from its edge", "Widen it."
        )
    from voidless.beads.front_kernel import lay_beads  # compiled, slow to import

    fill = np.zeros(grid.shape, dtype=np.float32)
    rooms = np.zeros((0, 0), dtype=np.float32) if room is None else room
    lay_beads(fill, rooms, lines, np.asarray(area_mm2, dtype=float) / cell**2, reach_mm / cell, _STEP_CELLS)
    return fill
