"""Duty of a fan to the air it moves."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from voidless.errors import InputError

__all__ = ["FanCurve", "fan_curve"]


@dataclass(frozen=True)
class FanCurve:
    """
    Air by duty.

    Attributes
    ----------
    duty_pct, air_share, uncertainty : tuple of float
        Duty, air as a share of that at the highest duty, and its standard uncertainty. [%], [1], [1]
    stall_pct : float
        Highest duty at which the fan stood still; below it a commanded duty is no air. [%]
    start_pct : float
        Lowest duty at which it turned; the true limit lies between the two. [%]
    flags : tuple of str
        What to know.
    """

    duty_pct: tuple[float, ...]
    air_share: tuple[float, ...]
    uncertainty: tuple[float, ...]
    stall_pct: float
    start_pct: float
    flags: tuple[str, ...]

    def air_at(self, duty_pct: float) -> float:
        """
        Return the air at a duty as a share of that at the highest duty.

        Parameters
        ----------
        duty_pct : float
            [%]

        Raises
        ------
        InputError
            The duty lies above what was read, or between the one that stalls and the one that starts.
        """
        if duty_pct <= self.stall_pct:
            return 0.0
        if not self.start_pct <= duty_pct <= self.duty_pct[-1]:
            raise InputError(
                "fan_pct",
                f"{duty_pct:g} %",
                f"{self.start_pct:g} to {self.duty_pct[-1]:g} %, where it was read",
                "Read it.",
            )
        return float(np.interp(duty_pct, self.duty_pct, self.air_share))


def fan_curve(duty_pct: Sequence[float], air: Sequence[float], air_uncertainty: float) -> FanCurve:
    """
    Return the curve of a fan.

    Parameters
    ----------
    duty_pct : sequence of float
        Commanded duties, each from standstill (a turning fan goes on below the duty at which it starts). [%]
    air : sequence of float
        Air speed or turns at each, 0 where it stands still. [any one unit]
    air_uncertainty : float
        Standard uncertainty of one reading. [the same unit]

    Returns
    -------
    curve : FanCurve
        Repeated duties are averaged.

    Raises
    ------
    InputError
        Fewer than three duties, a negative reading, or no air at the highest duty.
    """
    duty, moved = np.asarray(duty_pct, dtype=float), np.asarray(air, dtype=float)
    if duty.size != moved.size or np.unique(duty).size < 3 or not (np.all(moved >= 0) and np.all(duty >= 0)):
        raise InputError(
            "fan", f"{np.unique(duty).size} duties", "three or more, with air at each", "Read more."
        )
    places = np.unique(duty)
    mean = np.array([moved[duty == place].mean() for place in places])
    count = np.array([(duty == place).sum() for place in places])
    if not mean[-1] > 3.0 * air_uncertainty:
        raise InputError(
            "fan", f"{mean[-1]:g} at {places[-1]:g} %", "air that stands out at the highest duty", "Check."
        )
    still = mean <= 2.0 * air_uncertainty / count**0.5
    turning = np.flatnonzero(~still)
    first = int(turning[0])
    flags = []
    if still[first:].any():
        flags.append("the fan stood still at a duty above one at which it turned; read it again")
    if np.any(np.diff(mean[first:]) < -3.0 * air_uncertainty):
        flags.append("air falls where duty rises")
    share = mean / mean[-1]
    unsure = np.hypot(
        air_uncertainty / count**0.5 / mean[-1], share * air_uncertainty / count[-1] ** 0.5 / mean[-1]
    )
    below = places[:first]
    return FanCurve(
        tuple(places.tolist()),
        tuple(share.tolist()),
        tuple(unsure.tolist()),
        float(below[-1]) if below.size else 0.0,
        float(places[first]),
        tuple(flags),
    )
