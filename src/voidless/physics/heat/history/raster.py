"""Which cell of a grid each bead covers, and when."""
# mypy: disable-error-code="untyped-decorator, no-any-return"

from __future__ import annotations

from typing import Any

import numpy as np

from voidless.compiling import njit
from voidless.physics.heat.history.areas import rows_of, share_out

__all__ = ["cover"]

_SLACK = 1.0001  # cells whose centre lies on the edge of a bead, but for rounding, belong to it


def cover(
    order: Any,
    ends: Any,
    layer: Any,
    time_start: Any,
    time_end: Any,
    width: Any,
    joins: Any,
    position: Any,
    shape: tuple[int, int],
    across: tuple[float, float],
) -> tuple[Any, Any, Any, Any, Any, Any]:
    """
    Return place, layer, time, bead, way along the path and share that is filled of every covered cell.

    Parameters
    ----------
    order : (n,) int array
        Beads sorted by layer.
    ends : (n, 4) float array
        Both ends in grid axes. [m]
    layer, time_start, time_end, width : (n,) array
        As in `Beads`.
    joins : (n, 2) bool array
        Whether the bead goes on at either end, so that the joint is round.
    position : (n,) float array
        Way along all beads at each start. [m]
    shape, across
        Number and size of cells.

    Notes
    -----
    A cell goes to the bead whose centre line is nearest to its centre.
    """
    found = []
    bounds = np.flatnonzero(np.diff(layer[order])) + 1
    best = np.full(shape, np.inf)
    owner = np.full(shape, -1, dtype=np.int64)
    when = np.zeros(shape)
    way = np.zeros(shape)
    touched = np.zeros(shape[0] * shape[1], dtype=np.int64)
    laid, filled = np.zeros(shape), np.zeros(shape[0] * shape[1], dtype=np.int64)
    for part in np.split(order, bounds):
        count = _cover_layer(
            part, ends, time_start, time_end, width, joins, position, across, best, owner, when, way, touched
        )
        place = touched[:count].copy()
        flat = (owner.reshape(-1)[place], when.reshape(-1)[place], way.reshape(-1)[place])
        area = share_out(part, ends, width, across, best, place, laid, filled)
        found.append((place, np.full(count, layer[part[0]], dtype=np.int64), flat[1], flat[0], flat[2], area))
        best.reshape(-1)[place] = np.inf
    columns = [np.concatenate([item[k] for item in found]) for k in range(6)]
    return columns[0], columns[1], columns[2], columns[3], columns[4], columns[5]


@njit(cache=True)
def _cover_layer(
    part: Any,
    ends: Any,
    time_start: Any,
    time_end: Any,
    width: Any,
    joins: Any,
    position: Any,
    across: tuple[float, float],
    best: Any,
    owner: Any,
    when: Any,
    way: Any,
    touched: Any,
) -> int:
    count = 0
    for bead in part:
        x0, y0, x1, y1 = ends[bead]
        half = 0.5 * width[bead] * _SLACK
        dx, dy = x1 - x0, y1 - y0
        length = np.hypot(dx, dy)
        if length == 0.0:
            continue
        low_x = max(int((min(x0, x1) - half) / across[0]), 0)
        high_x = min(int((max(x0, x1) + half) / across[0]) + 1, best.shape[0])
        for ix in range(low_x, high_x):
            low_y, high_y = rows_of(ix, ends[bead], half, across, best.shape[1])
            for iy in range(low_y, high_y):
                px, py = (ix + 0.5) * across[0] - x0, (iy + 0.5) * across[1] - y0
                along = (px * dx + py * dy) / length
                beside = abs(px * dy - py * dx) / length
                if beside > half:
                    continue
                distance = beside * beside
                if along < 0.0:
                    if not joins[bead, 0]:
                        continue
                    distance += along * along
                    along = 0.0
                elif along > length:
                    if not joins[bead, 1]:
                        continue
                    distance += (along - length) ** 2
                    along = length
                if distance > half * half or distance >= best[ix, iy]:
                    continue
                if best[ix, iy] == np.inf:
                    touched[count] = ix * best.shape[1] + iy
                    count += 1
                best[ix, iy] = distance
                owner[ix, iy] = bead
                share = along / length
                when[ix, iy] = time_start[bead] + share * (time_end[bead] - time_start[bead])
                way[ix, iy] = position[bead] + along
    return count
