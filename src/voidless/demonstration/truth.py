"""
The invented truth behind the demo: how an imaginary clear copolyester behaves on an imaginary printer.

Every number here is invented. The forms are unlike those of the physics twin on purpose, so that the demo cannot
succeed by agreeing with itself.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

__all__ = ["SOLID_DENSITY_G_CM3", "Truth", "clarity_drift", "imagine_builds", "pass_share", "true_means"]

Floats = NDArray[np.float64]

SOLID_DENSITY_G_CM3 = 1.230
"""Invented density of the solid polymer. [g/cm³]"""

_REALISED_SD = {"nozzle_c": 1.5, "flow_pct": 0.5}
"""What the imaginary machine does beside what it is told. [unit of the setting]"""

_CLARITY_SD, _STRENGTH_SD, _Z_EXTRA, _SIZE_SD, _VOID_SD = 0.012, 0.015, 1.5, 0.010, 0.1
"""Scatter between builds: absolute, relative, Z to XY, absolute [mm], of the logarithm."""


@dataclass(frozen=True)
class Truth:
    """
    What one or many builds are, `(n,)` or plain numbers.

    Attributes
    ----------
    clarity : (n,) float array
        [1]
    strength_xy_mpa, strength_z_mpa : (n,) float array
        [MPa]
    size_error_mm : (n,) float array
        [mm]
    void_pct : (n,) float array
        [%]
    """

    clarity: Floats
    strength_xy_mpa: Floats
    strength_z_mpa: Floats
    size_error_mm: Floats
    void_pct: Floats

    @property
    def z_ratio(self) -> Floats:
        """Strength through the layers over strength in plane. [1]"""
        return self.strength_z_mpa / self.strength_xy_mpa

    def passes(self, limits: Mapping[str, tuple[float, float]]) -> NDArray[np.bool_]:
        """Return which builds lie within all limits, `(n,)`."""
        within = [
            (low <= getattr(self, name)) & (getattr(self, name) <= high)
            for name, (low, high) in limits.items()
        ]
        return np.asarray(np.logical_and.reduce(within))


def true_means(settings: Mapping[str, Any], exposure_h: float = 0.0) -> Truth:
    """
    Return the invented long-run means of settings.

    Parameters
    ----------
    settings : mapping of str to float or (n,) float array
        Needs `flow_pct`, `nozzle_c`, `speed_mm_s`, `fan_pct`. [unit in the name]
    exposure_h : float
        Time of the spool out of the dryer. [h]

    Returns
    -------
    truth : Truth
        Numbers of the same shape as the settings.

    Notes
    -----
    Slow beads weld at any temperature of the box; fast ones only when hot: speed and temperature interact.
    Moisture makes bubbles, more of them the hotter the nozzle: clarity drifts with exposure.
    """
    flow, hot = settings["flow_pct"] - 100.0, settings["nozzle_c"] - 240.0
    speed, fan = settings["speed_mm_s"], settings["fan_pct"] / 100.0
    gaps = np.logaddexp(0.0, (1.5 - flow + 0.06 * (speed - 30.0) - 0.10 * hot) / 1.2)
    bubbles = (0.012 + 0.004 * exposure_h) * np.exp(0.05 * hot) * (1.0 + 6.0 / speed)
    haste, chill = (speed - 15.0) / 55.0, np.logaddexp(0.0, (16.0 - hot) / 4.0) * 4.0 / 31.0
    clarity = 0.90 * np.exp(-0.16 * gaps - 3.0 * bubbles) - 0.05 * fan
    in_plane = 54.0 * np.exp(-0.035 * gaps) * (1.0 - 0.8 * bubbles)
    through = in_plane * (0.95 - 0.03 * chill - 0.72 * haste * chill - 0.20 * fan)
    size = 0.008 + 0.016 * flow + 0.0006 * hot - 0.015 * fan
    return Truth(clarity, in_plane, through, size, 1.9 * gaps + 25.0 * bubbles)


def imagine_builds(
    settings: Mapping[str, float], exposure_h: float, rng: np.random.Generator, count: int = 1
) -> Truth:
    """
    Return the means of builds of one setting: machines are inexact and builds differ by more than settings.

    Parameters
    ----------
    settings : mapping of str to float
        As told to the machine. [unit in the name]
    exposure_h : float
        Time of the spool out of the dryer. [h]
    rng : numpy.random.Generator
        Source of all scatter.
    count : int
        Number of builds.

    Returns
    -------
    builds : Truth
        Arrays `(count,)`.
    """
    realised = {
        name: value + rng.normal(0.0, _REALISED_SD.get(name, 0.0), count) for name, value in settings.items()
    }
    mean = true_means(realised, exposure_h)
    strength = rng.normal(0.0, _STRENGTH_SD, count)
    return Truth(
        mean.clarity + rng.normal(0.0, _CLARITY_SD, count),
        mean.strength_xy_mpa * (1.0 + strength),
        mean.strength_z_mpa * (1.0 + _Z_EXTRA * strength),
        mean.size_error_mm + rng.normal(0.0, _SIZE_SD, count),
        mean.void_pct * np.exp(rng.normal(0.0, _VOID_SD, count)),
    )


def pass_share(
    settings: Mapping[str, float],
    limits: Mapping[str, tuple[float, float]],
    rng: np.random.Generator,
    count: int,
    exposure_h: float = 0.0,
) -> float:
    """Return the share of `count` imagined builds whose means lie within all limits. [1]"""
    return float(np.mean(imagine_builds(settings, exposure_h, rng, count).passes(limits)))


def clarity_drift(settings: Mapping[str, float], hours: float) -> float:
    """Return the invented change of clarity per hour of exposure at a setting, over so many hours. [1/h]"""
    wet, dry = true_means(settings, hours).clarity, true_means(settings).clarity
    return float(wet - dry) / hours
