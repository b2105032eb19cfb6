"""Neck growth by surface tension against viscosity: what contact grows to without any pressure."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.integrate import solve_ivp

from voidless.errors import ComputationError
from voidless.physics.guards import require_between, require_not_negative

__all__ = [
    "neck_angle_cylinders",
    "neck_angle_pokluda_1997",
    "neck_ratio_eshelby",
    "neck_ratio_frenkel",
    "neck_ratio_pokluda_1997",
]

Floats = NDArray[np.float64]

# Where the start laws (√s and (s/π)^⅓) still hold to 1e-8 of the angle.
_START = 1e-12
# At these scaled times the cosine is below 0.01 and the forms are no longer meant to hold.
_LAST = 5.0


def neck_ratio_frenkel(scaled_time: ArrayLike) -> Floats:
    """
    Return neck radius over sphere radius for early sintering.

    Parameters
    ----------
    scaled_time : (n,) float array
        Γ t/(a η). [1]

    Returns
    -------
    ratio : (n,) float array
        √(1.5 Γ t/(a η)); for ratios below about 0.3. [1]

    Raises
    ------
    InputError
        `scaled_time` is negative.
    """
    require_not_negative("neck_ratio_frenkel", scaled_time=scaled_time)
    return np.asarray(np.sqrt(1.5 * np.asarray(scaled_time, dtype=float)))


def neck_ratio_eshelby(scaled_time: ArrayLike) -> Floats:
    """
    Return neck radius over sphere radius with Eshelby's correction of Frenkel's law.

    Parameters
    ----------
    scaled_time : (n,) float array
        Γ t/(a η). [1]

    Returns
    -------
    ratio : (n,) float array
        √(Γ t/(a η)). [1]

    Raises
    ------
    InputError
        `scaled_time` is negative.
    """
    require_not_negative("neck_ratio_eshelby", scaled_time=scaled_time)
    return np.asarray(np.sqrt(np.asarray(scaled_time, dtype=float)))


def _grow(slope: Callable[[float], float], start: Callable[[float], float], scaled_time: ArrayLike) -> Floats:
    times = np.asarray(scaled_time, dtype=float)
    require_between("neck growth", 0.0, _LAST, scaled_time=times)
    wanted, inverse = np.unique(np.maximum(times, _START), return_inverse=True)
    first = np.array([start(_START)])
    if wanted[-1] <= _START:
        grown = np.full(wanted.shape, first[0])
    else:
        solution = solve_ivp(
            lambda _, angle: np.array([slope(float(angle[0]))]),
            (_START, float(wanted[-1])),
            first,
            method="DOP853",
            t_eval=wanted,
            rtol=1e-10,
            atol=1e-13,
        )
        if not solution.success:
            raise ComputationError("neck growth", f"the solver stopped: {solution.message}")
        grown = np.asarray(solution.y[0])
    return np.asarray(np.where(times > 0.0, grown[inverse].reshape(times.shape), 0.0))


def _slope_spheres(angle: float) -> float:
    c, s = np.cos(angle), np.sin(angle)
    grown = 2.0 ** (-5.0 / 3.0) * c * s * (2.0 - c) ** (1.0 / 3.0)
    return float(grown / ((1.0 - c) * (1.0 + c) ** (1.0 / 3.0)))


def _slope_cylinders(angle: float) -> float:
    c, s = np.cos(angle), np.sin(angle)
    rest = np.pi - angle
    grown = (rest * c + s) * np.sqrt(rest + s * c)
    return float(grown / (3.0 * np.sqrt(np.pi) * rest**2 * s**2))


def neck_angle_pokluda_1997(scaled_time: ArrayLike) -> Floats:
    """
    Return the contact angle of two equal spheres that sinter.

    Parameters
    ----------
    scaled_time : (n,) float array
        Γ t/(a0 η), 0 to 5; for a changing temperature its time integral. [1]

    Returns
    -------
    angle : (n,) float array
        θ, with neck radius a sin θ. [rad]

    Raises
    ------
    InputError
        `scaled_time` lies outside 0 to 5.

    Notes
    -----
    Pokluda, Bellehumeur and Vlachopoulos, AIChE J. 43 (1997) 3253 (form from memory, and what the work of surface
    tension against even stretching gives: tests); starts as √(Γ t/(a0 η)).
    """
    return _grow(_slope_spheres, np.sqrt, scaled_time)


def neck_ratio_pokluda_1997(angle: ArrayLike) -> Floats:
    """
    Return neck radius over first sphere radius for an angle of `neck_angle_pokluda_1997`.

    Parameters
    ----------
    angle : (n,) float array
        Contact angle. [rad]

    Returns
    -------
    ratio : (n,) float array
        sin θ (4/((1 + cos θ)² (2 - cos θ)))^⅓: the volume is kept. [1]

    Raises
    ------
    InputError
        `angle` lies outside 0 to π/2.
    """
    require_between("neck_ratio_pokluda_1997", 0.0, np.pi / 2.0, angle=angle)
    c = np.cos(np.asarray(angle, dtype=float))
    return np.asarray(np.sin(angle) * (4.0 / ((1.0 + c) ** 2 * (2.0 - c))) ** (1.0 / 3.0))


def neck_angle_cylinders(scaled_time: ArrayLike) -> Floats:
    """
    Return the contact angle of two equal long cylinders that sinter.

    Parameters
    ----------
    scaled_time : (n,) float array
        Γ t/(a0 η), 0 to 5; for a changing temperature its time integral. [1]

    Returns
    -------
    angle : (n,) float array
        θ. [rad]

    Raises
    ------
    InputError
        `scaled_time` lies outside 0 to 5.

    Notes
    -----
    Form of Gurrala and Regalla as in the companion code of Kapusuzoglu and Mahadevan, JOM 72 (2020) 4695.
    That code starts it with the sphere law; the limit of the equation itself is (Γ t/(π a0 η))^⅓, used here. The work
    of surface tension against plane, even strain (4 η), as the sphere law has it with 3 η, would grow the angle 1.5
    times as fast at its start and a quarter as fast at 1.4 rad: the form is not that, and its derivation was not seen.
    On the 39 builds of that study such necks reach 0.22 to 0.35 of the layer where 0.51 to 0.89 was measured:
    contact in printing is mostly pressed, so this is a lower bound.
    """
    return _grow(_slope_cylinders, lambda s: float((s / np.pi) ** (1.0 / 3.0)), scaled_time)
