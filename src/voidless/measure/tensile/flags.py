"""What is odd about a force record, in words."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from voidless.measure.curves.read import Curve
from voidless.measure.series.noise import noise_of
from voidless.measure.series.trend import coverage_factor
from voidless.measure.tensile.events import Course, Happening

__all__ = ["count_falls", "odd_things", "zero_of"]

Floats = NDArray[np.float64]

# Shares of the largest force above which something is worth a word: our choices.
PRELOAD = 0.01
FALSE_START = 0.05
CONTACT = 0.01
DRIFT = 0.01
FALL = 0.2
RISE = 0.05
TAIL = 10
FEWEST = 3
STILL = 0.005


def odd_things(curve: Curve, course: Course) -> tuple[str, ...]:
    """
    Return what is odd about a record.

    Parameters
    ----------
    curve : Curve
        A curve with a force channel.
    course : Course
        Places in it.

    Returns
    -------
    flags : tuple of str
        Preload, false start, slip, first crack, double break, drift after the break, no break, a jump in the
        displacement.
    """
    force = curve.channels["force_n"]
    top, last = float(force.max()), course.last
    found = []
    if force[0] > PRELOAD * top:
        found.append(f"the record begins at {force[0]:.4g} N ({100 * force[0] / top:.2g} % of the maximum)")
    if course.start and force[: course.start].max(initial=0.0) > FALSE_START * top:
        found.append("false start: the force rose and fell back to nothing before the test")
    for event in course.events:
        words = {
            Happening.SLIP: "a slip in the grips, or unloading by hand; no maximum of the material",
            Happening.CRACK: "a first crack: it loaded again more softly",
            Happening.YIELD: "a yield point",
        }[event.kind]
        found.append(f"the force fell at {force[event.peak]:.4g} N and rose again to {top:.4g} N: {words}")
    falls = count_falls(force[course.top :], top)
    if falls > 1:
        found.append(f"the specimen broke in {falls} steps")
    if last == force.size - 1:
        found.append("the record ends before a break")
    zero = zero_of(force, course)
    if zero is not None and abs(zero[0]) > max(DRIFT * top, 3.0 * zero[1]):
        found.append(f"after the break the force stands at {zero[0]:.3g} N and not at 0")
    return (*found, *_jump(curve))


def zero_of(force_n: Floats, course: Course) -> tuple[float, float] | None:
    """
    Return the force at which a record stands after its break.

    Parameters
    ----------
    force_n : (n,) float array
        Force. [N]
    course : Course
        Places in the record.

    Returns
    -------
    zero : (float, float) or None
        Mean and its standard uncertainty; None where fewer than 3 readings follow the break, or fewer than 10 that
        do not stand still. [N]
    """
    tail = force_n[course.last + 2 :][-max(TAIL, (force_n.size - course.last) // 2) :]
    if tail.size < TAIL:
        if tail.size < FEWEST or np.ptp(tail) > STILL * float(force_n.max()):
            return None
        return float(tail.mean()), float(tail.std(ddof=1)) / tail.size**0.5 * coverage_factor(tail.size - 1)
    noise = noise_of(tail)
    return float(tail.mean()), noise.sd * (noise.inflation / tail.size) ** 0.5


def count_falls(force_n: Floats, top_n: float) -> int:
    """
    Return in how many steps a force falls.

    Parameters
    ----------
    force_n : (n,) float array
        Force from its maximum on. [N]
    top_n : float
        Largest force. [N]

    Returns
    -------
    falls : int
        Falls of over 20 % of the largest force with a rise of over 5 % between them. [1]
    """
    falls, high, low, falling = 0, float(force_n[0]), float(force_n[0]), False
    for value in force_n.tolist():
        if falling:
            low = min(low, value)
            if value - low > RISE * top_n:
                falling, high = False, value
        else:
            high = max(high, value)
            if high - value > FALL * top_n:
                falls, falling, low = falls + 1, True, value
    return falls


def _jump(curve: Curve) -> list[str]:
    """Return a word where a displacement leaps at its start by more than all later steps together explain."""
    found = []
    for name in ("extension_mm", "travel_mm"):
        values = curve.channels.get(name)
        if values is None or values.size < TAIL:
            continue
        steps = np.abs(np.diff(values))
        if steps[0] > 20 * max(float(np.max(steps[1:TAIL])), 1e-9) and steps[0] > 0.01 * float(
            np.ptp(values[1:])
        ):
            found.append(f"{name} leaps from {values[0]:.4g} to {values[1]:.4g} at its first point")
    return found
