"""Light lost in the void-free bulk."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from voidless.physics.guards import require_not_negative, require_positive

__all__ = ["absorption_from_decibels", "absorption_from_index", "internal_transmittance"]

Floats = NDArray[np.float64]


def absorption_from_index(extinction: ArrayLike, wavelength: ArrayLike) -> Floats:
    """
    Return the absorption coefficient of an extinction index.

    Parameters
    ----------
    extinction : (n,) float array
        Imaginary part k of the refractive index. [1]
    wavelength : (n,) float array
        In vacuum. [m]

    Returns
    -------
    absorption : (n,) float array
        4 π k/λ. [1/m]

    Raises
    ------
    InputError
        `extinction` is negative or `wavelength` not positive.

    Notes
    -----
    A measured k holds what the sheet scattered as well: an upper bound of absorption.

    Examples
    --------
    PET sheet at 550 nm, k 1.32e-6 (Zhang et al., Appl. Opt. 59, 2020, 2337):

    >>> round(float(absorption_from_index(1.32e-6, 550e-9)), 1)
    30.2
    """
    require_not_negative("absorption_from_index", extinction=extinction)
    require_positive("absorption_from_index", wavelength=wavelength)
    return np.asarray(4.0 * np.pi * np.asarray(extinction, dtype=float) / np.asarray(wavelength))


def absorption_from_decibels(loss: ArrayLike) -> Floats:
    """
    Return the absorption coefficient of a loss as fibres are sold by.

    Parameters
    ----------
    loss : (n,) float array
        Power lost on the way. [dB/m]

    Returns
    -------
    absorption : (n,) float array
        ln(10)/10 × loss. [1/m]

    Raises
    ------
    InputError
        `loss` is negative.

    Examples
    --------
    0.26 dB/cm, fibre drawn from a nozzle (Opt. Lett. 41, 2016, 5551):

    >>> round(float(absorption_from_decibels(26.0)), 2)
    5.99
    """
    require_not_negative("absorption_from_decibels", loss=loss)
    return np.asarray(np.log(10.0) / 10.0 * np.asarray(loss, dtype=float))


def internal_transmittance(absorption: ArrayLike, thickness: ArrayLike) -> Floats:
    """
    Return the share of light that the bulk lets through, faces left out.

    Parameters
    ----------
    absorption : (n,) float array
        Absorption coefficient. [1/m]
    thickness : (n,) float array
        Path. [m]

    Returns
    -------
    transmittance : (n,) float array
        exp(-α t). [1]

    Raises
    ------
    InputError
        A value is negative.
    """
    require_not_negative("internal_transmittance", absorption=absorption, thickness=thickness)
    return np.asarray(np.exp(-np.asarray(absorption, dtype=float) * np.asarray(thickness)))
