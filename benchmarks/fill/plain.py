"""The plain way to fill: contours a pitch apart, straight beads a pitch apart between them, one width throughout."""

from __future__ import annotations

from typing import Any

import numpy as np

from voidless.toolpath.fill.types import Pattern
from voidless.toolpath.moves import Kind
from voidless.toolpath.region import inset, rings_of, turned_edges

_JOIN_PITCHES = 2.0


def _lines(region: Any, angle_deg: float, pitch: float) -> list[np.ndarray]:
    """Return the parts of lines a pitch apart inside of a region, every second line backwards."""
    edges = turned_edges(region, angle_deg)
    low, high = edges[:, 1].min(), edges[:, 1].max()
    cosine, sine = np.cos(np.radians(angle_deg)), np.sin(np.radians(angle_deg))
    back = np.array([[cosine, sine], [-sine, cosine]])
    found = []
    for number, v in enumerate(np.arange(low + 1e-9, high, pitch)):
        u0, v0, u1, v1 = edges[(edges[:, 1] <= v) != (edges[:, 3] <= v)].T
        ends = np.sort(u0 + (v - v0) * (u1 - u0) / (v1 - v0)).reshape(-1, 2)
        for first, last in ends if number % 2 == 0 else ends[::-1, ::-1]:
            if first != last:
                found.append(np.array([(first, v), (last, v)]) @ back)
    return found


def plain_pattern(region: Any, pitch: float, contours: int, angle_deg: float) -> Pattern:
    """Return the pattern; what does not divide by the pitch stays open or is laid twice."""
    kind: list[int] = []
    points: list[np.ndarray] = []
    took = 0
    for number in range(contours):
        path = inset(region, (number + 0.5) * pitch)
        took += not path.is_empty
        for ring in rings_of(path) if not path.is_empty else []:
            kind += [Kind.TRAVEL] + [Kind.CONTOUR] * (len(ring) - 1)
            points += list(ring)
    rest = inset(region, (contours + 0.5) * pitch)
    for first, last in _lines(rest, angle_deg, pitch) if not rest.is_empty else []:
        near = (
            bool(points)
            and kind[-1] == Kind.RASTER
            and np.hypot(*(first - points[-1])) < _JOIN_PITCHES * pitch
        )
        kind += [Kind.TURN if near else Kind.TRAVEL, Kind.RASTER]
        points += [first, last]
    ends, codes = np.array(points).reshape(-1, 2), np.array(kind, dtype=np.int64)
    length = np.hypot(*np.diff(ends, axis=0, prepend=ends[:1]).T)
    area = np.where(codes == Kind.TRAVEL, 0.0, length * pitch)
    keep = (codes == Kind.TRAVEL) | (length > 0.0)
    return Pattern(codes[keep], ends[keep], area[keep], 0.0, took)
