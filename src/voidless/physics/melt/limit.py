"""The highest rate that a hot end honestly delivers: heat into the core, heater power, pressure of the drive."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq

from voidless.errors import InputError
from voidless.physics.diffusion import cylinder_mean_residual
from voidless.physics.guards import require_positive

__all__ = ["RateLimits", "fourier_for_residual", "rate_at_pressure", "slip_share"]

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class RateLimits:
    """
    Volumetric rates at which something ends. [m³/s]

    Attributes
    ----------
    core : float
        The strand's mean temperature falls short by the stated share.
    power : float
        The heater has no more power.
    pressure : float
        The drive pushes as hard as it can.
    """

    core: float
    power: float
    pressure: float

    @property
    def least(self) -> float:
        """The first of them. [m³/s]"""
        return min(self.core, self.power, self.pressure)

    @property
    def cause(self) -> str:
        """Name of the first of them."""
        named = {"core": self.core, "power": self.power, "pressure": self.pressure}
        return min(named, key=lambda name: named[name])


def fourier_for_residual(residual: float) -> float:
    """
    Return the Fourier number at which a strand has followed all but a share of the step.

    Parameters
    ----------
    residual : float
        Share of the rise that is missing on average, above 0 and below 1. [1]

    Returns
    -------
    fourier : float
        0.454261 for 5 %. [1]

    Raises
    ------
    InputError
        `residual` lies outside 0 to 1.

    Examples
    --------
    >>> round(fourier_for_residual(0.05), 6)
    0.454261
    """
    if not 0.0 < residual < 1.0:
        raise InputError("fourier_for_residual", f"residual = {residual:g}", "0 to 1", "Correct residual.")
    return float(brentq(lambda fo: float(cylinder_mean_residual(fo)) - residual, 0.0, 50.0, xtol=1e-12))


def rate_at_pressure(pressure_of: Callable[[float], float], limit: float) -> float:
    """
    Return the volumetric rate at which the pressure before the nozzle reaches a limit.

    Parameters
    ----------
    pressure_of : function of float
        Pressure [Pa] of a rate [m³/s], rising.
    limit : float
        What the drive can push. [Pa]

    Returns
    -------
    rate : float
        Between 1e-12 and 1e-5 m³/s; infinite where even that does not reach the limit. [m³/s]

    Raises
    ------
    InputError
        `limit` is not positive.
    """
    require_positive("rate_at_pressure", limit=limit)
    low, high = np.log(1e-12), np.log(1e-5)
    if pressure_of(float(np.exp(high))) < limit:
        return float("inf")
    return float(np.exp(brentq(lambda x: pressure_of(float(np.exp(x))) - limit, low, high, xtol=1e-9)))


def slip_share(pressure: Floats, drive: float, slip: float) -> Floats:
    """
    Return the share of the feed that the drive loses to slip.

    Parameters
    ----------
    pressure : (n,) float array
        Before the nozzle. [Pa]
    drive : float
        At which the drive loses `slip`. [Pa]
    slip : float
        Share lost there. [1]

    Returns
    -------
    share : (n,) float array
        Grows with the square of pressure, at most 1. [1]

    Raises
    ------
    InputError
        `drive` is not positive.

    Notes
    -----
    This project's own form, no source found: little at small loads, then fast.
    """
    require_positive("slip_share", drive=drive)
    lost = slip * (np.asarray(pressure, dtype=float) / drive) ** 2
    return np.asarray(lost / (1.0 + lost))
