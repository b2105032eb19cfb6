"""Beads as plain columns, for pictures that others draw."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from voidless.errors import InputError
from voidless.toolpath.heights import THINNEST_MM, layer_steps, layer_tops
from voidless.toolpath.motion import SpeedProfile
from voidless.toolpath.moves import Moves
from voidless.toolpath.turns import turned

__all__ = ["BeadView", "beads_of", "view_beads"]

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class BeadView:
    """
    Beads in the order of laying, one entry per move.

    Attributes
    ----------
    move, layer : (n,) int array
        Number of the move among all moves, and of its layer, from 0.
    start_mm, end_mm : (n, 3) float array
        Where each begins and ends; an arc is chords. [mm]
    width_mm : (n,) float array
        Width of the room that each fills: volume over length and layer thickness. [mm]
    speed_mm_s : (n,) float array
        Real mean speed along each. [mm/s]
    """

    move: Integers
    layer: Integers
    start_mm: Floats
    end_mm: Floats
    width_mm: Floats
    speed_mm_s: Floats

    def __len__(self) -> int:
        return len(self.move)


def beads_of(moves: Moves, layer: int | None = None) -> NDArray[np.bool_]:
    """
    Return which moves lay beads of a layer, of any if none is named.

    Raises
    ------
    InputError
        There is no bead or no such layer.
    """
    chosen = moves.deposits & (moves.layer >= 0)
    if not chosen.any():
        raise InputError("picture", "no bead", "moves that lay beads", "Check the file.")
    here = chosen if layer is None else chosen & (moves.layer == layer)
    if not here.any():
        laid = moves.layer[chosen]
        numbers = f"{laid.min()} to {laid.max()}"
        raise InputError("picture", f"there is no layer {layer}", numbers, "Name one of these layers.")
    return np.asarray(here)


def view_beads(moves: Moves, profile: SpeedProfile, layer: int | None = None) -> BeadView:
    """
    Return the beads of one layer, or of all.

    Parameters
    ----------
    moves : Moves
        Planned, or read from any file.
    profile : SpeedProfile
        How they really run.
    layer : int or None
        Number of the layer, from 0; None takes all.

    Returns
    -------
    view : BeadView
        Every move that lays a bead and belongs to a layer.

    Raises
    ------
    InputError
        There is no bead or no such layer, or layers lie so close that the file must rise along its path, not in turns.

    Notes
    -----
    A turn of a path that rises all the way is a layer (`turns`).
    The thickness of a layer is the step from the layer below, of the first its height above 0 (`layer_steps`);
    volume counts with the factor that the file applies.
    """
    moves, height = turned(moves)
    number = np.flatnonzero(beads_of(moves, layer))
    chosen = beads_of(moves)
    layers, tops = layer_tops(height[chosen], moves.layer[chosen])
    thickness = layer_steps(tops)
    wanted = np.full(len(layers), True) if layer is None else layers == layer
    for which, rise in zip(layers[wanted].tolist(), thickness[wanted].tolist(), strict=True):
        if not rise >= THINNEST_MM:
            raise InputError(
                "picture",
                f"layer {which} stands {rise:.4f} mm above the one below",
                f"at least {THINNEST_MM:g} mm",
                "A path that rises without coming back above itself has no layers to draw.",
            )
    named = moves.layer[number]
    step = thickness[np.searchsorted(layers, named)]
    fed = moves.volume_mm3[number] * moves.flow_factor[number]
    return BeadView(
        number,
        named,
        moves.starts_mm(number),
        np.column_stack([axis[number] for axis in (moves.x_mm, moves.y_mm, moves.z_mm)]),
        fed / (moves.length_mm[number] * step),
        profile.mean_mm_s(moves)[number],
    )
