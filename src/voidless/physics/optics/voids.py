"""Attenuation by voids and bubbles, and where the scattered light goes, by size."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from voidless.physics.guards import require_not_negative, require_positive
from voidless.physics.optics.mie import Sphere, mie_phase, mie_sphere

__all__ = [
    "NARROW",
    "WAVELENGTH",
    "VoidScatter",
    "bubble_depth",
    "bubble_number",
    "scatter_table",
    "void_scatter",
]

Floats = NDArray[np.float64]

NARROW = float(np.deg2rad(2.5))
"""Half-angle outside which transmitted light counts as haze. [rad] ASTM D1003."""
WAVELENGTH = 550e-9
"""Wavelength in vacuum near the eye's maximum, for which scattering is computed. [m]"""

_DIAMETERS = np.geomspace(0.3e-6, 60e-6, 24)


@dataclass(frozen=True)
class VoidScatter:
    """
    A void's efficiency and the shares of its scattered light.

    Attributes
    ----------
    efficiency : float
        Scattering cross-section over that of the shadow. [1]
    narrow : float
        Share that leaves the plate within 2.5° of the beam. [1]
    wide : float
        Share that leaves the plate at more than 2.5°. [1]
    lost : float
        Share beyond total reflection or backwards: it does not come through. [1]
    """

    efficiency: float
    narrow: float
    wide: float
    lost: float


def void_scatter(diameter: float, index: float, wavelength: float = WAVELENGTH) -> VoidScatter:
    """
    Return how a round void in a polymer scatters.

    Parameters
    ----------
    diameter : float
        Diameter. [m]
    index : float
        Refractive index of the polymer. [1]
    wavelength : float
        In vacuum. [m]

    Returns
    -------
    scatter : VoidScatter
        Efficiency and shares; narrow, wide and lost add up to 1. [1]

    Raises
    ------
    InputError
        An argument is not positive.

    Notes
    -----
    Mie; angles refracted at the plate's flat face; later bounces of trapped light are left out. Shares are integrated
    to 3e-5 up to 60 µm and to 5e-4 up to 0.6 mm.
    """
    require_positive("void_scatter", diameter=diameter, index=index, wavelength=wavelength)
    size = np.pi * diameter * index / wavelength
    sphere = mie_sphere(complex(1.0 / index), float(size))
    inner, critical = np.arcsin(np.sin(NARROW) / index), np.arcsin(1.0 / index)
    fine = max(400, int(6.0 * size * inner) + 64)
    narrow = _share(sphere, 0.0, inner, fine)
    wide = _share(sphere, inner, critical, max(2000, int(4.0 * size)))
    return VoidScatter(sphere.scattering, narrow, wide, 1.0 - narrow - wide)


def _share(sphere: Sphere, low: float, high: float, count: int) -> float:
    angle = np.linspace(low, high, count)
    phase = mie_phase(sphere, np.cos(angle))
    return float(np.trapezoid(2.0 * np.pi * np.sin(angle) * phase, angle))


@lru_cache(maxsize=32)
def _columns(scatter: Callable[[float, float], VoidScatter], index: float) -> tuple[Floats, ...]:
    rows = [scatter(float(diameter), index) for diameter in _DIAMETERS]
    # The ripple of single sizes is smoothed: real voids are not of one size.
    columns = np.array([[r.efficiency, r.narrow, r.wide, r.lost] for r in rows]).T
    kernel = np.array([0.25, 0.5, 0.25])
    padded = np.pad(columns, ((0, 0), (1, 1)), mode="edge")
    smooth = np.stack([np.convolve(row, kernel, mode="valid") for row in padded])
    return tuple(smooth)


def scatter_table(
    scatter: Callable[[float, float], VoidScatter], diameter: ArrayLike, index: float
) -> tuple[Floats, Floats, Floats, Floats]:
    """
    Return efficiency and shares for many sizes, from a table that is computed once per index.

    Parameters
    ----------
    scatter : function of (diameter, index)
        `void_scatter` for round voids, `channels.channel_scatter` for long ones. [1]
    diameter : (n,) float array
        Diameter; sizes outside 0.3 to 60 µm take the value at the end of the table. [m]
    index : float
        Refractive index of the polymer. [1]

    Returns
    -------
    efficiency : (n,) float array
        Smoothed over neighbouring sizes (a factor of 1.6 in all). [1]
    narrow : (n,) float array
        Share within 2.5°. [1]
    wide : (n,) float array
        Share beyond 2.5° that leaves. [1]
    lost : (n,) float array
        Share that does not come through. [1]

    Raises
    ------
    InputError
        An argument is not positive.
    """
    require_positive("scatter_table", diameter=diameter, index=index)
    table = _columns(scatter, round(float(index), 4))
    place = np.log(np.asarray(diameter, dtype=float))
    nodes = np.log(_DIAMETERS)
    efficiency, narrow, wide, lost = (np.asarray(np.interp(place, nodes, column)) for column in table)
    return efficiency, narrow, wide, lost


def bubble_number(share: ArrayLike, diameter: ArrayLike) -> Floats:
    """
    Return how many round bubbles of one size make up a volume share.

    Parameters
    ----------
    share : (n,) float array
        Volume share. [1]
    diameter : (n,) float array
        Diameter. [m]

    Returns
    -------
    number : (n,) float array
        φ/(π d³/6). [1/m³]

    Raises
    ------
    InputError
        `share` is negative or `diameter` is not positive.
    """
    require_not_negative("bubble_number", share=share)
    require_positive("bubble_number", diameter=diameter)
    return np.asarray(np.asarray(share, dtype=float) / (np.pi * np.asarray(diameter) ** 3 / 6.0))


def bubble_depth(
    share: ArrayLike, diameter: ArrayLike, efficiency: ArrayLike, thickness: ArrayLike
) -> Floats:
    """
    Return the optical depth of round bubbles.

    Parameters
    ----------
    share : (n,) float array
        Volume share. [1]
    diameter : (n,) float array
        Diameter. [m]
    efficiency : (n,) float array
        Scattering efficiency. [1]
    thickness : (n,) float array
        Path. [m]

    Returns
    -------
    depth : (n,) float array
        3 φ Q t/(2 d); exp(-depth) goes through unscattered. [1]

    Raises
    ------
    InputError
        `share` is negative, or another value is not positive.

    Notes
    -----
    Independent single scattering; on printed plates of 1 to 4 mm multiple scattering made a plain exponential
    of total transmission fail (Hamp, Logan and Shaw, Appl. Opt. 60, 2021, 6573), so it is used for the
    unscattered part alone.
    """
    require_not_negative("bubble_depth", share=share, efficiency=efficiency)
    require_positive("bubble_depth", diameter=diameter, thickness=thickness)
    path = np.asarray(efficiency, dtype=float) * np.asarray(thickness) / np.asarray(diameter)
    return np.asarray(1.5 * np.asarray(share) * path)
