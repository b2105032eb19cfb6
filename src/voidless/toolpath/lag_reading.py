"""Pressure lag from the widths along the lines of the lag print."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from voidless.beads.stadium import bead_width
from voidless.errors import ComputationError, InputError
from voidless.toolpath.lag import deposit_lagged
from voidless.toolpath.lag_pieces import cut_moves
from voidless.toolpath.lag_print import LagPrint
from voidless.toolpath.motion import MotionLimits, profile_moves

__all__ = ["LagReading", "lag_widths", "reduce_lag"]

Floats = NDArray[np.float64]

_LEAST_POINTS = 8
_LONGEST_LAG_S = 1.0
_PIECE_MM = 0.25
_STEPS = np.array([5e-4, 1e-2])
"""Steps of lag and flow factor for slopes: well above rounding, below what can be measured. [s], [1]"""
_WORST_CONDITION = 1e6


@dataclass(frozen=True)
class LagReading:
    """
    A measured pressure lag.

    Attributes
    ----------
    lag_s : float
        Pressure lag. [s]
    uncertainty_s : float
        Standard uncertainty from the scatter of the widths about the model. [s]
    flow_factor : float
        Real over fed area of the settled bead. [1]
    residual_mm : float
        Standard deviation of the widths about the model. [mm]
    freedom : int
        Degrees of freedom of that deviation. [1]
    """

    lag_s: float
    uncertainty_s: float
    flow_factor: float
    residual_mm: float
    freedom: int


@lru_cache(maxsize=8)
def _line(planned: LagPrint, limits: MotionLimits) -> tuple[Any, Any, Floats]:
    """Return pieces of one line, how they run, and where they end along it."""
    first, after = planned.lines[0]
    moves = planned.toolpath.moves
    profile = profile_moves(moves, limits)
    pieces, runs, source = cut_moves(moves, profile, _PIECE_MM)
    chosen = np.flatnonzero((source >= first) & (source < after))
    begin, end = int(chosen[0]), int(chosen[-1]) + 1
    cut: dict[str, Any] = {
        name: value[begin:end]
        for name, value in vars(pieces).items()
        if isinstance(value, np.ndarray) and value.ndim == 1
    }
    cut.pop("deposits", None)
    start = (pieces.x_mm[begin - 1], pieces.y_mm[begin - 1], pieces.z_mm[begin - 1])
    part = replace(pieces, **cut, start_mm=start)
    ran = replace(
        runs,
        time_s=runs.time_s[begin:end],
        junction_mm_s=runs.junction_mm_s[begin : end + 1],
        peak_mm_s=runs.peak_mm_s[begin:end],
        acceleration_mm_s2=runs.acceleration_mm_s2[begin:end],
    )
    return part, ran, np.cumsum(part.length_mm)


def lag_widths(
    planned: LagPrint,
    limits: MotionLimits,
    lag_s: float,
    position_mm: ArrayLike,
    window_mm: float = 1.0,
    flow_factor: float = 1.0,
) -> Floats:
    """
    Return the widths that a line of the lag print has along its length.

    Parameters
    ----------
    planned : LagPrint
        The print.
    limits : MotionLimits
        What limits the machine's motion.
    lag_s : float
        Pressure lag. [s]
    position_mm : (n,) float array
        Positions along the line from its start. [mm]
    window_mm : float
        Length over which each width is an average. [mm]
    flow_factor : float
        Real over fed area of the settled bead. [1]

    Returns
    -------
    width_mm : (n,) float array
        Widths. [mm]

    Raises
    ------
    InputError
        A position lies so that its window leaves the line.

    Notes
    -----
    Mean deposited area over the window, and the width of a bead of that area, layer thickness as planned.
    """
    part, ran, ends = _line(planned, limits)
    position = np.asarray(position_mm, dtype=float)
    low, high = position - window_mm / 2.0, position + window_mm / 2.0
    if not np.all((low >= 0.0) & (high <= planned.length_mm)):
        raise InputError(
            "lag print",
            f"a position lies outside {window_mm / 2.0:g} to {planned.length_mm - window_mm / 2.0:g} mm",
            "positions from the start of the line",
            "Measure from where the bead begins.",
        )
    volume = np.cumsum(deposit_lagged(part, ran, lag_s).volume_mm3)
    laid = np.interp(high, ends, volume) - np.interp(low, np.append(0.0, ends), np.append(0.0, volume))
    area = np.maximum(flow_factor * laid / window_mm, 0.0)
    round_area = math.pi * planned.layer_mm**2 / 4.0
    thin = 2.0 * np.sqrt(np.minimum(area, round_area) / math.pi)  # less than a round bead: a thinner strand
    return np.where(area > round_area, bead_width(planned.layer_mm, np.maximum(area, round_area)), thin)


def reduce_lag(
    planned: LagPrint,
    limits: MotionLimits,
    position_mm: ArrayLike,
    width_mm: ArrayLike,
    window_mm: float = 1.0,
) -> LagReading:
    """
    Return the pressure lag of a machine from widths measured along the lines of its lag print.

    Parameters
    ----------
    planned : LagPrint
        The print, as planned for that machine.
    limits : MotionLimits
        What limits the machine's motion.
    position_mm : (n,) float array
        Positions along the lines from their starts; all lines count as one. [mm]
    width_mm : (n,) float array
        Widths measured there. [mm]
    window_mm : float
        Length over which each width is an average, such as the jaws of a calliper. [mm]

    Returns
    -------
    reading : LagReading
        Lag with standard uncertainty.

    Raises
    ------
    InputError
        Fewer than 8 widths, widths that are not above 0, or none within the stretches after both steps.
    ComputationError
        No lag between 0 and 1 s describes the widths.

    Notes
    -----
    Least squares over lag and flow factor; uncertainty from the curvature at the optimum and the residual
    scatter. Widths along one line are taken as independent. The start of the line is not used: what the nozzle
    holds after a travel is not known, so positions within the first third count only once settled.
    """
    from scipy.optimize import least_squares

    position, width = np.asarray(position_mm, dtype=float), np.asarray(width_mm, dtype=float)
    _check(planned, position, width)
    used = position >= planned.steps_mm[0] / 2.0
    position, width = position[used], width[used]

    def misfit(guess: Floats) -> Floats:
        return np.asarray(
            lag_widths(planned, limits, float(guess[0]), position, window_mm, float(guess[1])) - width
        )

    def slopes(guess: Floats) -> Floats:
        here = misfit(guess)
        return np.column_stack([(misfit(guess + step) - here) / step.sum() for step in np.diag(_STEPS)])

    found = least_squares(
        misfit, x0=[0.05, 1.0], jac=slopes, bounds=([0.0, 0.2], [_LONGEST_LAG_S, 3.0]), x_scale=[0.05, 1.0]
    )
    lag, factor = (float(value) for value in found.x)
    if not found.success or lag >= 0.99 * _LONGEST_LAG_S:
        raise ComputationError(
            "lag print",
            f"no lag up to {_LONGEST_LAG_S:g} s describes the widths",
            "widths that fall after the first step and rise after the second",
            "Check the positions and that the lines lie on the bed.",
        )
    freedom = len(width) - 2
    scatter = math.sqrt(float(np.sum(found.fun**2)) / freedom)
    jacobian = slopes(np.array([lag, factor]))
    curvature = jacobian.T @ jacobian
    if not np.linalg.cond(curvature * np.outer(_STEPS, _STEPS)) < _WORST_CONDITION:
        raise ComputationError(
            "lag print",
            f"the widths do not tell a lag of {1000.0 * lag:.1f} ms from none",
            "widths within a few millimetres after each step",
            "Measure closer after the steps.",
        )
    covariance = np.linalg.inv(curvature) * scatter**2
    return LagReading(lag, math.sqrt(float(covariance[0, 0])), factor, scatter, freedom)


def _check(planned: LagPrint, position: Floats, width: Floats) -> None:
    up, down = planned.steps_mm
    near = 0.25 * (down - up)
    if (
        position.shape != width.shape
        or len(width) < _LEAST_POINTS
        or not np.all(width > 0.0)
        or not np.any((position > up) & (position < up + near))
        or not np.any((position > down) & (position < down + near))
    ):
        raise InputError(
            "lag print",
            f"{len(width)} widths do not show both steps",
            f"at least {_LEAST_POINTS} widths above 0, some just after {up:.1f} mm and after {down:.1f} mm",
            "Measure where the speed steps, and some way before and after.",
        )
