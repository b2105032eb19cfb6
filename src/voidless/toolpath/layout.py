"""Where specimens stand on the bed: rows from front to back, centred, clear of the purge line and the head."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations
from typing import TYPE_CHECKING

from voidless.errors import InputError
from voidless.specimens.catalogue import specimen
from voidless.specimens.order import SpecimenOrder
from voidless.toolpath.moves import Placement

if TYPE_CHECKING:
    from voidless.machines import Machine

__all__ = [
    "EDGE_MM",
    "PURGE_STRIP_MM",
    "SPACING_MM",
    "arrange",
    "check_layout",
    "clearance",
    "lay_out",
    "nearest_mm",
]

EDGE_MM = 5.0
"""Distance that everything keeps from the edge of the bed. [mm] Common practice, no source."""
SPACING_MM = 8.0
"""Distance between neighbouring specimens, so that a gripper or a scraper fits. [mm] Common practice."""
PURGE_STRIP_MM = 6.0
"""Depth of the strip at the front that is kept for the purge line. [mm]"""

Size = tuple[float, float, float]
_EXACT_MM = 1e-9


def _things(orders: Sequence[SpecimenOrder]) -> list[tuple[str, Size]]:
    found: list[tuple[str, Size]] = []
    for order in orders:
        if not (order.count >= 1 and order.count == int(order.count)):
            raise InputError("specimens", f"{order.kind}: count {order.count}", "a whole number from 1", "")
        found += [(order.kind, specimen(order.kind).box_mm)] * int(order.count)
    return found


def _rows(things: Sequence[tuple[str, Size]], width: float, spacing: float) -> list[list[tuple[str, Size]]]:
    """Return the things in rows no wider than the bed, in their order."""
    rows: list[list[tuple[str, Size]]] = []
    used = width + 1.0
    for name, size in things:
        if used + spacing + size[0] > width:
            rows.append([])
            used = -spacing
        rows[-1].append((name, size))
        used += spacing + size[0]
    return rows


def lay_out(
    orders: Sequence[SpecimenOrder], machine: Machine, sequential: bool = False
) -> tuple[Placement, ...]:
    """
    Return where the specimens of a build stand.

    Parameters
    ----------
    orders : sequence of SpecimenOrder
        What is printed.
    machine : Machine
        Bed size and height; clearances, where specimens are printed one after the other.
    sequential : bool
        Whether each specimen is finished before the next one is begun: the lowest first, further apart.

    Returns
    -------
    placements : tuple of Placement
        Numbered from 1, row by row from the front, left to right: in this order they are printed.

    Raises
    ------
    InputError
        The specimens do not fit on the bed or under the gantry, the machine states no clearances, a count is no
        whole number, or nothing is ordered.
    """
    return arrange(_things(orders), machine, sequential)


def arrange(
    things: Sequence[tuple[str, Size]], machine: Machine, sequential: bool = False
) -> tuple[Placement, ...]:
    """
    Return where things of given names and sizes stand; see `lay_out`.

    Parameters
    ----------
    things : sequence of (str, (float, float, float))
        Name and size in X, Y and Z of each. [mm]
    machine : Machine
        Bed and clearances.
    sequential : bool
        Whether each is finished before the next one is begun.

    Raises
    ------
    InputError
        As `lay_out`.
    """
    if not things:
        raise InputError("specimens", "nothing to print", "at least one specimen", "Order a specimen.")
    spacing = max(SPACING_MM, clearance(machine)) if sequential else SPACING_MM
    room_x = machine.bed_x_mm - 2 * EDGE_MM
    room_y = machine.bed_y_mm - 2 * EDGE_MM - PURGE_STRIP_MM
    deepest = sorted(things, key=lambda thing: (-thing[1][1], -thing[1][0], thing[0]))
    ordered = sorted(deepest, key=lambda thing: thing[1][2]) if sequential else deepest
    rows = _rows(ordered, room_x, spacing)
    depths = [max(size[1] for _, size in row) for row in rows]
    depth = sum(depths) + spacing * (len(rows) - 1)
    widest, tallest = (max(size[axis] for _, size in things) for axis in (0, 2))
    if not (widest <= room_x and depth <= room_y and tallest <= machine.bed_z_mm):
        needed = f"{widest:.0f} x {depth:.0f} x {tallest:.0f} mm"
        room = f"at most {room_x:.0f} x {room_y:.0f} x {machine.bed_z_mm:.0f} mm on {machine.name}"
        if len(things) == 1:
            remedy = "Turn it where it was drawn if it fits another way, or name a larger machine."
            raise InputError(things[0][0], f"it needs {needed}", room, remedy)
        remedy = "Order fewer specimens per build, or name a larger machine."
        raise InputError("specimens", f"they need {needed}", room, remedy)
    placed: list[Placement] = []
    y = EDGE_MM + PURGE_STRIP_MM + (room_y - depth) / 2.0
    for row, row_depth in zip(rows, depths, strict=True):
        x = EDGE_MM + (room_x - sum(size[0] for _, size in row) - spacing * (len(row) - 1)) / 2.0
        for name, size in row:
            centre = (x + size[0] / 2.0, y + row_depth / 2.0)
            placed.append(Placement(len(placed) + 1, name, centre, size))
            x += size[0] + spacing
        y += row_depth + spacing
    faults = check_layout(placed, machine, sequential)
    if faults:
        raise InputError(
            "specimens", "; ".join(faults), f"all clear on {machine.name}", "Print them together."
        )
    return tuple(placed)


def clearance(machine: Machine) -> float:
    """
    Return how far the head reaches sideways. [mm]

    Raises
    ------
    InputError
        The machine does not state both clearances: then specimens can be printed together only.
    """
    missing = [name for name in ("head_radius_mm", "gantry_height_mm") if getattr(machine, name) is None]
    if missing:
        raise InputError(
            machine.name,
            f"specimens cannot be printed one after the other: {' and '.join(missing)} not stated",
            "both clearances in the machine's file",
            "Measure them and state them, or print the specimens together.",
        )
    assert machine.head_radius_mm is not None
    return machine.head_radius_mm


def _gap(one: Placement, other: Placement) -> float:
    """Return the distance between two boxes in the plane, 0 where they overlap. [mm]"""
    sides = [
        max(0.0, abs(one.centre_mm[k] - other.centre_mm[k]) - (one.size_mm[k] + other.size_mm[k]) / 2.0)
        for k in (0, 1)
    ]
    return float((sides[0] ** 2 + sides[1] ** 2) ** 0.5)


def nearest_mm(placements: Sequence[Placement]) -> float:
    """Return the smallest distance between the boxes of any two specimens; infinite for a single one. [mm]"""
    return min((_gap(one, other) for one, other in combinations(placements, 2)), default=float("inf"))


def check_layout(placements: Sequence[Placement], machine: Machine, sequential: bool = False) -> list[str]:
    """
    Return in words what is wrong with a bed layout; empty if nothing is.

    Parameters
    ----------
    placements : sequence of Placement
        What stands where, in the order of printing.
    machine : Machine
        Bed and clearances.
    sequential : bool
        Whether each specimen is finished before the next one is begun.

    Returns
    -------
    faults : list of str
        Specimens off the bed or on the purge strip, too near to one another, nearer than the head allows, or
        finished and higher than the gantry allows.

    Raises
    ------
    InputError
        Specimens are to be printed one after the other and the machine states no clearances.
    """
    found = [
        f"{p.position} ({p.kind}) does not stand on the free bed" for p in placements if _off(p, machine)
    ]
    least = max(SPACING_MM, clearance(machine)) if sequential else SPACING_MM
    for one, other in combinations(placements, 2):
        gap = _gap(one, other)
        if not gap >= least - _EXACT_MM:
            found.append(
                f"{one.position} and {other.position} stand {gap:.1f} mm apart, {least:g} mm are needed"
            )
    if sequential:
        most = machine.gantry_height_mm or 0.0
        found += [
            f"{p.position} ({p.kind}) is finished at {p.size_mm[2]:g} mm, the gantry passes at {most:g} mm"
            for p in placements[:-1]
            if not p.size_mm[2] <= most
        ]
    return found


def _off(placed: Placement, machine: Machine) -> bool:
    (x, y), (width, depth, height) = placed.centre_mm, placed.size_mm
    low = (x - width / 2.0 - EDGE_MM, y - depth / 2.0 - EDGE_MM - PURGE_STRIP_MM)
    high = (machine.bed_x_mm - EDGE_MM - x - width / 2.0, machine.bed_y_mm - EDGE_MM - y - depth / 2.0)
    return not (min(*low, *high) >= -_EXACT_MM and height <= machine.bed_z_mm)
