"""Layers as plain line segments, for pictures that others draw."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from voidless.errors import InputError
from voidless.toolpath.moves import Kind, Moves, Toolpath

__all__ = ["LayerDrawing", "draw_layer"]

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class LayerDrawing:
    """
    The moves of one layer seen from above.

    Attributes
    ----------
    segments : (n, 2, 2) float array
        Start and end of each move, X and Y. [mm]
    kind : (n,) int array
        Codes of `Kind`.
    width_mm : (n,) float array
        Width of the room that each bead fills, deposited volume over length and layer thickness;
        0 for travels. [mm]
    speed_mm_s : (n,) float array
        Speed as commanded. [mm/s]
    specimen : (n,) int array
        Number of the specimen on the bed, -1 where there is none.
    height_mm : float
        Height of the layer's top. [mm]
    """

    segments: Floats
    kind: NDArray[np.int64]
    width_mm: Floats
    speed_mm_s: Floats
    specimen: NDArray[np.int64]
    height_mm: float


def draw_layer(path: Toolpath | Moves, layer: int, layer_mm: float | None = None) -> LayerDrawing:
    """
    Return one layer as line segments.

    Parameters
    ----------
    path : Toolpath or Moves
        A planned build, or moves that were read.
    layer : int
        Number of the layer, from 0.
    layer_mm : float or None
        Layer thickness; None takes the plan's. [mm]

    Returns
    -------
    drawing : LayerDrawing
        Moves in the plane: beads, turns and travels.

    Raises
    ------
    InputError
        There is no such layer, or the thickness of moves that were read is not given.
    """
    moves = path.moves if isinstance(path, Toolpath) else path
    thickness = path.layer_mm if layer_mm is None and isinstance(path, Toolpath) else layer_mm
    if thickness is None or not thickness > 0.0:
        raise InputError(
            "drawing", f"layer thickness {thickness}", "a thickness above 0 mm", "Pass layer_mm."
        )
    chosen = (moves.layer == layer) & (np.hypot(*moves.steps_mm[:, :2].T) > 0.0) & (moves.kind != Kind.HOME)
    if not chosen.any():
        last = int(moves.layer.max(initial=-1))
        raise InputError("drawing", f"layer {layer}", f"0 to {last}", "Name a layer that was planned.")
    ends = np.column_stack([moves.x_mm, moves.y_mm])[chosen]
    starts = ends - moves.steps_mm[chosen, :2]
    bead = moves.deposits[chosen]
    room = np.where(bead, moves.volume_mm3[chosen] / (moves.length_mm[chosen] * thickness), 0.0)
    return LayerDrawing(
        np.stack([starts, ends], axis=1),
        moves.kind[chosen],
        room,
        moves.speed_mm_s[chosen],
        moves.specimen[chosen],
        float(moves.z_mm[chosen].max()),
    )
