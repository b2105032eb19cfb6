"""Blocks printed line by line, for measures of speed."""

from __future__ import annotations

import numpy as np

from voidless.physics.heat.history.grid import Beads


def raster(size_mm: tuple[float, float], layers: int, thickness_mm: float, width_mm: float) -> Beads:
    """Return a block printed line by line at 50 mm/s, laid at 230 °C."""
    count = round(size_mm[1] / width_mm)
    line = 1e-3 * (np.arange(count) + 0.5) * width_mm
    length, speed = 1e-3 * size_mm[0], 0.05
    y, layer = np.tile(line, layers), np.repeat(np.arange(layers), count)
    back = np.tile(np.arange(count) % 2 == 1, layers)
    start = np.arange(y.size) * (length + 1e-3 * width_mm) / speed
    return Beads(
        start=np.column_stack([np.where(back, length, 0.0), y]),
        end=np.column_stack([np.where(back, 0.0, length), y]),
        layer=layer,
        time_start=start,
        time_end=start + length / speed,
        width=np.full(y.size, 1e-3 * width_mm),
        warm=np.full(y.size, 503.15),
        air=np.full(y.size, 20.0),
        joined=np.zeros(y.size, dtype=bool),
        thick=np.full(layers, 1e-3 * thickness_mm),
    )
