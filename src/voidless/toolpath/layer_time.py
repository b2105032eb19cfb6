"""Layer times of what stands on a bed, and pauses that hold them over the gauge length of upright bars."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from voidless.errors import ComputationError
from voidless.specimens.catalogue import CATALOGUE
from voidless.toolpath.layout import EDGE_MM, PURGE_STRIP_MM
from voidless.toolpath.motion import MotionLimits, profile_moves
from voidless.toolpath.moves import Placement, Toolpath
from voidless.toolpath.stretches import park

if TYPE_CHECKING:
    from voidless.machines import Machine

__all__ = ["TOLERANCE", "GaugeTime", "gauge_times", "held_layer_time", "is_sequential", "layer_times"]

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]

TOLERANCE = 0.02
"""
Relative difference of layer times that counts as none. [1] This project's own choice: the weld cools with the
square root of time, so its temperature moves by some 1 % of its fall.
"""
_ROUNDS = 3


@dataclass(frozen=True)
class GaugeTime:
    """
    Layer times over the gauge length of one upright bar.

    Attributes
    ----------
    position : int
        Number of the bar on the bed, from 1.
    kind : str
        Name in the specimen catalogue.
    layers : (int, int)
        First layer of the gauge and the one after its last, from 0.
    lowest_s, mean_s, highest_s : float
        Layer times within. [s]
    """

    position: int
    kind: str
    layers: tuple[int, int]
    lowest_s: float
    mean_s: float
    highest_s: float

    @property
    def spread(self) -> float:
        """Highest less lowest over mean. [1]"""
        return (self.highest_s - self.lowest_s) / self.mean_s

    @property
    def steady(self) -> bool:
        """Whether the layer time is the same all along the gauge, within `TOLERANCE`."""
        return self.spread <= TOLERANCE


def is_sequential(toolpath: Toolpath) -> bool:
    """Return whether a later specimen begins below what was printed before it."""
    layer = toolpath.moves.layer[toolpath.moves.layer >= 0]
    return bool(np.any(np.diff(layer) < 0))


def layer_times(toolpath: Toolpath, machine: Machine) -> Floats:
    """
    Return the layer time that each specimen sees.

    Parameters
    ----------
    toolpath : Toolpath
        A planned build.
    machine : Machine
        Limits of motion.

    Returns
    -------
    layer_time_s : (specimens, layers) float array
        Together: the time of the whole layer, for every specimen that has it; one after the other: that of the
        specimen's own moves. Pauses and ways are counted; NaN where a specimen has no such layer. [s]
    """
    moves = toolpath.moves
    time = profile_moves(moves, MotionLimits.of(machine)).time_s
    number = int(moves.layer.max(initial=-1)) + 1
    found = np.full((len(toolpath.placements), number), np.nan)
    inside = moves.layer >= 0
    whole = np.bincount(moves.layer[inside], weights=time[inside], minlength=number)
    alone = is_sequential(toolpath)
    for index in range(len(toolpath.placements)):
        beads = inside & moves.deposits & (moves.specimen == index)
        layers = np.unique(moves.layer[beads])
        if alone:
            first, last = np.flatnonzero(beads)[[0, -1]]
            run = slice(first, last + 1)
            whole = np.bincount(moves.layer[run], weights=time[run], minlength=number)
        found[index, layers] = whole[layers]
    return found


def _gauge_layers(placed: Placement, layer_mm: float) -> tuple[int, int] | None:
    """Return the layers whose middle lies within the gauge length of an upright bar."""
    kind = CATALOGUE.get(placed.kind)
    heights = kind.gauge_heights_mm if kind is not None else None
    if heights is None:
        return None
    first, last = (int(np.ceil(height / layer_mm - 0.5 - 1e-9)) for height in heights)
    return (first, last) if last > first else None


def gauge_times(toolpath: Toolpath, machine: Machine) -> tuple[GaugeTime, ...]:
    """
    Return the layer times over the gauge length of each upright bar of a build.

    Parameters
    ----------
    toolpath : Toolpath
        A planned build.
    machine : Machine
        Limits of motion.
    """
    times = layer_times(toolpath, machine)
    found = []
    for index, placed in enumerate(toolpath.placements):
        layers = _gauge_layers(placed, toolpath.layer_mm)
        if layers is None:
            continue
        seen = times[index, layers[0] : layers[1]]
        low, mean, high = float(seen.min()), float(seen.mean()), float(seen.max())
        found.append(GaugeTime(placed.position, placed.kind, layers, low, mean, high))
    return tuple(found)


def held_layer_time(toolpath: Toolpath, machine: Machine) -> Toolpath:
    """
    Return a build whose layer time is the same all along the gauge length of its upright bars.

    Parameters
    ----------
    toolpath : Toolpath
        A planned build, all specimens together.
    machine : Machine
        Limits of motion, retraction.

    Returns
    -------
    toolpath : Toolpath
        The same one where layer times are steady already. Else every layer of a gauge ends with a pause beside the
        specimens, over the front left corner, so long that all take as long as the slowest; a note says so.

    Raises
    ------
    ComputationError
        The pauses did not even the layer times out.

    Notes
    -----
    Speed, flow and temperature stay as set: they are what a run tries, so nothing is slowed down instead. The nozzle
    is drawn back and lifted while it waits; polymer that ages in it is not modelled here.
    """
    times = gauge_times(toolpath, machine)
    if all(bar.steady for bar in times):
        return toolpath
    layers = np.unique(np.concatenate([np.arange(*bar.layers) for bar in times]))
    last = _last_beads(toolpath, layers)
    place = (EDGE_MM, EDGE_MM + PURGE_STRIP_MM / 2.0)
    pause = np.zeros(len(layers))
    for _ in range(_ROUNDS):
        moves = park(toolpath.moves, last.tolist(), pause.tolist(), place, machine)
        note = (
            "Layers of upright gauges end with a pause beside the specimens, so that all take equally long."
        )
        held = replace(toolpath, moves=moves, notes=(*toolpath.notes, note))
        if all(bar.steady for bar in gauge_times(held, machine)) and pause.any():
            return held
        seen = np.nanmax(layer_times(held, machine)[:, layers], axis=0)
        pause = np.maximum(pause + seen.max() - seen, 0.0)
    raise ComputationError(
        "layer time", "pauses did not even it out", "", "Print the upright bars by themselves."
    )


def _last_beads(toolpath: Toolpath, layers: Integers) -> Integers:
    """Return the number of the last bead of each of the layers."""
    beads = np.flatnonzero(toolpath.moves.deposits & (toolpath.moves.layer >= 0))
    last = np.full(int(toolpath.moves.layer.max()) + 1, -1)
    last[toolpath.moves.layer[beads]] = beads
    return last[layers]
