"""Moves of a toolpath as beads: where, when, how wide, how warm, in what air."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from voidless.beads.stadium import ROUNDING
from voidless.errors import InputError
from voidless.physics.heat.history.grid import Beads
from voidless.physics.heat.history.types import Surroundings
from voidless.quantities import QUANTITIES
from voidless.toolpath.heights import THINNEST_MM, layer_steps, layer_tops
from voidless.toolpath.motion import SpeedProfile
from voidless.toolpath.moves import Moves
from voidless.toolpath.priming import without_priming
from voidless.toolpath.turns import turns_as_layers
from voidless.twin.chain import Chain, run_chain
from voidless.twin.context import DEFAULT_CONTEXT
from voidless.twin.ground import Ground
from voidless.twin.heat import air_temperature, heat_transfer

__all__ = ["Laying", "lay_moves"]

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]

_SHORTEST_MM = 1e-3
# Conditions are told apart by these steps; melt and contact change by far less than their bands within one.
_STEPS = {"layer_mm": 0.01, "width_mm": 0.02, "nozzle_c": 1.0, "fan_pct": 5.0, "flow_pct": 1.0}
_SPEED_STEP = 0.05  # of the logarithm


@dataclass(frozen=True, eq=False)
class Laying:
    """
    The beads of a toolpath.

    Attributes
    ----------
    beads : Beads
        As the heat history takes them. SI.
    move : (n,) int array
        Number of the move that lays each bead.
    around : Surroundings
        Air and bed.
    told : (n,) float array
        Width of each bead as the moves tell it; `beads.width` has what the machine was measured to make of it. [m]
    contact : function
        Shares of the welds that touch, through the layers and beside, of the share of its room that each bead fills
        and of the share of its sides along which another bead lies. [1]
    notes : tuple of str
        What the file does not say and where it was taken from.
    """

    beads: Beads
    move: Integers
    around: Surroundings
    told: Floats
    contact: Callable[[Floats, Floats], tuple[Floats, Floats]]
    notes: tuple[str, ...]


@dataclass(frozen=True, eq=False)
class _Told:
    """What the moves tell of each bead, and what the twin's chain makes of it."""

    conditions: Mapping[str, Floats]
    section_mm: Floats
    settings: Mapping[str, float]
    ground: Ground
    theta: Mapping[str, float]

    def chain(self, filled: Floats) -> tuple[Chain, Integers]:
        """Return the chain at the distinct conditions where beads fill that of their room, and which each bead has."""
        layer = self.conditions["layer_mm"]
        width = np.maximum(self.section_mm / filled + layer * ROUNDING, layer)
        columns, which = _distinct({**self.conditions, "width_mm": width, "flow_pct": 100.0 * filled})
        size = next(iter(columns.values())).size
        whole = {name: np.full(size, value) for name, value in self.settings.items()}
        return run_chain(whole | columns, self.ground, DEFAULT_CONTEXT, dict(self.theta)), which

    def contact(self, filled: Floats, covered: Floats) -> tuple[Floats, Floats]:
        """Return what of the welds touches, through the layers and beside; nothing closes the cusps of a free side."""
        chain, which = self.chain(filled)
        closed = np.maximum(chain.fill.contact_layers - chain.fill.flat, 0.0)[which]
        return chain.fill.contact_layers[which] - (1.0 - covered) * closed, chain.fill.contact_beads[which]


