"""A section as a region: its rings, inset, edges in a turned frame (`u` along the raster, `v` across), raster lines."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

__all__ = ["inset", "oriented", "raster_lines", "rings_of", "turned_edges"]

Floats = NDArray[np.float64]


def inset(region: Any, distance_mm: float) -> Any:
    """Return the region (a shapely geometry, maybe empty) a distance inside of another. [mm]"""
    return region.buffer(-distance_mm, join_style="mitre", mitre_limit=5.0) if distance_mm else region


def oriented(region: Any) -> Any:
    """Return the region with its material on the left of every ring."""
    from shapely import MultiPolygon
    from shapely.geometry.polygon import orient

    return MultiPolygon([orient(shape) for shape in getattr(region, "geoms", [region]) if not shape.is_empty])


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
