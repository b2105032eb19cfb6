"""What is odd about a force record, in words."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from voidless.measure.curves.read import Curve
from voidless.measure.tensile.strength import force_noise

__all__ = ["count_falls", "odd_things"]

Floats = NDArray[np.float64]

# Shares of the largest force above which something is worth a word: our choices.
PRELOAD = 0.01
FALSE_START = 0.05
CONTACT = 0.01
DRIFT = 0.01
FALL = 0.2
RISE = 0.05
TAIL = 10


def odd_things(curve: Curve, first_peak: int, last: int) -> tuple[str, ...]:
    """
    Return what is odd about a record.

    Parameters
    ----------
    curve : Curve
        A curve with a force channel.
    first_peak : int
        Place of the first maximum. [1]
    last : int
        Place of the last point before the break. [1]

    Returns
    -------
    flags : tuple of str
        Preload, false start, slip, double break, drift after the break, no break, a jump in the displacement.
    """
    force = curve.channels["force_n"]
    top = float(force.max())
    peak = int(np.argmax(force))
    found = []
    if force[0] > PRELOAD * top:
        found.append(f"the record begins at {force[0]:.4g} N ({100 * force[0] / top:.2g} % of the maximum)")
    low = np.flatnonzero(force[:peak] < CONTACT * top)
    if low.size and force[: low[-1]].max(initial=0.0) > FALSE_START * top:
        found.append("false start: the force rose and fell back to nothing before the test")
    if first_peak < peak:
        found.append(
            f"the force fell at {force[first_peak]:.4g} N and rose again to {top:.4g} N: "
            "slip, a first crack or yield"
        )
    falls = count_falls(force[peak:], top)
    if falls > 1:
        found.append(f"the specimen broke in {falls} steps")
    if last == force.size - 1:
        found.append("the record ends before a break")
    tail = force[last + 2 :][-max(TAIL, (force.size - last) // 2) :]
    if tail.size >= TAIL and abs(float(tail.mean())) > max(
        DRIFT * top, 3 * force_noise(force) / np.sqrt(tail.size)
    ):
        found.append(f"after the break the force stands at {tail.mean():.3g} N and not at 0")
    return (*found, *_jump(curve))


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
