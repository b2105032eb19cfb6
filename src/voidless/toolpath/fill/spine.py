"""A region too narrow for contours and raster: one bead along its middle."""

from __future__ import annotations

from typing import Any

import numpy as np

from voidless.toolpath.fill.types import Floats, Piece
from voidless.toolpath.moves import Kind

__all__ = ["lay_spine"]

_REACH = 0.52
"""How far the bead reaches, in mean thicknesses: all of the wall, and no further along it than a front goes. [1]"""


def lay_spine(region: Any) -> list[Piece]:
    """
    Return one bead that carries the area of a narrow region along its middle.

    Parameters
    ----------
    region : shapely Polygon
        A wall about one bead thick, open or closed in itself. [mm]

    Returns
    -------
    pieces : list of Piece
        A travel and a bead.

    Notes
    -----
    The middle is the outline moved in by half the mean thickness where the region runs round a hole, else the
    long axis of the smallest rectangle about it. Regions that bend without closing are left to that axis.
    """
    points = _round(region) if len(region.interiors) else _axis(region)
    thickness = 2.0 * region.area / region.length
    radius = np.full(len(points) - 1, _REACH * thickness)
    return [Piece(Kind.TRAVEL, points[:1], np.zeros(1)), Piece(Kind.CONTOUR, points[1:], radius)]


def _round(region: Any) -> Floats:
    from shapely import Polygon

    thickness = 2.0 * region.area / region.length
    middle = Polygon(region.exterior).buffer(-thickness / 2.0, join_style="mitre")
    return np.asarray(middle.exterior.coords, dtype=float)


def _axis(region: Any) -> Floats:
    corners = np.asarray(region.minimum_rotated_rectangle.exterior.coords, dtype=float)
    if np.hypot(*(corners[1] - corners[0])) > np.hypot(*(corners[2] - corners[1])):
        corners = corners[1:]
    ends = np.array([(corners[0] + corners[1]) / 2.0, (corners[2] + corners[3]) / 2.0])
    length = float(np.hypot(*(ends[1] - ends[0])))
    back = min(0.4 * region.area / length, 0.4 * length)
    along = (ends[1] - ends[0]) / length * back
    return np.array([ends[0] + along, ends[1] - along])
