"""
The invented truth behind the demo: how an imaginary clear copolyester behaves on an imaginary printer.

Every number here is invented. The forms are unlike those of the physics twin on purpose, so that the demo cannot
succeed by agreeing with itself.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

__all__ = ["SOLID_DENSITY_G_CM3", "Truth", "true_means", "truly_passes"]

SOLID_DENSITY_G_CM3 = 1.230
"""Invented density of the solid polymer. [g/cm³]"""


@dataclass(frozen=True)
class Truth:
    """Long-run means of one setting. [1], [MPa], [MPa], [mm], [%]"""

    clarity: float
    strength_xy_mpa: float
    strength_z_mpa: float
    size_error_mm: float
    void_pct: float

    @property
    def z_ratio(self) -> float:
        """Strength through the layers over strength in plane. [1]"""
        return self.strength_z_mpa / self.strength_xy_mpa


def true_means(settings: Mapping[str, float], exposure_h: float = 0.0) -> Truth:
    """
    Return the invented long-run means of a setting.

    Parameters
    ----------
    settings : mapping of str to float
        Needs `flow_pct`, `nozzle_c`, `speed_mm_s`, `fan_pct`. [unit in the name]
    exposure_h : float
        Hours of the spool out of the dryer. [h]
    """
    flow, hot = settings["flow_pct"] - 100.0, settings["nozzle_c"] - 240.0
    speed, fan = settings["speed_mm_s"], settings["fan_pct"] / 100.0
    gaps = np.logaddexp(0.0, (1.5 - flow + 0.06 * (speed - 30.0) - 0.10 * hot) / 1.2)
    bubbles = (0.012 + 0.004 * exposure_h) * np.exp(0.05 * hot) * (1.0 + 6.0 / speed)
    clarity = 0.90 * np.exp(-0.16 * gaps - 3.0 * bubbles) - 0.05 * fan - 0.002 * max(0.0, flow - 6.0)
    in_plane = 54.0 * np.exp(-0.035 * gaps) * (1.0 - 0.8 * bubbles)
    bond = 1.0 / (1.0 + np.exp(-(hot + 16.0 - 22.0 * fan - 0.15 * (speed - 30.0)) / 9.0))
    through = in_plane * (0.45 + 0.52 * bond)
    size = 0.008 + 0.016 * flow + 0.0006 * hot - 0.015 * fan
    voids = 1.9 * gaps + 25.0 * bubbles
    return Truth(float(clarity), float(in_plane), float(through), float(size), float(voids))


def truly_passes(settings: Mapping[str, float], limits: Mapping[str, tuple[float, float]]) -> bool:
    """Return whether the invented means of a setting, filament dry, lie within all limits."""
    truth = true_means(settings)
    return all(low <= getattr(truth, name) <= high for name, (low, high) in limits.items())
