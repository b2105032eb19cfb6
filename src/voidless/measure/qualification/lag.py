"""Pressure lag from bead widths after a change of speed."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from voidless.errors import ComputationError, InputError
from voidless.measure.series.noise import long_run
from voidless.measure.series.trend import coverage_factor

__all__ = ["Lag", "lag_from_widths"]

Floats = NDArray[np.float64]

FEWEST = 8


@dataclass(frozen=True)
class Lag:
    """
    Delay between commanded and real melt flow.

    Attributes
    ----------
    lag_s, uncertainty_s : float
        Time constant, with its standard uncertainty. [s]
    width_before_mm, width_after_mm : float
        Bead width at the change and far behind it. [mm]
    fitted_mm : (n,) float array
        Widths by the fit. [mm]
    flags : tuple of str
        What to know.
    """

    lag_s: float
    uncertainty_s: float
    width_before_mm: float
    width_after_mm: float
    fitted_mm: Floats
    flags: tuple[str, ...]


def lag_from_widths(distance_mm: Floats, width_mm: Floats, speed_mm_s: float) -> Lag:
    """
    Return the pressure lag from one bead that was printed across a change of speed.

    Parameters
    ----------
    distance_mm : (n,) float array
        Distance behind the change, 0 or more, rising. [mm]
    width_mm : (n,) float array
        Bead width there. [mm]
    speed_mm_s : float
        Speed after the change. [mm/s]

    Returns
    -------
    lag : Lag
        Width = after + (before - after) exp(-distance / (speed lag)): first-order lag, pressure in the melt being let
        out in proportion to itself. Width stands for the bead's section at constant layer thickness.

    Raises
    ------
    InputError
        Fewer than 8 places, or values that are not positive.
    ComputationError
        The widths show no change that settles within the bead.
    """
    from scipy.optimize import least_squares

    x, y = np.asarray(distance_mm, dtype=float), np.asarray(width_mm, dtype=float)
    if not (
        x.size == y.size >= FEWEST
        and np.all(np.diff(x) > 0)
        and x[0] >= 0
        and speed_mm_s > 0
        and np.all(y > 0)
    ):
        raise InputError(
            "pressure lag",
            f"{x.size} places" + (f" from {x[0]:g} to {x[-1]:g} mm" if x.size else ""),
            f"at least {FEWEST}, at distances behind the change that rise from 0 or more, with widths above 0",
            "Measure more, or turn the distances round.",
        )
    length = float(x[-1] - x[0])

    def course(p: Floats) -> Floats:
        return np.asarray(p[1] + (p[0] - p[1]) * np.exp(-x / p[2]))

    def off(p: Floats) -> Floats:
        return np.asarray(course(p) - y)

    part = max(x.size // 5, 2)
    begin = np.array([y[:part].mean(), y[-part:].mean(), length / 4.0])
    with np.errstate(
        all="ignore"
    ):  # widths without any change leave the solver nothing to go by; judged below
        found = least_squares(off, begin, bounds=([0.0, 0.0, length / 1e3], [np.inf, np.inf, 10.0 * length]))
    left = y - course(found.x)
    variance, inflation = long_run(left, 3)
    slopes = np.asarray(found.jac, dtype=float)
    covariance = np.linalg.pinv(slopes.T @ slopes) * variance * inflation
    unsure = np.sqrt(np.diag(covariance)) * coverage_factor(x.size - 3)
    step = abs(found.x[0] - found.x[1])
    if not step > 2.0 * float(np.hypot(unsure[0], unsure[1])) or not found.x[2] < length:
        raise ComputationError(
            "pressure lag",
            f"a change of width of {step:.3g} mm over {found.x[2]:.3g} mm that does not stand out or settle",
            "a larger change of speed, or a longer bead",
            "Print it again.",
        )
    flags = []
    if found.x[2] > length / 3.0:
        flags.append("the width hardly settles within the bead; print a longer one")
    if found.x[0] < found.x[1]:
        flags.append(
            "the bead widens, so the speed rose there: while it does the width follows that too, and the lag comes out "
            "too long; measure behind a place where the speed falls"
        )
    return Lag(
        float(found.x[2]) / speed_mm_s,
        float(unsure[2]) / speed_mm_s,
        float(found.x[0]),
        float(found.x[1]),
        course(found.x),
        tuple(flags),
    )
