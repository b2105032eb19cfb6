"""How much of a cell each bead fills in plan: what a bead lays is its length times its width, wherever cells end."""
# mypy: disable-error-code="untyped-decorator, no-any-return"

from __future__ import annotations

from typing import Any

import numpy as np

from voidless.compiling import njit

__all__ = ["rows_of", "share_out"]

_AROUND = ((-1, 0), (1, 0), (0, -1), (0, 1), (-1, -1), (-1, 1), (1, -1), (1, 1))


@njit(cache=True)
def rows_of(ix: int, ends: Any, reach: float, across: tuple[float, float], most: int) -> tuple[int, int]:
    """Return the first cell of a row of cells that a bead may touch, and the first that it does not."""
    x0, y0, x1, y1 = ends
    left, right = ix * across[0] - reach, (ix + 1) * across[0] + reach
    low, high = min(y0, y1), max(y0, y1)
    if x0 != x1:
        one = y0 + (left - x0) / (x1 - x0) * (y1 - y0)
        other = y0 + (right - x0) / (x1 - x0) * (y1 - y0)
        low, high = max(low, min(one, other)), min(high, max(one, other))
    first = max(int(np.floor((low - reach) / across[1])), 0)
    return first, min(int((high + reach) / across[1]) + 1, most)


@njit(cache=True)
def _before(place: float, wide: float, narrow: float) -> float:
    """Return what of a cell lies before a line that is `place` behind its middle: seen along it, a trapezoid."""
    outer, inner = 0.5 * (wide + narrow), 0.5 * (wide - narrow)
    if place <= -outer:
        return 0.0
    if place >= outer:
        return 1.0
    if place < -inner:
        return 0.5 * (place + outer) ** 2 / (wide * narrow)
    if place > inner:
        return 1.0 - 0.5 * (outer - place) ** 2 / (wide * narrow)
    return 0.5 + place / wide


@njit(cache=True)
def _fill(
    ends: Any, width: float, across: tuple[float, float], factor: float, laid: Any, touched: Any, count: int
) -> tuple[float, int]:
    """Add what a bead fills of each cell, times a factor; return what it fills of all, and how many are filled."""
    shape = laid.shape
    x0, y0, x1, y1 = ends
    dx, dy = x1 - x0, y1 - y0
    length = np.hypot(dx, dy)
    c, s = abs(dx) / length, abs(dy) / length
    beside = (max(s * across[0], c * across[1]), min(s * across[0], c * across[1]))
    along = (max(c * across[0], s * across[1]), min(c * across[0], s * across[1]))
    reach = 0.5 * width + 0.5 * (across[0] + across[1])
    total = 0.0
    low_x = max(int(np.floor((min(x0, x1) - reach) / across[0])), 0)
    high_x = min(int((max(x0, x1) + reach) / across[0]) + 1, shape[0])
    for ix in range(low_x, high_x):
        low_y, high_y = rows_of(ix, ends, reach, across, shape[1])
        for iy in range(low_y, high_y):
            px, py = (ix + 0.5) * across[0] - x0, (iy + 0.5) * across[1] - y0
            t, d = (px * dx + py * dy) / length, (py * dx - px * dy) / length
            part = _before(0.5 * width - d, beside[0], beside[1]) - _before(
                -0.5 * width - d, beside[0], beside[1]
            )
            if part <= 0.0:
                continue
            part *= _before(length - t, along[0], along[1]) - _before(-t, along[0], along[1])
            total += part
            if factor > 0.0 and part > 0.0:
                if laid[ix, iy] == 0.0:
                    touched[count] = ix * shape[1] + iy
                    count += 1
                laid[ix, iy] += factor * part
    return total, count


@njit(cache=True)
def share_out(
    part: Any,
    ends: Any,
    width: Any,
    across: tuple[float, float],
    best: Any,
    places: Any,
    laid: Any,
    touched: Any,
) -> Any:
    """
    Return what a layer's beads fill of each of their cells, as a share of it.

    A cell that no bead owns gives what is in it to those around it that one does, so that all that is laid is kept
    wherever a bead owns a cell near by.
    """
    shape, count = best.shape, 0
    for bead in part:
        if np.hypot(ends[bead, 2] - ends[bead, 0], ends[bead, 3] - ends[bead, 1]) == 0.0:
            continue
        total, _ = _fill(ends[bead], width[bead], across, 0.0, laid, touched, 0)
        if total > 0.0:
            own = width[bead] * np.hypot(ends[bead, 2] - ends[bead, 0], ends[bead, 3] - ends[bead, 1])
            factor = own / (across[0] * across[1] * total)
            _, count = _fill(ends[bead], width[bead], across, factor, laid, touched, count)
    # what no bead owns lies beside what one does: within one cell
    found = np.zeros(places.size)
    for k in range(places.size):
        found[k] = laid[places[k] // shape[1], places[k] % shape[1]]
    for k in range(places.size):
        ix, iy = places[k] // shape[1], places[k] % shape[1]
        for n in range(8):
            jx, jy = ix + _AROUND[n][0], iy + _AROUND[n][1]
            if (
                jx < 0
                or jy < 0
                or jx >= shape[0]
                or jy >= shape[1]
                or best[jx, jy] != np.inf
                or laid[jx, jy] <= 0.0
            ):
                continue
            first, last = (0, 4) if _owned(jx, jy, 0, 4, best) > 0 else (4, 8)
            if first <= n < last:
                found[k] += laid[jx, jy] / _owned(jx, jy, first, last, best)
    for k in range(count):
        laid[touched[k] // shape[1], touched[k] % shape[1]] = 0.0
    return found


@njit(cache=True)
def _owned(ix: int, iy: int, first: int, last: int, best: Any) -> int:
    """Return how many of the cells around one belong to a bead."""
    count = 0
    for n in range(first, last):
        jx, jy = ix + _AROUND[n][0], iy + _AROUND[n][1]
        if 0 <= jx < best.shape[0] and 0 <= jy < best.shape[1] and best[jx, jy] != np.inf:
            count += 1
    return count
