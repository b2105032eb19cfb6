"""What the deposit map says of a whole part, layer by layer."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

from voidless.beads.spread import REACH_NOZZLES
from voidless.errors import InputError
from voidless.toolpath.heights import THINNEST_MM, layer_steps, layer_tops
from voidless.toolpath.moves import Moves
from voidless.twin.deposit import LayerDeposit, deposit_layers

__all__ = ["CELLS", "part_fill", "usual_width"]

CELLS = 6
"""Cells over a bead width: enough to find and rank open layers, a fifth of the time of twelve."""
_SHARES = ("void_pct", "under_pct", "over_pct", "hollow_pct")
_SHOWN = 5
_NARROWEST = 0.05
"""Beads narrower than this over their layer's thickness are no beads: a fault of heights, feed or units. [1]"""


def part_fill(
    moves: Moves, nozzle_mm: float, progress: Callable[[float], None] = lambda _: None
) -> dict[str, Any]:
    """
    Return how far the beads of a part fill its layers.

    Parameters
    ----------
    moves : Moves
        Flat layers; what belongs to none (layer -1) is left out.
    nozzle_mm : float
        Nozzle diameter. [mm]
    progress : function
        Called with the share that is done.

    Returns
    -------
    fill : dict
        `void_pct`, open room that no way leads to from outside, `under_pct`, all room that layers leave open,
        `over_pct`, melt without room, each over the room of the sections, and `hollow_pct`, the area of wider gaps
        that beads shut in (holes of the part, open infill) over section and gaps [%]; `missing_pct`, what stays without
        melt once every layer has sunk into the one below: `under_pct` counts it where a layer leaves it and where the
        next one lacks what sank; `open_layers`, up to five with the largest void
        share (`layer`, `height_mm`, `void_pct`); `per_layer` of all four with `height_mm`; `cells_per_bead`.

    Raises
    ------
    InputError
        There is no bead, beads are far narrower than layers are thick or wider than the nozzle can spread, or layers
        do not rise.

    Notes
    -----
    docs/methods/deposit.md. A section is what beads close over up to a bead wide, so wider gaps are told apart.
    """
    chosen = moves.deposits & (moves.layer >= 0)
    count = len(np.unique(moves.layer[chosen]))
    width, widest = usual_width(moves), 0.5 * CELLS * REACH_NOZZLES * nozzle_mm
    if width > widest:
        what, expected = (
            f"beads of {width:.3g} mm from a nozzle of {nozzle_mm:g} mm",
            f"at most {widest:.3g} mm",
        )
        raise InputError(
            "deposit map",
            what,
            expected,
            "Name the machine that prints it, or check feed (E, M82, M83, M221) and units (G20, G21).",
        )
    rows = []
    for done, layer in enumerate(deposit_layers(moves, nozzle_mm, width, cells_per_bead=CELLS), 1):
        rows.append((layer.layer, layer.height_mm, *_amounts(layer)))
        progress(done / count)
    table = np.array(rows)
    room, section = table[:, 2], table[:, 6]
    shares = 100.0 * np.column_stack([table[:, 3:6] / room[:, None], table[:, 7] / section])
    whole = 100.0 * np.append(table[:, 3:6].sum(axis=0) / room.sum(), table[:, 7].sum() / section.sum())
    missing = 100.0 * max(0.0, table[:, 4].sum() - table[:, 8].sum()) / room.sum()
    worst = np.argsort(-shares[:, 0], kind="stable")[:_SHOWN]
    return {
        **dict(zip(_SHARES, whole.tolist(), strict=True)),
        "missing_pct": float(missing),
        "open_layers": [
            {"layer": int(table[k, 0]), "height_mm": float(table[k, 1]), "void_pct": float(shares[k, 0])}
            for k in worst
            if shares[k, 0] > 0.0
        ],
        "per_layer": {"height_mm": table[:, 1].tolist()}
        | {name: shares[:, k].tolist() for k, name in enumerate(_SHARES)},
        "cells_per_bead": CELLS,
    }


def _amounts(layer: LayerDeposit) -> tuple[float, ...]:
    """Return room, void, under- and over-fill [mm³], section with wider gaps, those alone [mm²], what sank. [mm³]"""
    from scipy.ndimage import binary_fill_holes

    cell = layer.grid.cell_mm**2
    closed = float(np.count_nonzero(binary_fill_holes(layer.inside))) * cell
    hollow = closed - float(np.count_nonzero(layer.inside)) * cell
    return layer.room_mm3, layer.void_mm3, layer.under_mm3, layer.over_mm3, closed, hollow, layer.sunk_mm3


def usual_width(moves: Moves) -> float:
    """Return the mean width of beads, by their length: volume over length and layer thickness. [mm]"""
    chosen = moves.deposits & (moves.layer >= 0)
    layers, tops = layer_tops(moves.z_mm[chosen], moves.layer[chosen])
    thick = layer_steps(tops)[np.searchsorted(layers, moves.layer[chosen])]
    if layers.size > 1 and np.median(np.diff(tops)) < THINNEST_MM:
        raise InputError(
            "deposit map",
            f"{layers.size} heights of beads, most of them {np.median(np.diff(tops)):.2g} mm apart",
            f"layers of {THINNEST_MM:g} mm or more, each at one height",
            "A path that is not flat has no layers to fill: without --material its amounts and times are told.",
        )
    volume, length = (moves.volume_mm3 * moves.flow_factor)[chosen], moves.length_mm[chosen]
    if not chosen.any():
        return 0.0
    width = float(volume.sum() / (length * thick).sum())
    usual = float((length * thick).sum() / length.sum())
    if not width >= _NARROWEST * usual:
        raise InputError(
            "deposit map",
            f"beads of {width:.3g} mm in layers of {usual:.3g} mm",
            f"beads at least {_NARROWEST:g} times as wide as thick",
            "Check heights (Z) and feed (E), or their units.",
        )
    return width