def lay_moves(
    moves: Moves,
    profile: SpeedProfile,
    ground: Ground,
    settings: Mapping[str, float],
    theta: Mapping[str, float] | None = None,
) -> Laying:
    """
    Return the beads that moves lay.

    Parameters
    ----------
    moves : Moves
        Moves in order.
    profile : SpeedProfile
        How they really run.
    ground : Ground
        Material and machine, in SI.
    settings : mapping of str to float
        Every setting; rules where the moves are silent. [shop units]
    theta : mapping of str to float or None
        What the machine was measured to make of commands (`nozzle_offset_k`, `flow_offset_log`); None: what it is told.

    Raises
    ------
    InputError
        The moves lay nothing, or their layers do not rise.
    """
    ends = np.column_stack([moves.x_mm, moves.y_mm])
    starts = np.vstack([moves.start_mm[:2], ends[:-1]])
    length = np.hypot(*(ends - starts).T)
    laid = moves.deposits & (moves.layer >= 0) & (length > _SHORTEST_MM)
    moves = without_priming(moves)
    keep = np.flatnonzero(laid & (moves.layer >= 0))
    if not keep.size:
        raise InputError("welds", "no bead", "moves that lay material", "Check the file.")
    layer, height = turns_as_layers(moves, keep)
    thick = _thicknesses(height, layer)
    fed = moves.volume_mm3[keep] * moves.flow_factor[keep]
    until = np.cumsum(profile.time_s)
    section = fed / length[keep] / thick[layer]
    nozzle, fan, bed, notes = _stated(moves, keep, settings)
    if purged := int(laid.sum()) - keep.size:
        notes = (
            f"lines that prime the nozzle, beside the body or at height 0, are left out ({purged} moves)",
            *notes,
        )
    moved = dict(theta or {})
    told = _Told(
        {
            "layer_mm": thick[layer],
            "nozzle_c": nozzle,
            "fan_pct": fan,
            "speed_mm_s": length[keep] / np.maximum(profile.time_s[keep] - moves.dwell_s[keep], 1e-9),
        },
        section,
        {**settings, "bed_c": bed},
        ground,
        moved,
    )
    chain, which = told.chain(np.ones(keep.size))
    still = (fan > 0.0) & (fan <= 100.0 * ground.fan_stall)
    if still.any():
        notes = (
            *notes,
            f"{100.0 * np.mean(still):.0f} % of the beads ask for a fan that stands still: no air there",
        )
    return Laying(
        beads=Beads(
            start=1e-3 * starts[keep],
            end=1e-3 * ends[keep],
            layer=layer,
            time_start=until[keep] - profile.time_s[keep] + moves.dwell_s[keep],
            time_end=until[keep],
            width=1e-3 * section * np.exp(moved.get("flow_offset_log", 0.0)),
            warm=chain.melt.temperature[which],
            air=heat_transfer(chain.inputs)[which],
            joined=np.concatenate([[False], keep[1:] == keep[:-1] + 1]),
            thick=1e-3 * thick,
        ),
        move=keep,
        around=Surroundings(
            air=float(np.median(air_temperature(chain.inputs))), bed=float(chain.inputs.bed[0])
        ),
        told=1e-3 * section,
        contact=told.contact,
        notes=notes,
    )


def _thicknesses(height: Floats, layer: Integers) -> Floats:
    """Return the thickness of each layer from the heights of its beads. [mm]"""
    _, tops = layer_tops(height, layer)
    thick = layer_steps(tops)
    if not np.all(thick >= THINNEST_MM):
        at = int(np.argmin(thick))
        raise InputError(
            "welds",
            f"layer {at} (from 0) lies {thick[at]:.4g} mm above the one below",
            f"layers of {THINNEST_MM:g} mm or more, each at one height",
            "Cut out of the file what is laid between the layers.",
        )
    return thick


def _stated(
    moves: Moves, keep: Integers, settings: Mapping[str, float]
) -> tuple[Floats, Floats, float, tuple[str, ...]]:
    """Return nozzle, fan and bed as the moves state them, else as the settings do."""
    notes = []
    found = []
    for name, column in (("nozzle_c", moves.nozzle_c), ("fan_pct", moves.fan_pct)):
        values = np.array(column[keep], dtype=float)
        possible = QUANTITIES[name]
        odd = (values < possible.low) | (values > possible.high)
        if odd.any():
            notes.append(
                f"{name} {values[odd][0]:g} is stated for {100.0 * np.mean(odd):.0f} % of the beads, outside "
                f"{possible.low:g} to {possible.high:g}: {settings[name]:g} is taken"
            )
            values[odd] = settings[name]
        silent = ~np.isfinite(values)
        if silent.any():
            values[silent] = settings[name]
            notes.append(
                f"{name} is not stated for {100.0 * np.mean(silent):.0f} % of the beads: {settings[name]:g} is taken "
                f"(--set {name}=... says it)"
            )
        found.append(values)
    known = np.array([]) if moves.bed_c is None else moves.bed_c[keep]
    known = known[np.isfinite(known) & (known > 0.0) & (known <= QUANTITIES["bed_c"].high)]
    bed = float(np.median(known)) if known.size else settings["bed_c"]
    if not known.size:
        notes.append(f"bed_c is not stated: {bed:g} is taken (--set bed_c=... says it)")
    return found[0], found[1], bed, tuple(notes)


def _distinct(conditions: Mapping[str, Floats]) -> tuple[dict[str, Floats], Integers]:
    """Return the distinct conditions by name, and which of them each bead has."""
    steps = [np.rint(conditions[name] / step) for name, step in _STEPS.items()]
    steps.append(np.rint(np.log(conditions["speed_mm_s"]) / _SPEED_STEP))
    _, first, which = np.unique(np.column_stack(steps), axis=0, return_index=True, return_inverse=True)
    return {name: values[first] for name, values in conditions.items()}, which.ravel()
