"""
Build time of many settings at once, without planning each.

The layers of a specimen take what the closed form says (`estimate_layer`), corrected by planned layers where that is
off (`estimate_planned`); purge line and travels come on top. What else the exact plan adds (order of beads, exact
starts, pieces of uneven width) is left out; docs/methods/motion.md states how far the two differ.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from voidless.beads.stadium import bead_area, filament_area, full_fill_pitch
from voidless.errors import InputError
from voidless.specimens.catalogue import specimen
from voidless.specimens.order import SpecimenOrder
from voidless.toolpath.estimate_layer import plain_layer, raster_angles, specimen_asides
from voidless.toolpath.estimate_parts import MotionTimes, Rows, trapezoid
from voidless.toolpath.estimate_planned import CHECKED, FEWEST_CONTOURS, planned_ratios
from voidless.toolpath.layout import EDGE_MM, lay_out
from voidless.toolpath.moves import Placement
from voidless.toolpath.recorder import LIFT_MM, PURGE_LENGTH_MM, PURGE_MM3

if TYPE_CHECKING:
    from voidless.machines import Machine

__all__ = ["aside_minutes", "build_minutes", "closed_form", "plain_minutes"]

Floats = NDArray[np.float64]

_CHUNK = 500


def _layer_alone(name: str, rows: Rows, motion: MotionTimes) -> Floats:
    """Return the mean time of one layer of one specimen with the way to the next, ways aside counted, `(n,)`. [s]"""
    kind = specimen(name)
    layers = np.maximum(1.0, np.round(kind.height_mm / rows.layer))
    alone = Placement(1, name, (0.0, 0.0), kind.box_mm)
    way = _travels([alone], rows, motion) / layers
    return plain_layer(kind, rows, motion) + specimen_asides(kind, rows, motion) + way


def _beyond(name: str, rows: Rows, motion: MotionTimes, machine: Machine) -> Floats:
    """Return what one layer takes beyond its plain beads: ways aside as counted, or as plans show, `(n,)`. [s]"""
    kind = specimen(name)
    found = specimen_asides(kind, rows, motion)
    used = np.flatnonzero((rows.contours < FEWEST_CONTOURS) | (name not in CHECKED))
    if len(used):
        some = rows.take(used)
        ratio = planned_ratios(name, some, raster_angles(some), motion, machine, _layer_alone)
        found[used] += (ratio - 1.0) * _layer_alone(name, some, motion)
    return found


def _travels(placements: Sequence[Placement], rows: Rows, motion: MotionTimes) -> Floats:
    """Return the time of travels between specimens and layers over the whole build, `(n,)`. [s]"""
    counts = np.array([np.maximum(1.0, np.round(p.size_mm[2] / rows.layer)) for p in placements])
    total, done = np.zeros_like(rows.layer), np.zeros_like(rows.layer)
    zero = np.zeros_like(rows.layer)
    lift = trapezoid(rows.layer, zero, zero, np.full_like(zero, motion.z_speed), motion.z_acceleration)
    for height in sorted({p.size_mm[2] for p in placements}):
        here = [p for p in placements if p.size_mm[2] >= height]
        centres = np.array([p.centre_mm for p in here])
        seams = centres - np.array([p.size_mm[:2] for p in here]) / 2.0
        ways = np.hypot(*(seams - np.roll(centres, 1, axis=0)).T)
        layers = counts[[p.size_mm[2] for p in placements].index(height)] - done
        total += layers * (motion.travels(ways).sum() + lift)
        done += layers
    return total


def _purge(rows: Rows, machine: Machine, motion: MotionTimes) -> Floats:
    """Return the time of the way to the purge line, of the line and of lifting off, `(n,)`. [s]"""
    length = min(PURGE_LENGTH_MM, machine.bed_x_mm - 2 * EDGE_MM)
    rate = np.minimum(np.asarray(bead_area(rows.layer, rows.width)) * rows.speed, machine.max_rate_mm3_s)
    lifts = 3.0 * LIFT_MM / motion.z_speed + EDGE_MM * math.sqrt(2.0) / motion.travel_speed
    return np.asarray(np.maximum(PURGE_MM3 / rate, length / rows.speed) + lifts)


def _rows(columns: Mapping[str, Floats], machine: Machine) -> Rows:
    names = (
        "layer_mm",
        "width_mm",
        "contours",
        "overlap_pct",
        "raster_deg",
        "raster_step_deg",
        "speed_mm_s",
        "flow_pct",
    )
    given = np.broadcast_arrays(*(np.atleast_1d(np.asarray(columns[name], dtype=float)) for name in names))
    layer, width, contours, overlap, angle, step, speed, flow = given
    for name, values in zip(names, given, strict=True):
        if not np.all(np.isfinite(values)):
            raise InputError("build time", f"{name} is not a number in some row", "finite settings", "")
    if not (np.all(speed > 0.0) and np.all(flow > 0.0)):
        raise InputError("build time", "speed or flow is not above 0", "values above 0", "")
    pitch = full_fill_pitch(layer, width)
    bead = layer * pitch * flow / 100.0
    fed = machine.speed_max_mm_s[3] * filament_area(machine.filament_diameter_mm)
    speed = np.minimum(speed, np.minimum(fed, machine.max_rate_mm3_s) / bead)
    speed = np.minimum(speed, min(machine.speed_max_mm_s[:2]))
    return Rows(layer, pitch, width, np.round(contours), overlap, angle, step, speed)


def closed_form(columns: Mapping[str, Floats], orders: Sequence[SpecimenOrder]) -> bool:
    """Return whether all rows and kinds are such that the closed form was checked: no layer is planned for them."""
    contours = np.asarray(columns["contours"], dtype=float)
    return bool(np.all(contours >= FEWEST_CONTOURS)) and all(order.kind in CHECKED for order in orders)


def aside_minutes(columns: Mapping[str, Floats], orders: Sequence[SpecimenOrder], machine: Machine) -> Floats:
    """
    Return what the build time has beyond `plain_minutes`: ways aside, which plans of plain volumes (`even=False`) lack.

    Parameters
    ----------
    columns, orders, machine
        As of `build_minutes`.

    Returns
    -------
    aside_min : (n,) float array
        Counted by seams, sharp corners and raster lines of each section; where the closed form is off
        (`closed_form`), what makes its sum that of planned layers. [min]

    Raises
    ------
    InputError
        As `build_minutes`.
    """
    rows, motion = _rows(columns, machine), MotionTimes.of(machine)
    total = np.zeros(len(rows.layer))
    for order in orders:
        layers = np.maximum(1.0, np.round(specimen(order.kind).height_mm / rows.layer))
        total += order.count * layers * _beyond(order.kind, rows, motion, machine)
    return total / 60.0


def plain_minutes(columns: Mapping[str, Floats], orders: Sequence[SpecimenOrder], machine: Machine) -> Floats:
    """
    Return the part of the build time that plans of plain volumes (`even=False`) have, in closed form.

    Parameters
    ----------
    columns, orders, machine
        As of `build_minutes`.

    Returns
    -------
    plain_min : (n,) float array
        Purge line, travels, contours and raster. [min]

    Raises
    ------
    InputError
        As `build_minutes`.
    """
    placements = lay_out(orders, machine)
    rows, motion = _rows(columns, machine), MotionTimes.of(machine)
    number = len(rows.layer)
    counts: dict[str, int] = {}
    for placed in placements:
        counts[placed.kind] = counts.get(placed.kind, 0) + 1
    seconds = np.zeros(number)
    for begin in range(0, number, _CHUNK):
        part = rows.take(slice(begin, begin + _CHUNK))
        total = _travels(placements, part, motion) + _purge(part, machine, motion)
        for name, count in counts.items():
            kind = specimen(name)
            layers = np.maximum(1.0, np.round(kind.height_mm / part.layer))
            total = total + count * layers * plain_layer(kind, part, motion)
        seconds[begin : begin + _CHUNK] = total
    return seconds / 60.0


def build_minutes(columns: Mapping[str, Floats], orders: Sequence[SpecimenOrder], machine: Machine) -> Floats:
    """
    Return the build time of many settings, estimated without planning each.

    Parameters
    ----------
    columns : mapping of str to (n,) float array
        Complete settings, one array per name, in shop units.
    orders : sequence of SpecimenOrder
        What each build prints.
    machine : Machine
        Limits and motion.

    Returns
    -------
    build_min : (n,) float array
        Time without homing and heating, as `motion.build_time` of the planned build gives it; docs/methods/motion.md
        says how nearly. [min]

    Raises
    ------
    InputError
        The specimens do not fit on the bed, or a setting is missing or makes no sense.

    Notes
    -----
    Checked against planned builds over random settings in the tests; docs/methods/motion.md has the
    figures.
    """
    return plain_minutes(columns, orders, machine) + aside_minutes(columns, orders, machine)
