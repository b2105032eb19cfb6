"""Where specimens stand on the bed: rows from front to back, centred, clear of the purge line."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from voidless.errors import InputError
from voidless.specimens.catalogue import specimen
from voidless.specimens.kind import SpecimenKind
from voidless.specimens.order import SpecimenOrder
from voidless.toolpath.moves import Placement

if TYPE_CHECKING:
    from voidless.machines import Machine

__all__ = ["EDGE_MM", "PURGE_STRIP_MM", "SPACING_MM", "lay_out"]

EDGE_MM = 5.0
"""Distance that everything keeps from the edge of the bed. [mm] Common practice, no source."""
SPACING_MM = 8.0
"""Distance between neighbouring specimens, so that a gripper or a scraper fits. [mm] Common practice."""
PURGE_STRIP_MM = 6.0
"""Depth of the strip at the front that is kept for the purge line. [mm]"""


def _kinds(orders: Sequence[SpecimenOrder]) -> list[SpecimenKind]:
    found: list[SpecimenKind] = []
    for order in orders:
        if not (order.count >= 1 and order.count == int(order.count)):
            raise InputError("specimens", f"{order.kind}: count {order.count}", "a whole number from 1", "")
        found += [specimen(order.kind)] * int(order.count)
    if not found:
        raise InputError("specimens", "nothing to print", "at least one specimen", "Order a specimen.")
    return found


def _rows(kinds: Sequence[SpecimenKind], width: float) -> list[list[SpecimenKind]]:
    """Return the specimens in rows no wider than the bed, deepest rows first."""
    rows: list[list[SpecimenKind]] = []
    used = width + 1.0
    for kind in sorted(kinds, key=lambda item: (-item.box_mm[1], -item.box_mm[0], item.name)):
        if used + SPACING_MM + kind.box_mm[0] > width:
            rows.append([])
            used = -SPACING_MM
        rows[-1].append(kind)
        used += SPACING_MM + kind.box_mm[0]
    return rows


def lay_out(orders: Sequence[SpecimenOrder], machine: Machine) -> tuple[Placement, ...]:
    """
    Return where the specimens of a build stand.

    Parameters
    ----------
    orders : sequence of SpecimenOrder
        What is printed.
    machine : Machine
        Bed size and height.

    Returns
    -------
    placements : tuple of Placement
        Numbered from 1, row by row from the front, left to right.

    Raises
    ------
    InputError
        The specimens do not fit on the bed, a count is no whole number, or nothing is ordered.
    """
    kinds = _kinds(orders)
    room_x = machine.bed_x_mm - 2 * EDGE_MM
    room_y = machine.bed_y_mm - 2 * EDGE_MM - PURGE_STRIP_MM
    rows = _rows(kinds, room_x)
    depths = [max(kind.box_mm[1] for kind in row) for row in rows]
    depth = sum(depths) + SPACING_MM * (len(rows) - 1)
    widest = max(kind.box_mm[0] for kind in kinds)
    tallest = max(kind.box_mm[2] for kind in kinds)
    if not (widest <= room_x and depth <= room_y and tallest <= machine.bed_z_mm):
        raise InputError(
            "specimens",
            f"they need {widest:.0f} x {depth:.0f} x {tallest:.0f} mm",
            f"at most {room_x:.0f} x {room_y:.0f} x {machine.bed_z_mm:.0f} mm on {machine.name}",
            "Order fewer specimens per build, or name a larger machine.",
        )
    placed: list[Placement] = []
    y = EDGE_MM + PURGE_STRIP_MM + (room_y - depth) / 2.0
    for row, row_depth in zip(rows, depths, strict=True):
        x = EDGE_MM + (room_x - sum(k.box_mm[0] for k in row) - SPACING_MM * (len(row) - 1)) / 2.0
        for kind in row:
            centre = (x + kind.box_mm[0] / 2.0, y + row_depth / 2.0)
            placed.append(Placement(len(placed) + 1, kind.name, centre, kind.box_mm))
            x += kind.box_mm[0] + SPACING_MM
        y += row_depth + SPACING_MM
    return tuple(placed)
