"""
A section as a region: inset by contours, then cut into columns across the raster.

The raster is planned in a turned frame: `u` along the beads, `v` across them. Between two neighbouring
break points of `u` the region's edges are straight and no bead begins or ends, so the width that a bead
has to fill in that column times the column's length is exact.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

__all__ = ["Columns", "inset", "raster_lines", "region_columns", "rings_of", "turned_edges"]

Floats = NDArray[np.float64]

_CLOSE_MM = 1e-6
"""Break points nearer than this are one. [mm]"""


def inset(region: Any, distance_mm: float) -> Any:
    """Return the region (a shapely geometry, maybe empty) a distance inside of another. [mm]"""
    return region.buffer(-distance_mm, join_style="mitre", mitre_limit=5.0) if distance_mm else region


def rings_of(region: Any) -> list[Floats]:
    """Return the closed rings `(n, 2)` of a region, first point repeated at the end. [mm]"""
    shapes = getattr(region, "geoms", [region])
    rings = [ring for shape in shapes if not shape.is_empty for ring in (shape.exterior, *shape.interiors)]
    return [np.asarray(ring.coords, dtype=float)[:, :2] for ring in rings]


def turned_edges(region: Any, angle_deg: float) -> Floats:
    """Return the edges `(m, 4)` of a region as u, v of start and end in a frame turned by the angle. [mm]"""
    cosine, sine = math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))
    turn = np.array([[cosine, -sine], [sine, cosine]])
    rings = [ring @ turn for ring in rings_of(region)]
    return np.vstack([np.hstack([ring[:-1], ring[1:]]) for ring in rings])


def raster_lines(edges: Floats, pitch_mm: float, reference_mm: float | None) -> tuple[Floats, float]:
    """
    Return the positions of the raster beads across a region and their adapted pitch.

    Parameters
    ----------
    edges : (m, 4) float array
        Edges in the turned frame. [mm]
    pitch_mm : float
        Full-fill pitch that is aimed at. [mm]
    reference_mm : float or None
        Width that a whole number of beads has to divide; None is the region's own. [mm]

    Returns
    -------
    lines : (n,) float array
        Position of each bead, ascending, symmetric about the middle of the region. [mm]
    pitch : float
        Adapted pitch. [mm]
    """
    low, high = float(edges[:, 1].min()), float(edges[:, 1].max())
    width = high - low
    reference = width if reference_mm is None or not 0.0 < reference_mm < width else reference_mm
    count = max(1, round(reference / pitch_mm))
    pitch = reference / count
    beyond = max(0, math.floor((width - reference) / 2.0 / pitch))
    number = count + 2 * beyond
    lines = (low + high) / 2.0 + (np.arange(number) - (number - 1) / 2.0) * pitch
    return np.asarray(lines), pitch


@dataclass(frozen=True, eq=False)
class Columns:
    """Width that each bead fills, `width` `(k, n)`, in columns bounded by `breaks` `(k + 1,)`. [mm]"""

    breaks: Floats
    width: Floats


def _breaks(edges: Floats, lines: Floats) -> Floats:
    """Return where edges begin and end and where they cross beads, ascending. [mm]"""
    u0, v0, u1, v1 = edges.T
    with np.errstate(divide="ignore", invalid="ignore"):
        share = (lines[None, :] - v0[:, None]) / (v1 - v0)[:, None]
        crossing = u0[:, None] + share * (u1 - u0)[:, None]
    met = crossing[(share > 0.0) & (share < 1.0)]
    found = np.unique(np.concatenate([u0, met]))
    return np.asarray(found[np.concatenate([[True], np.diff(found) > _CLOSE_MM])])


def region_columns(edges: Floats, lines: Floats, pitch_mm: float) -> Columns:
    """
    Return how wide each bead has to be along its way so that the beads tile the region.

    Parameters
    ----------
    edges : (m, 4) float array
        Edges of the region in the turned frame. [mm]
    lines : (n,) float array
        Positions of the beads, evenly spaced. [mm]
    pitch_mm : float
        Their spacing. [mm]

    Returns
    -------
    columns : Columns
        Zero where the bead is outside. Within a column a bead reaches half way to its neighbours, and
        the first and last reach to the region's edge.

    Notes
    -----
    Parts of the region that no bead passes (tips narrower than a bead) are left out; the caller spreads
    their volume. Twice as many crossings as intervals: the region is closed.
    """
    breaks = _breaks(edges, lines)
    middle = (breaks[1:] + breaks[:-1]) / 2.0
    u0, v0, u1, v1 = edges.T
    within = (np.minimum(u0, u1) < middle[:, None]) & (middle[:, None] < np.maximum(u0, u1))
    slope = np.divide(v1 - v0, u1 - u0, out=np.zeros_like(u0), where=u1 != u0)
    height = np.where(within, v0 + (middle[:, None] - u0) * slope, np.inf)
    height = np.sort(height, axis=1)[:, : int(within.sum(axis=1).max())]
    width = np.zeros((len(middle), len(lines)))
    for low, high in zip(height.T[0::2], height.T[1::2], strict=False):
        inside = (lines > low[:, None]) & (lines < high[:, None])
        first = inside & ~np.roll(inside, 1, axis=1)
        first[:, 0] = inside[:, 0]
        last = inside & ~np.roll(inside, -1, axis=1)
        last[:, -1] = inside[:, -1]
        top = np.where(last, high[:, None], lines + pitch_mm / 2.0)
        bottom = np.where(first, low[:, None], lines - pitch_mm / 2.0)
        with np.errstate(
            invalid="ignore"
        ):  # rows without this interval hold infinities that `inside` leaves out
            width += np.where(inside, top - bottom, 0.0)
    return Columns(breaks, width)
