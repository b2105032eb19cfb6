"""
Independent judge of a layer: lays the written beads one after the other and looks at what they fill.

It knows nothing of any plan: it reads positions and fed filament alone, lets each bead spread over fine
cells (`voidless.beads.spread`) and compares with the section that the layer should fill.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from voidless.beads.spread import REACH_NOZZLES, Grid, grid_over, spread
from voidless.errors import InputError
from voidless.toolpath.moves import Moves
from voidless.toolpath.section_mask import Exclusion, coverage_of, exclusions, mask_of

__all__ = ["Verdict", "judge_beads", "judge_layer"]

Floats = NDArray[np.float64]
Cells = NDArray[np.float32]
Bools = NDArray[np.bool_]

_CELL_MM, _FINE_MM, _FINE_BOX_MM2 = 0.01, 0.005, 400.0
"""
Side of a cell, and in boxes up to a size: there 1 % of the area is a few corners, which cells of 10 µm show up to 0.5 %
off (cells of 5 and of 2.5 µm agree).
"""
_TOLERANCE = 0.01
_OPEN = 0.5
"""A cell filled to less than this is part of a gap. [1]"""


@dataclass(frozen=True, eq=False)
class Verdict:
    """
    How well one layer fills its section.

    Attributes
    ----------
    area_mm2 : float
        Area judged: the section without what is excluded. [mm²]
    volume_error : float
        Deposited volume over that of the section, minus 1. [1]
    good_share : float
        Share of the area whose local fill is within 1 % of full, at a resolution of one bead width. [1]
    fill_low, fill_high : float
        Lowest and highest local fill. [1]
    gap_share : float
        Area of enclosed gaps over the area judged. [1]
    gap_largest_mm2 : float
        Largest enclosed gap. [mm²]
    gap_place_mm : (float, float)
        A place in it; NaN without gap. [mm]
    open_share : float
        Area inside of the section left open along its outline over the area judged. [1]
    spill_share : float
        Melt outside of the section over its area. [1]
    width_low_mm, width_high_mm : float
        Least and greatest width of the room a bead fills, volume over length and layer thickness. [mm]
    width_outside_share : float
        Share of the bead length whose width is under 0.8 or over 2 nozzle diameters. [1]
    excluded : tuple of Exclusion
        Sharp corners and narrow necks that are not judged.
    fill, local, inside : (rows, columns) arrays
        Fill of each cell, local fill, and whether it is judged. [1]
    grid : Grid
        Place of the cells.
    """

    area_mm2: float
    volume_error: float
    good_share: float
    fill_low: float
    fill_high: float
    gap_share: float
    gap_largest_mm2: float
    gap_place_mm: tuple[float, float]
    open_share: float
    spill_share: float
    width_low_mm: float
    width_high_mm: float
    width_outside_share: float
    excluded: tuple[Exclusion, ...]
    fill: Cells
    local: Cells
    inside: Bools
    grid: Grid

    @property
    def passes(self) -> bool:
        """Whether the layer meets the target: fill, gaps, volume, and every width within 0.8 to 2 nozzle diameters."""
        return (
            self.good_share >= 0.99
            and self.gap_share < 0.0005
            and self.gap_largest_mm2 <= 0.005
            and abs(self.volume_error) <= 0.001
            and self.width_outside_share == 0.0
        )


def _air(region: Any, parts: NDArray[np.integer], grid: Grid) -> list[int]:
    """Return which parts of what is free are the air around a region and in its holes: no gaps, but ways out."""
    from shapely import Polygon, maximum_inscribed_circle

    found = [int(parts[0, 0])]
    for shape in getattr(region, "geoms", [region]):
        for ring in shape.interiors:
            x, y = maximum_inscribed_circle(Polygon(ring), grid.cell_mm).coords[0]
            cell = (int((y - grid.y_mm) / grid.cell_mm), int((x - grid.x_mm) / grid.cell_mm))
            found.append(int(parts[cell]))
    return [part for part in found if part > 0]


def _gaps(
    fill: Cells, inside: Bools, region: Any, grid: Grid
) -> tuple[float, float, tuple[float, float], float]:
    """Return area of enclosed gaps, of the largest and its place, and area open along the outline. [mm²]"""
    from scipy.ndimage import label

    free = fill < _OPEN
    parts, _ = label(free)  # joined over edges: a way out is at least one cell wide
    outside = np.isin(parts, _air(region, parts, grid))
    lack = np.where(inside & free, 1.0 - fill, 0.0) * grid.cell_mm**2
    closed, number = label(free & ~outside, structure=np.ones((3, 3), dtype=int))
    if number == 0:
        return 0.0, 0.0, (np.nan, np.nan), float(lack[outside].sum())
    sizes = np.bincount(closed.ravel(), weights=lack.ravel(), minlength=number + 1)
    sizes[0] = 0.0
    row, column = np.argwhere(closed == int(sizes.argmax()))[0]
    place = (grid.x_mm + (column + 0.5) * grid.cell_mm, grid.y_mm + (row + 0.5) * grid.cell_mm)
    return float(sizes.sum()), float(sizes.max()), place, float(lack[outside].sum())


def _local(fill: Cells, section: Cells, window: int) -> Cells:
    """Return melt over room in a square of `window` cells about each cell, 1 where there is no room."""
    from scipy.ndimage import uniform_filter

    melt = uniform_filter(
        fill, window, output=np.float64, mode="constant"
    )  # running sums: no single precision
    room = uniform_filter(section, window, output=np.float64, mode="constant")
    share = np.divide(melt, room, out=np.ones_like(melt), where=(section >= 0.5) & (room > 0.0))
    return share.astype(np.float32)


def judge_beads(
    starts_mm: Floats,
    ends_mm: Floats,
    area_mm2: Floats,
    region: Any,
    nozzle_mm: float,
    bead_mm: float,
    cell_mm: float | None = None,
) -> Verdict:
    """
    Return how well beads fill a region.

    Parameters
    ----------
    starts_mm, ends_mm : (n, 2) float array
        Ends of the beads in the order in which they are laid. [mm]
    area_mm2 : (n,) float array
        Volume of each over layer thickness. [mm²]
    region : shapely Polygon or MultiPolygon
        The section to fill. [mm]
    nozzle_mm : float
        Nozzle diameter: reach of the melt, and measure of what is excluded. [mm]
    bead_mm : float
        Bead width, the resolution of local fill. [mm]
    cell_mm : float or None
        Side of a cell; None is 0.01, or 0.005 where the box about the region is under 400 mm². [mm]

    Returns
    -------
    verdict : Verdict
        How well the region is filled.

    Raises
    ------
    InputError
        There is no bead or no region, or a bead strays from the region by more than two nozzle diameters.

    Notes
    -----
    Melt takes the free room nearest to the nozzle, up to one nozzle diameter away: half of the widest bead
    allowed. Local fill is melt over room in a square of one bead width; melt outside of the outline counts
    as melt. Not judged: within one nozzle radius of corners sharper than 90 degrees, and necks narrower
    than 0.8 nozzle diameters.
    """
    if not len(area_mm2) or not region.area > 0.0:
        raise InputError("judge", "no bead or no section", "a layer with beads and a section", "")
    if cell_mm is None:
        x0, y0, x1, y1 = region.bounds
        cell_mm = _FINE_MM if (x1 - x0) * (y1 - y0) < _FINE_BOX_MM2 else _CELL_MM
    grid = grid_over(region.bounds, 3.0 * REACH_NOZZLES * nozzle_mm + 4.0 * cell_mm, cell_mm)
    fill = spread(starts_mm, ends_mm, area_mm2, grid, REACH_NOZZLES * nozzle_mm)
    section = coverage_of(region, grid)
    left_out = exclusions(region, nozzle_mm)
    inside = section >= 0.5
    for item in left_out:
        inside &= ~mask_of(item.region, grid)
    window = max(1, 2 * int(bead_mm / cell_mm / 2.0) + 1)
    local = _local(fill, section, window)
    gaps, largest, place, lacking = _gaps(fill, inside, region, grid)
    area = float(inside.sum()) * cell_mm**2
    length = np.hypot(*(ends_mm - starts_mm).T)
    width = area_mm2 / length
    outside = (width < 0.8 * nozzle_mm * (1 - 1e-6)) | (width > 2.0 * nozzle_mm * (1 + 1e-6))
    judged = local[inside]
    return Verdict(
        area_mm2=area,
        volume_error=float(area_mm2.sum() / region.area - 1.0),
        good_share=float(np.mean(np.abs(judged - 1.0) <= _TOLERANCE)),
        fill_low=float(judged.min()),
        fill_high=float(judged.max()),
        gap_share=gaps / area,
        gap_largest_mm2=largest,
        gap_place_mm=place,
        open_share=lacking / area,
        spill_share=float(fill[section < 0.5].sum()) * cell_mm**2 / region.area,
        width_low_mm=float(width.min()),
        width_high_mm=float(width.max()),
        width_outside_share=float(length[outside].sum() / length.sum()),
        excluded=left_out,
        fill=fill,
        local=local,
        inside=inside,
        grid=grid,
    )


def judge_layer(
    moves: Moves, layer: int, region: Any, layer_mm: float, nozzle_mm: float, bead_mm: float,
    cell_mm: float | None = None,
) -> Verdict:  # fmt: skip
    """
    Return how well one layer of moves fills its section.

    Parameters
    ----------
    moves : Moves
        Planned, or read from a file; their kinds are not looked at.
    layer : int
        Number of the layer, from 0.
    region : shapely Polygon or MultiPolygon
        The section to fill, in the coordinates of the moves. [mm]
    layer_mm, nozzle_mm, bead_mm : float
        Layer thickness, nozzle diameter, bead width. [mm]
    cell_mm : float or None
        Side of a cell; None is 0.01, or 0.005 where the box about the region is under 400 mm². [mm]

    Returns
    -------
    verdict : Verdict
        As of `judge_beads`.

    Raises
    ------
    InputError
        As of `judge_beads`.
    """
    chosen = moves.deposits & (moves.layer == layer)
    ends = np.column_stack([moves.x_mm, moves.y_mm])[chosen]
    starts = ends - moves.steps_mm[chosen, :2]
    area = moves.volume_mm3[chosen] / layer_mm
    return judge_beads(starts, ends, area, region, nozzle_mm, bead_mm, cell_mm)
