"""Beads that climb between layers, as seams that begin on a ramp do, told as beads of the layer they lead up to."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from voidless.toolpath.heights import THICKEST_MM
from voidless.toolpath.moves import Moves
from voidless.toolpath.turns import rises

__all__ = ["climbing_share", "ramps_in_layers"]

_MOST = 0.5
"""Share of the length of bead that may climb; a path that climbs more has no flat layers. Assumed."""
_LEVEL_MM = 1e-9


def climbing_share(moves: Moves) -> float:
    """Return which share of the length of bead rises or falls. [1]"""
    bead = moves.deposits & (moves.layer >= 0)
    length = float(moves.length_mm[bead].sum())
    return float(moves.length_mm[bead & _climbs(moves)].sum()) / length if length > 0.0 else 0.0


def ramps_in_layers(moves: Moves) -> Moves:
    """
    Return moves whose climbing beads stand on the height and in the layer of the level beads beside them.

    Parameters
    ----------
    moves : Moves
        Moves in order.

    Returns
    -------
    moves : Moves
        The same object where no bead climbs, where most of the path does, or where it rises turn by turn.

    Notes
    -----
    Of the level beads before and after a ramp the lower one counts that stands as high as the ramp does, the one after
    where both do; further than `THICKEST_MM` above, or where there is none, a climbing bead keeps its layer.
    """
    share = climbing_share(moves)
    if not 0.0 < share <= _MOST or rises(moves):
        return moves
    bead = moves.deposits & (moves.layer >= 0)
    climbs = _climbs(moves)
    level, ramp = np.flatnonzero(bead & ~climbs), np.flatnonzero(bead & climbs)
    after = np.searchsorted(level, ramp)
    top = np.maximum(moves.z_mm[ramp], moves.starts_mm(ramp)[:, 2])
    best, height = ramp.copy(), np.full(len(ramp), np.inf)
    for place in (after, after - 1):
        there = (place >= 0) & (place < len(level))
        beside = level[np.clip(place, 0, len(level) - 1)]
        above = moves.z_mm[beside] - top
        fits = there & (above > -_LEVEL_MM) & (above < THICKEST_MM) & (moves.z_mm[beside] < height)
        best[fits], height[fits] = beside[fits], moves.z_mm[beside[fits]]
    layer, z = moves.layer.copy(), moves.z_mm.copy()
    layer[ramp], z[ramp] = moves.layer[best], moves.z_mm[best]
    beads = np.flatnonzero(bead)
    following = beads[np.minimum(np.searchsorted(beads, np.arange(len(moves))), len(beads) - 1)]
    _, number = np.unique(layer[following], return_inverse=True)
    return replace(moves, layer=np.where(moves.layer >= 0, number, moves.layer), z_mm=z)


def _climbs(moves: Moves) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    """Return which moves end on another height than they begin."""
    before = np.concatenate([[moves.start_mm[2]], moves.z_mm[:-1]])
    return np.asarray(np.abs(moves.z_mm - before) > _LEVEL_MM)
