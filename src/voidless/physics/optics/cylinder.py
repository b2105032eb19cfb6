"""Scattering of light by one long cylinder across the beam, exact."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import h1vp, hankel1, jv, jvp

from voidless.physics.guards import require_positive

__all__ = ["Cylinder", "cylinder_phase", "cylinder_scatter"]

Floats = NDArray[np.float64]
Complexes = NDArray[np.complex128]

_LOST = 1e-280  # below it a wave has no digits left


@dataclass(frozen=True)
class Cylinder:
    """
    What a long cylinder does to light that falls on it at right angles.

    Attributes
    ----------
    scattering_along, scattering_across : float
        Efficiencies, width over diameter, for the electric field along the axis and across it. [1]
    extinction_along, extinction_across : float
        The same by the forward amplitude. [1]
    along, across : (m,) complex array
        Coefficients from order 0. [1]
    size : float
        Size parameter. [1]
    """

    scattering_along: float
    scattering_across: float
    extinction_along: float
    extinction_across: float
    along: Complexes
    across: Complexes
    size: float

    @property
    def scattering(self) -> float:
        """Efficiency for unpolarised light. [1]"""
        return 0.5 * (self.scattering_along + self.scattering_across)


def _inside(orders: NDArray[np.integer[Any]], argument: float) -> tuple[Floats, Floats]:
    """
    Return the inner wave of each order and its slope, up to a factor, which cancels in the coefficients.

    High orders vanish inside a wide cylinder of low index, where double precision ends; there the wave is 1 and its
    slope the logarithmic derivative, by downward recurrence.
    """
    wave = np.asarray(jv(orders, argument), dtype=np.float64)
    slope = np.asarray(jvp(orders, argument), dtype=np.float64)
    lost = np.abs(wave) < _LOST
    if np.any(lost & (orders > argument)):
        ratio = _log_derivative(int(orders[-1]), argument)
        return np.asarray(np.where(lost, 1.0, wave)), np.asarray(np.where(lost, ratio, slope))
    return wave, slope


def _log_derivative(last: int, argument: float) -> Floats:
    """Return J'/J of the orders from 0 on."""
    found = np.empty(last + 1)
    ratio = (last + 60.0) / argument  # far above the argument the slope is that of a power
    for order in range(last + 60, 0, -1):
        if order <= last:
            found[order] = ratio
        ratio = (order - 1.0) / argument - 1.0 / (order / argument + ratio)
    found[0] = ratio
    return found


def cylinder_scatter(relative_index: float, size: float) -> Cylinder:
    """
    Return efficiencies and coefficients of a cylinder.

    Parameters
    ----------
    relative_index : float
        Index of the cylinder over that around it, without absorption. [1]
    size : float
        Size parameter π d n/λ, n the index around it. [1]

    Returns
    -------
    cylinder : Cylinder
        Efficiencies and coefficients. [1]

    Raises
    ------
    InputError
        An argument is not positive.

    Notes
    -----
    Bohren and Huffman, "Absorption and Scattering of Light by Small Particles", Wiley, 1983, section 8.4, normal
    incidence (from memory; checked by conservation of energy and by the limits of thin and wide cylinders).
    """
    require_positive("cylinder_scatter", relative_index=relative_index, size=size)
    orders = np.arange(int(np.ceil(size + 4.05 * size ** (1.0 / 3.0) + 4.0)) + 1)
    m, x = relative_index, size
    out, out_slope = jv(orders, x), jvp(orders, x)
    wave, wave_slope = hankel1(orders, x), h1vp(orders, x)
    inside, inside_slope = _inside(orders, m * x)
    along: Complexes = np.asarray(
        (inside * out_slope - m * inside_slope * out) / (inside * wave_slope - m * inside_slope * wave),
        dtype=complex,
    )
    across: Complexes = np.asarray(
        (m * inside * out_slope - inside_slope * out) / (m * inside * wave_slope - inside_slope * wave),
        dtype=complex,
    )
    double = np.where(orders == 0, 1.0, 2.0)

    def scattered(c: Complexes) -> float:
        return float(2.0 / x * np.sum(double * np.abs(c) ** 2))

    def removed(c: Complexes) -> float:
        return float(2.0 / x * np.sum(double * c.real))

    return Cylinder(
        scattered(along), scattered(across), removed(along), removed(across), along, across, float(size)
    )


def cylinder_phase(cylinder: Cylinder, angle: ArrayLike) -> Floats:
    """
    Return where the light goes, in the plane across the axis, unpolarised.

    Parameters
    ----------
    cylinder : Cylinder
        From `cylinder_scatter`. [1]
    angle : (k,) float array
        From the forward direction. [rad]

    Returns
    -------
    phase : (k,) float array
        Share per angle; its integral from -π to π is 1. [1/rad]

    Raises
    ------
    InputError
        The cylinder does not scatter.
    """
    require_positive("cylinder_phase", scattering=cylinder.scattering)
    theta = np.asarray(angle, dtype=float)
    orders = np.arange(cylinder.along.size)
    waves = np.where(orders == 0, 1.0, 2.0)[:, None] * np.cos(np.outer(orders, theta.ravel()))
    intensity = np.abs(cylinder.along @ waves) ** 2 + np.abs(cylinder.across @ waves) ** 2
    scale = np.pi * cylinder.size * 2.0 * cylinder.scattering
    return np.asarray(intensity.reshape(theta.shape) / scale)
