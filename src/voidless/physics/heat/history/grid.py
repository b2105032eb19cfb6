"""Beads as cells: a grid that follows the raster, who laid each cell and when, and which faces are welds."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from voidless.errors import InputError
from voidless.physics.guards import require_positive
from voidless.physics.heat.history.faces import Laid, borders_of, faces_of, neighbours_of
from voidless.physics.heat.history.lattice import Lattice, lattice_of
from voidless.physics.heat.history.types import Method

__all__ = ["Beads", "Cells", "cells_of", "retimed"]

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]

_GROUP = 4  # layers that become one row of the coarse body
_BLOCK = (2e-3, 2e-3)  # [m] size of the blocks that quiet columns are stepped in
_BLOCK_ALONG = (3e-3, 1.5e-3)  # [m] where beads lie one way: fewer passes keep a narrow one awake
_MOST_COLUMNS = 20_000_000
_ROUNDING = 1e-9
_LEAST = 0.05  # of a cell: a column that has less than this of one counts as that
_SAME_PASS = 1.5  # cells nearer than this along the bead, over their distance, are one pass and no weld


@dataclass(frozen=True, eq=False)
class Beads:
    """
    Straight pieces of bead in the order in which they are laid. SI.

    Attributes
    ----------
    start, end : (n, 2) float array
        Ends of the centre line. [m]
    layer : (n,) int array
        Number of the layer, from 0.
    time_start, time_end : (n,) float array
        When the nozzle is at the ends. [s]
    width : (n,) float array
        Section over layer thickness: what the bead fills of a full layer. [m]
    warm : (n,) float array
        Temperature as laid. [K]
    air : (n,) float array
        Heat-transfer coefficient to the air while the piece is laid. [W/(m² K)]
    joined : (n,) bool array
        Whether the piece goes on from the end of the one before.
    thick : (layers,) float array
        Thickness of each layer. [m]
    """

    start: Floats
    end: Floats
    layer: Integers
    time_start: Floats
    time_end: Floats
    width: Floats
    warm: Floats
    air: Floats
    joined: NDArray[np.bool_]
    thick: Floats

    def __post_init__(self) -> None:
        if not len(self.layer):
            raise InputError("heat history", "no bead", "at least one", "Give a path that lays material.")
        require_positive("Beads", width=self.width, warm=self.warm, thick=self.thick)
        if not np.all(self.time_end >= self.time_start):
            raise InputError("heat history", "a bead that ends before it starts", "rising times", "Check it.")

    @property
    def length(self) -> Floats:
        """Length of each piece. [m]"""
        return np.asarray(np.hypot(*(self.end - self.start).T))


@dataclass(frozen=True, eq=False)
class Cells:
    """
    The body as columns of cells, one cell a layer, in blocks of columns; events are cells in order of time.

    Attributes
    ----------
    lattice : Lattice
        Where the grid lies.
    filled : float
        Volume of the cells over volume of the beads: how well the grid keeps the volume. [1]
    event_bead : (cells,) int array
        Piece of bead that laid each cell, in order of time.
    event_cell : (cells,) int array
        Place of each event's cell among the cells.
    """

    lattice: Lattice
    filled: float
    coarse: int
    fine: int
    group: int
    block_shape: tuple[int, int]
    thick: Floats
    body_thick: Floats
    block_of: Integers
    neighbour: Integers
    first_layer: Integers
    cell_start: Integers
    member: Integers
    block_first: Integers
    block_cells: Floats
    block_beside: Integers
    block_border: Floats
    block_air: Floats
    area: Floats
    faces: Floats
    welds: NDArray[np.uint8]
    sides: NDArray[np.uint8]
    odd: Integers
    event_column: Integers
    event_layer: Integers
    event_time: Floats
    event_warm: Floats
    event_air: Floats
    event_bead: Integers
    event_pass: NDArray[np.uint8]
    event_cell: Integers
    event_xy: Floats

    @property
    def across(self) -> tuple[float, float]:
        """Size of a cell. [m]"""
        return self.lattice.across

    @property
    def columns(self) -> int:
        """Number of columns."""
        return self.block_of.size

    @property
    def blocks(self) -> int:
        """Number of blocks."""
        return self.block_cells.size

    @property
    def cells(self) -> int:
        """Number of cells, those of gaps below bridges included."""
        return self.welds.size


def cells_of(beads: Beads, method: Method) -> Cells:
    """
    Return the cells that beads fill.

    Parameters
    ----------
    beads : Beads
        Pieces in the order in which they are laid.
    method : Method
        How finely to cut.

    Returns
    -------
    cells : Cells
        Each cell belongs to the bead whose centre line is nearest to its centre, within half the bead's width.

    Raises
    ------
    InputError
        The grid would be too large.
    """
    from voidless.physics.heat.history.raster import cover

    lattice = lattice_of(beads, method)
    if lattice.shape[0] * lattice.shape[1] > _MOST_COLUMNS:
        raise InputError(
            "heat history", f"{lattice.shape} columns", f"at most {_MOST_COLUMNS}", "Cut the path out."
        )
    across = lattice.across
    local0, local1 = lattice.to_grid(beads.start), lattice.to_grid(beads.end)
    order = np.argsort(beads.layer, kind="stable")
    position = np.concatenate([[0.0], np.cumsum(beads.length)])[:-1]
    joins = np.zeros((len(order), 2), dtype=bool)
    joins[:, 0] = beads.joined
    joins[:-1, 1] = beads.joined[1:]
    place, layer, time, bead, along, area = cover(
        order,
        np.column_stack([local0, local1]),
        beads.layer,
        beads.time_start,
        beads.time_end,
        beads.width,
        joins,
        position,
        lattice.shape,
        across,
    )
    if not place.size:
        raise InputError("heat history", "no cell is covered", "beads wider than nothing", "Check widths.")
    order = np.argsort(time, kind="stable")
    place, layer, time, bead, along, area = (a[order] for a in (place, layer, time, bead, along, area))
    return _arrange(beads, method, lattice, place, layer, time, bead, along, area)


def retimed(cells: Cells, was: Beads, now: Beads) -> Cells:
    """
    Return the cells of a path for beads that lie as before but are laid at other times or temperatures.

    Raises
    ------
    InputError
        The beads lie elsewhere, or cells would be laid in another order.
    """
    for name in ("start", "end", "layer", "width", "thick"):
        if not np.array_equal(getattr(was, name), getattr(now, name)):
            raise InputError(
                "heat history", f"beads of another {name}", "the same path for all", "Compute it by itself."
            )
    bead = cells.event_bead
    took = np.maximum(was.time_end - was.time_start, 1e-12)[bead]
    share = np.clip((cells.event_time - was.time_start[bead]) / took, 0.0, 1.0)
    time = now.time_start[bead] + share * (now.time_end - now.time_start)[bead]
    if np.any(np.diff(time) < -1e-9):
        raise InputError(
            "heat history", "another order of beads", "the same for all", "Compute it by itself."
        )
    return replace(cells, event_time=time, event_warm=now.warm[bead], event_air=now.air[bead])


def _arrange(
    beads: Beads,
    method: Method,
    lattice: Lattice,
    place: Integers,
    layer: Integers,
    time: Floats,
    bead: Integers,
    along: Floats,
    area: Floats,
) -> Cells:
    """Return columns, blocks and welds of covered places."""
    across = lattice.across
    shape = lattice.shape
    where, column = np.unique(place, return_inverse=True)
    ix, iy = where // shape[1], where % shape[1]
    first = np.full(where.size, np.iinfo(np.int64).max)
    last = np.full(where.size, -1)
    np.minimum.at(first, column, layer)
    np.maximum.at(last, column, layer)
    start = np.concatenate([[0], np.cumsum(last - first + 1)])
    cell = start[column] + layer - first[column]
    laid = Laid(column, layer, bead, cell, along, ix, iy, first, last, start[:-1])
    neighbour, apart = neighbours_of(beads, lattice, laid)
    welds, in_pass = _welds(across, neighbour, column, layer, time, along, first, last, start, cell)
    size = _BLOCK if across[0] < 1.5 * across[1] else _BLOCK_ALONG
    block_shape = tuple(max(1, round(whole / width)) for whole, width in zip(size, across, strict=True))
    tiles = (ix // block_shape[0]) * (shape[1] // block_shape[1] + 1) + iy // block_shape[1]
    _, block_of = np.unique(tiles, return_inverse=True)
    member = np.argsort(block_of, kind="stable")
    counts = np.bincount(block_of)
    part = np.maximum(np.bincount(column, area) / np.bincount(column), _LEAST)
    part[np.abs(part - 1.0) < _ROUNDING] = 1.0
    faces = faces_of(beads, lattice, laid, neighbour, apart, part)
    beside, border, air = borders_of(neighbour, block_of, counts.size, across, part, faces)
    thick = beads.thick
    groups = -(-thick.size // _GROUP)
    body_thick = np.add.reduceat(thick, np.arange(groups) * _GROUP)
    layers = max(method.depth_layers, int(np.ceil(min(method.depth / thick.min(), thick.size))))
    fine = max(method.fine_layers, int(np.ceil(method.fine_depth / thick.min())))
    volume = float(np.sum(beads.length * beads.width * thick[beads.layer]))
    return Cells(
        lattice=lattice,
        filled=float(np.sum(thick[layer] * part[column])) * across[0] * across[1] / volume,
        coarse=-(-max(layers - fine, 0) // _GROUP) * _GROUP,
        fine=fine + _GROUP - 1,
        group=_GROUP,
        block_shape=(block_shape[0], block_shape[1]),
        thick=np.concatenate([thick, np.full(_GROUP, thick[-1])]),
        body_thick=body_thick,
        block_of=block_of.astype(np.int64),
        neighbour=neighbour,
        first_layer=first,
        cell_start=start[:-1],
        member=member,
        block_first=np.concatenate([[0], np.cumsum(counts)]),
        block_cells=np.bincount(block_of, part).astype(np.float64),
        block_beside=beside,
        block_border=border,
        block_air=air,
        area=part,
        faces=faces,
        welds=welds,
        sides=np.bitwise_or.reduceat(welds, start[:-1]),
        odd=(ix + iy) & 1,
        event_column=column.astype(np.int64),
        event_layer=layer,
        event_time=time,
        event_warm=beads.warm[bead],
        event_air=beads.air[bead],
        event_bead=bead,
        event_pass=in_pass,
        event_cell=cell,
        event_xy=lattice.from_grid(
            np.column_stack([(ix[column] + 0.5) * across[0], (iy[column] + 0.5) * across[1]])
        ),
    )


def _welds(
    across: tuple[float, float],
    neighbour: Integers,
    column: Integers,
    layer: Integers,
    time: Floats,
    along: Floats,
    first: Integers,
    last: Integers,
    start: Integers,
    cell: Integers,
) -> tuple[NDArray[np.uint8], NDArray[np.uint8]]:
    """Return a bit per neighbour: of cells, laid earlier in another pass; of events, laid in the same pass."""
    total = int(start[-1])
    born, passed = np.full(total, np.inf), np.zeros(total)
    born[cell], passed[cell] = time, along
    welds, same = np.zeros(total, dtype=np.uint8), np.zeros(cell.size, dtype=np.uint8)
    for direction in range(4):
        other = neighbour[column, direction]
        there = (other >= 0) & (layer >= first[other]) & (layer <= last[other])
        beside = np.where(there, start[other] + layer - first[other], 0)
        far = np.abs(passed[beside] - along) > _SAME_PASS * across[direction // 2]
        bit = np.uint8(1 << direction)
        welds[cell] |= np.where(there & far & (born[beside] < time), bit, np.uint8(0))
        same |= np.where(there & ~far, bit, np.uint8(0))
    return welds, same
