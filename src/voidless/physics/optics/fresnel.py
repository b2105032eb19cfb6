"""Reflection at faces, plates, piles of plates and thin gaps."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from voidless.physics.guards import require_between, require_not_negative, require_positive

__all__ = [
    "face_reflectance",
    "face_reflectance_oblique",
    "gap_reflectance",
    "pile_transmittance",
    "plate_reflectance",
    "plate_transmittance",
]

Floats = NDArray[np.float64]


def face_reflectance(first: ArrayLike, second: ArrayLike) -> Floats:
    """
    Return the reflectance of one face at normal incidence.

    Parameters
    ----------
    first, second : (n,) float array
        Refractive indices on both sides. [1]

    Returns
    -------
    reflectance : (n,) float array
        ((n1 - n2)/(n1 + n2))². [1]

    Raises
    ------
    InputError
        An index is not positive.

    Examples
    --------
    >>> round(float(face_reflectance(1.0, 1.5)), 12)
    0.04
    """
    require_positive("face_reflectance", first=first, second=second)
    n1, n2 = np.asarray(first, dtype=float), np.asarray(second, dtype=float)
    return np.asarray(((n1 - n2) / (n1 + n2)) ** 2)


def face_reflectance_oblique(first: float, second: float, angle: ArrayLike) -> tuple[Floats, Floats]:
    """
    Return the reflectance of one face for both polarisations.

    Parameters
    ----------
    first, second : float
        Refractive indices of the near and the far side. [1]
    angle : (n,) float array
        Angle of incidence, 0 to π/2. [rad]

    Returns
    -------
    perpendicular : (n,) float array
        Field across the plane of incidence; 1 beyond total reflection. [1]
    parallel : (n,) float array
        Field in the plane of incidence. [1]

    Raises
    ------
    InputError
        An index is not positive or an angle lies outside 0 to π/2.
    """
    require_positive("face_reflectance_oblique", first=first, second=second)
    require_between("face_reflectance_oblique", 0.0, np.pi / 2.0, angle=angle)
    c1 = np.cos(np.asarray(angle, dtype=float)).astype(complex)
    c2 = np.sqrt(1.0 - (first / second) ** 2 * (1.0 - c1**2))
    perpendicular = (first * c1 - second * c2) / (first * c1 + second * c2)
    parallel = (second * c1 - first * c2) / (second * c1 + first * c2)
    # rounding leaves a little more than all beyond total reflection
    return np.minimum(np.abs(perpendicular) ** 2, 1.0), np.minimum(np.abs(parallel) ** 2, 1.0)


def plate_transmittance(index: ArrayLike, internal: ArrayLike = 1.0, surrounding: ArrayLike = 1.0) -> Floats:
    """
    Return the transmittance of a plate with smooth faces: the ceiling of what can be measured.

    Parameters
    ----------
    index : (n,) float array
        Refractive index of the plate. [1]
    internal : (n,) float array
        Transmittance of the bulk alone, 0 to 1. [1]
    surrounding : (n,) float array
        Refractive index around it. [1]

    Returns
    -------
    transmittance : (n,) float array
        (1-R)² τ/(1 - R² τ²). [1]

    Raises
    ------
    InputError
        An index is not positive or `internal` lies outside 0 to 1.

    Notes
    -----
    Incoherent sum over all inner reflections (Born and Wolf; from memory).
    """
    require_between("plate_transmittance", 0.0, 1.0, internal=internal)
    face, tau = face_reflectance(index, surrounding), np.asarray(internal, dtype=float)
    return np.asarray((1.0 - face) ** 2 * tau / (1.0 - face**2 * tau**2))


def plate_reflectance(index: ArrayLike, internal: ArrayLike = 1.0, surrounding: ArrayLike = 1.0) -> Floats:
    """
    Return the reflectance of a plate with smooth faces.

    Parameters
    ----------
    index : (n,) float array
        Refractive index of the plate. [1]
    internal : (n,) float array
        Transmittance of the bulk alone, 0 to 1. [1]
    surrounding : (n,) float array
        Refractive index around it. [1]

    Returns
    -------
    reflectance : (n,) float array
        R + R (1-R)² τ²/(1 - R² τ²). [1]

    Raises
    ------
    InputError
        An index is not positive or `internal` lies outside 0 to 1.
    """
    require_between("plate_reflectance", 0.0, 1.0, internal=internal)
    face, tau = face_reflectance(index, surrounding), np.asarray(internal, dtype=float)
    return np.asarray(face + face * (1.0 - face) ** 2 * tau**2 / (1.0 - face**2 * tau**2))


def pile_transmittance(face: ArrayLike, plates: ArrayLike) -> Floats:
    """
    Return the transmittance of a pile of plates without absorption.

    Parameters
    ----------
    face : (n,) float array
        Reflectance of one face. [1]
    plates : (n,) float array
        Number of plates, each with two faces. [1]

    Returns
    -------
    transmittance : (n,) float array
        (1-R)/(1 + (2N-1) R). [1]

    Raises
    ------
    InputError
        `face` lies outside 0 to 1 or `plates` is negative.

    Notes
    -----
    Stokes, Proc. R. Soc. 11 (1862) 545. Open thick gaps in a part count as further plates.

    Examples
    --------
    >>> round(float(pile_transmittance(0.04, 10)), 7)
    0.5454545
    """
    require_between("pile_transmittance", 0.0, 1.0, face=face)
    require_not_negative("pile_transmittance", plates=plates)
    r = np.asarray(face, dtype=float)
    return np.asarray((1.0 - r) / (1.0 + (2.0 * np.asarray(plates) - 1.0) * r))


def gap_reflectance(index: float, gap: ArrayLike, wavelength: float, filling: float = 1.0) -> Floats:
    """
    Return the reflectance of a thin parallel gap inside a part, normal incidence.

    Parameters
    ----------
    index : float
        Refractive index of the part. [1]
    gap : (n,) float array
        Width of the gap. [m]
    wavelength : float
        In vacuum. [m]
    filling : float
        Refractive index in the gap. [1]

    Returns
    -------
    reflectance : (n,) float array
        F s/(1 + F s) with F = 4 R/(1-R)², s = sin²(2 π n d/λ). [1]

    Raises
    ------
    InputError
        A value is not positive or a gap is negative.

    Notes
    -----
    Coherent: for gaps up to a few wavelengths. A wide gap reflects 2R/(1+R) without interference.
    """
    require_not_negative("gap_reflectance", gap=gap)
    require_positive("gap_reflectance", wavelength=wavelength)
    face = face_reflectance(index, filling)
    finesse = 4.0 * face / (1.0 - face) ** 2
    phase = np.sin(2.0 * np.pi * filling * np.asarray(gap, dtype=float) / wavelength) ** 2
    return np.asarray(finesse * phase / (1.0 + finesse * phase))
