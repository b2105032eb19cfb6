"""What happens along a force record: slips, first cracks, yield, break."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from voidless.errors import ComputationError
from voidless.measure.series.noise import quick_noise

__all__ = ["Course", "Event", "Happening", "averaged", "course_of"]

Floats = NDArray[np.float64]

# Shares of the largest force, and of the elastic stiffness, that tell events apart: our choices.
GUARD_SHARE = 0.01
CONTACT_SHARE = 0.01
BREAK_SHARE = 0.1
STRAIGHT = (0.25, 0.5)
ELASTIC = 0.3
SAME = 0.7
SUDDEN = 0.8
FLAT = 0.05
SOFT = 0.3
SOON = 0.02
NOISE_RANGE = 2.0
FEWEST = 24
SMOOTH_PART = 200
"""Neighbours are averaged over this part of the rise before falls are sought. [1]"""


class Happening(StrEnum):
    """What a fall of the force before a higher rise was."""

    SLIP = "slip"
    CRACK = "crack"
    YIELD = "yield"


@dataclass(frozen=True)
class Event:
    """
    A fall of the force before a higher rise.

    Attributes
    ----------
    kind : Happening
        A slip loads again as stiffly as before; a yield falls and hardens slowly; a first crack falls at once
        and loads again more softly.
    peak, trough, again : int
        Places of the top, of the lowest point, and of the first force above the top again. [1]
    """

    kind: Happening
    peak: int
    trough: int
    again: int


@dataclass(frozen=True)
class Course:
    """
    The course of a force record.

    Attributes
    ----------
    start : int
        First place of the test proper, after a false start. [1]
    top : int
        Place of the largest force. [1]
    first : int
        Place of the first maximum that is no slip. [1]
    last : int
        Last place before the force falls to a tenth of the largest. [1]
    events : tuple of Event
        Falls before a higher rise, in order.
    yields : bool
        Whether the first maximum is a yield point and no break.
    straight : slice
        Places between 25 and 50 % of the first maximum.
    guard : float
        Smallest fall that counts. [N]
    """

    start: int
    top: int
    first: int
    last: int
    events: tuple[Event, ...]
    yields: bool
    straight: slice
    guard: float


def course_of(force_n: Floats, along: Floats | None = None) -> Course:
    """
    Return what happens along a force record.

    Parameters
    ----------
    force_n : (n,) float array
        Force. [N]
    along : (n,) float array or None
        What grows steadily during the test: travel, extension or time; None counts the readings.
        [any unit]

    Returns
    -------
    course : Course
        Places and events.

    Raises
    ------
    ComputationError
        No force is above 0, fewer than 3 are given, or one is not finite.

    Notes
    -----
    Falls are sought in means over 1/200 of the rise. One counts from 1 % of the largest force and from the
    range that noise alone spans: about 2 sqrt(2 ln n) standard deviations in n readings, and twice the
    farthest reading from a smooth course in the straight part. The stiffness of loading again decides between
    slip and yield: at least 0.3 of the elastic one and 0.7 of the one right before is a slip (or
    unloading by hand). Else a sudden fall (steeper than 0.8 of the elastic rise) is a first crack, a slow
    one a yield point. All shares are our choices. A fall that is none of these is called a crack, so that
    in doubt the lower strength counts.
    """
    force = np.asarray(force_n, dtype=float)
    if force.size < 3 or not np.all(np.isfinite(force)) or not force.max() > 0:
        raise ComputationError(
            "strength",
            f"{force.size} forces with none above 0",
            "at least 3 finite forces with one above 0 N",
        )
    x = _steady(force.size if along is None else along)
    highest, top = float(force.max()), int(np.argmax(force))
    slack = np.flatnonzero(force[:top] < CONTACT_SHARE * highest)
    start = int(slack[-1]) if slack.size else 0
    width = (top - start) // SMOOTH_PART
    calm = averaged(force[: top + 1], width)
    guard = max(GUARD_SHARE * highest, _range(calm[_between(calm, start, top)], force.size))
    fallen = np.flatnonzero(force[top:] <= BREAK_SHARE * highest)
    last = top + int(fallen[0]) - 1 if fallen.size else force.size - 1
    falls = [_placed(force, fall, width) for fall in _falls(calm, start, top, guard)]
    first = falls[0][0] if falls else top
    straight = _between(force, start, first)
    elastic = _slope(x[straight], force[straight])
    events = tuple(_named(force, x, fall, elastic, guard) for fall in falls)
    real = [event for event in events if event.kind is not Happening.SLIP]
    at = real[0].peak if real else top
    if at != first:
        straight = _between(force, start, at)
    yields = real[0].kind is Happening.YIELD if real else _softens(force, x, start, top, last, elastic)
    return Course(start, top, at, last, events, yields, straight, guard)


def _steady(along: Floats | int) -> Floats:
    if isinstance(along, int):
        return np.arange(along, dtype=float)
    x = np.asarray(along, dtype=float)
    # A travel that is counted from an arbitrary point may run downwards.
    return x if x[-1] >= x[0] else -x


def averaged(force: Floats, width: int) -> Floats:
    """
    Return means over neighbours, so that tails of single knocks do not count; the ends stay as they are.

    Parameters
    ----------
    force : (n,) float array
        Force. [N]
    width : int
        Neighbours, rounded to an odd number. [1]

    Returns
    -------
    calm : (n,) float array
        The record itself below a width of 2. [N]
    """
    half = width // 2
    if half < 1:
        return force
    total = np.concatenate([[0.0], np.cumsum(force)])
    calm = force.copy()
    calm[half:-half] = (total[2 * half + 1 :] - total[: -2 * half - 1]) / (2 * half + 1)
    return calm


def _placed(force: Floats, fall: tuple[int, int, int], width: int) -> tuple[int, int, int]:
    """Return the places of a fall in the record itself."""
    peak, trough, again = fall
    low, high = max(peak - width, 0), min(peak + width, trough)
    peak = low + int(np.argmax(force[low : high + 1]))
    return peak, peak + int(np.argmin(force[peak : again + 1])), again


def _range(part: Floats, count: int) -> float:
    """Return the range that noise alone spans in a record, judged about a cubic course of its straight part."""
    normal = NOISE_RANGE * float(np.sqrt(2.0 * np.log(count)))
    if part.size < FEWEST:
        return normal * quick_noise(part)
    place = np.linspace(-1.0, 1.0, part.size)
    basis = np.polynomial.legendre.legvander(place, 3)
    apart = np.abs(part - basis @ np.linalg.lstsq(basis, part, rcond=None)[0])
    return float(max(normal * np.median(apart) / 0.6745, 2.0 * apart.max()))


def _falls(force: Floats, start: int, top: int, guard: float) -> list[tuple[int, int, int]]:
    """Return top, trough and return of each fall that a higher force follows."""
    part = force[start : top + 1]
    records = np.flatnonzero(part >= np.maximum.accumulate(part))
    if records.size < 2:
        return []
    lows = np.minimum.reduceat(part, records[:-1])
    deep = np.flatnonzero(part[records[:-1]] - lows > guard)
    return [
        (
            start + int(records[k]),
            start + int(records[k] + np.argmin(part[records[k] : records[k + 1]])),
            start + int(records[k + 1]),
        )
        for k in deep
    ]


def _between(force: Floats, start: int, peak: int) -> slice:
    """Return the places where a rising force passes from a quarter to half of a peak."""
    rising = force[start : peak + 1]
    low, high = (share * force[peak] for share in STRAIGHT)
    first, last = int(np.argmax(rising >= low)), int(np.argmax(rising >= high))
    return slice(start + first, start + max(last, first) + 1)


def _slope(x: Floats, y: Floats) -> float:
    """Return a least-squares slope, 0 where there is none."""
    if x.size < 2:
        return 0.0
    spread = x - x.mean()
    power = float(spread @ spread)
    return float(spread @ (y - y.mean())) / power if power > 0 else 0.0


def _named(force: Floats, x: Floats, fall: tuple[int, int, int], elastic: float, guard: float) -> Event:
    peak, trough, again = fall
    half = (trough + again) // 2
    # Of its two halves the stiffer one counts: a second slip may lie in the other.
    after = max(_slope(x[part], force[part]) for part in (slice(trough, half + 1), slice(half, again + 1)))
    if again - trough < FEWEST:
        after = _slope(x[trough : again + 1], force[trough : again + 1])
    before = _slope_before(force, x, peak, max(3.0 * guard, 0.1 * float(force[peak])))
    if after >= ELASTIC * elastic > 0 and after >= SAME * before:
        return Event(Happening.SLIP, *fall)
    run = float(x[trough] - x[peak])
    steep = (float(force[peak] - force[trough]) / run) if run > 0 else np.inf
    return Event(Happening.CRACK if steep >= SUDDEN * elastic else Happening.YIELD, *fall)


def _slope_before(force: Floats, x: Floats, peak: int, depth: float) -> float:
    """Return the slope over the last rise of a given height before a peak."""
    below = np.flatnonzero(force[:peak] < force[peak] - depth)
    begin = int(below[-1]) if below.size else 0
    return _slope(x[begin : peak + 1], force[begin : peak + 1])


def _softens(force: Floats, x: Floats, start: int, top: int, last: int, elastic: float) -> bool:
    """Return whether the largest force is a yield point: the force goes on slowly, or has stopped rising."""
    way = float(x[top] - x[start])
    if not way > 0 or not elastic > 0:
        return False
    ahead = top + int(np.argmax(x[top : last + 1] >= x[top] + SOON * way))
    if ahead - top >= 3:
        fall = float(force[top] - force[ahead]) / float(x[ahead] - x[top])
        if fall <= SOFT * elastic:
            return True
    begin = int(np.argmax(x[: top + 1] >= x[top] - FLAT * way))
    return last - begin >= 5 and _slope(x[begin : last + 1], force[begin : last + 1]) <= FLAT * elastic
