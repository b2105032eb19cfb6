"""Rays across the room about a closed line, compiled."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from voidless.compiling import njit

__all__ = ["lower_room", "thinned"]

_BLOCK = 16
"""Neighbouring rays that share a search for what is near. [1]"""


@njit(cache=True)
def _to_stroke(x: float, y: float, nx: float, ny: float, best: float, stroke: Any) -> float:
    """Return how far a ray gets before it comes as near to a straight line as the stroke reaches."""
    ax, ay, bx, by, radius = stroke[0] - x, stroke[1] - y, stroke[2] - x, stroke[3] - y, stroke[4]
    near = best + radius
    if min(ax, bx) > near or max(ax, bx) < -near or min(ay, by) > near or max(ay, by) < -near:
        return best
    dx, dy = bx - ax, by - ay
    size = math.hypot(dx, dy)
    if size > 0.0:
        mx, my = -dy / size, dx / size
        slope = mx * nx + my * ny
        if slope != 0.0:
            for side in (-radius, radius):
                way = (mx * ax + my * ay + side) / slope
                foot = (way * nx - ax) * dx + (way * ny - ay) * dy
                if 0.0 <= way < best and 0.0 <= foot <= size * size:
                    best = way
    if radius > 0.0:
        for qx, qy in ((ax, ay), (bx, by)):
            along = nx * qx + ny * qy
            short = radius * radius - (qx * qx + qy * qy - along * along)
            if short >= 0.0 and 0.0 <= along - math.sqrt(short) < best:
                best = along - math.sqrt(short)
    return best


@njit(cache=True)
def _to_middle(x: float, y: float, nx: float, ny: float, best: float, line: Any) -> float:
    """Return how far a ray gets before it is nearer to a line, or an end of it, than to its own origin."""
    ax, ay, bx, by = line[0] - x, line[1] - y, line[2] - x, line[3] - y
    near = 2.0 * best
    if min(ax, bx) > near or max(ax, bx) < -near or min(ay, by) > near or max(ay, by) < -near:
        return best
    dx, dy = bx - ax, by - ay
    size = math.hypot(dx, dy)
    mx, my = -dy / size, dx / size
    apart = 1.0 - (mx * nx + my * ny)
    if apart > 1e-9:
        way = -(mx * ax + my * ay) / apart
        foot = (way * nx - ax) * dx + (way * ny - ay) * dy
        if 0.0 < way < best and 0.0 <= foot <= size * size:
            best = way
    for qx, qy in ((ax, ay), (bx, by)):
        along = nx * qx + ny * qy
        if along > 1e-9 and (qx * qx + qy * qy) / (2.0 * along) < best:
            best = (qx * qx + qy * qy) / (2.0 * along)
    return best


@njit(cache=True)
def _within(lines: Any, box: Any, found: Any) -> int:
    """Write which lines have a box that meets another into `found`; return how many."""
    number = 0
    for e in range(len(lines)):
        apart = (
            max(lines[e, 0], lines[e, 2]) < box[0]
            or max(lines[e, 1], lines[e, 3]) < box[1]
            or min(lines[e, 0], lines[e, 2]) > box[2]
            or min(lines[e, 1], lines[e, 3]) > box[3]
        )
        if not apart:
            found[number] = e
            number += 1
    return number


@njit(cache=True)
def lower_room(inside: Any, middle: Any, normal: Any, lines: Any, ahead: Any) -> None:
    """
    Lower room to where a ray meets what lies ahead or comes nearer to another line than to its own origin.

    Parameters
    ----------
    inside : (n,) float array
        Room, changed in place. [mm]
    middle, normal : (n, 2) float array
        Where rays begin, and their directions of length 1. [mm], [1]
    lines : (m, 4) float array
        Lines with material on their left. [mm]
    ahead : (k, 5) float array
        Strokes: ends of straight lines, and the distance within which all is filled. [mm]
    """
    near_lines, near_ahead = np.empty(len(lines), np.int64), np.empty(len(ahead), np.int64)
    for begin in range(0, len(inside), _BLOCK):
        block = slice(begin, min(begin + _BLOCK, len(inside)))
        reach = 2.0 * inside[block].max()
        box = (
            middle[block, 0].min() - reach,
            middle[block, 1].min() - reach,
            middle[block, 0].max() + reach,
            middle[block, 1].max() + reach,
        )
        some_lines, some_ahead = _within(lines, box, near_lines), _within(ahead, box, near_ahead)
        for k in range(block.start, block.stop):
            x, y, nx, ny, best = middle[k, 0], middle[k, 1], normal[k, 0], normal[k, 1], inside[k]
            for e in near_ahead[:some_ahead]:
                best = _to_stroke(x, y, nx, ny, best, ahead[e])
            for e in near_lines[:some_lines]:
                best = _to_middle(x, y, nx, ny, best, lines[e])
            inside[k] = best


_STRAIGHT = 0.99
"""Least length of a move over that of the pieces it stands for. [1]"""


@njit(cache=True)
def thinned(points: Any, area: Any, level: float, leeway: float) -> Any:
    """
    Return which points of a path to keep so that straight, even moves between them stand for it.

    Parameters
    ----------
    points : (n + 1, 2) float array
        Ends of the pieces. [mm]
    area : (n,) float array
        Area of each piece. [mm²]
    level : float
        How far a point that is left out may lie from its move. [mm]
    leeway : float
        How much area may be laid too early or too late. [mm²]

    Returns
    -------
    keep : (m,) int array
        Points to keep, first and last included.
    """
    number = len(area)
    way, filled = np.zeros(number + 1), np.zeros(number + 1)
    for k in range(number):
        way[k + 1] = way[k] + math.hypot(points[k + 1, 0] - points[k, 0], points[k + 1, 1] - points[k, 1])
        filled[k + 1] = filled[k] + area[k]
    keep = [0]
    begin, end = 0, 2
    while end <= number:
        dx, dy = points[end, 0] - points[begin, 0], points[end, 1] - points[begin, 1]
        size = math.hypot(dx, dy)
        total = way[end] - way[begin]
        fine = size > _STRAIGHT * total  # no way back hides on the line
        for k in range(begin + 1, end):
            if not fine:
                break
            off = abs(dx * (points[k, 1] - points[begin, 1]) - dy * (points[k, 0] - points[begin, 0])) / size
            even = filled[begin] + (filled[end] - filled[begin]) * (way[k] - way[begin]) / total
            fine = off <= level and abs(filled[k] - even) <= leeway
        if not fine:
            begin = end - 1
            keep.append(begin)
        end += 1
    keep.append(number)
    return np.array(keep)
