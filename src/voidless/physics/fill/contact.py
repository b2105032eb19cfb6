"""Share of a weld that touches."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from voidless.physics.guards import require_between, require_not_negative, require_positive

__all__ = ["contact_between_layers", "contact_in_layer", "flat_share"]

Floats = NDArray[np.float64]

_TOUCHING = 0.3  # contact below which beads touch in places rather than along their whole length
_POWER = 4.0 / 7.0  # in this power of the void the contact is nearly straight; for interpolation alone


def _void_of_contact(contact: Floats) -> Floats:
    """
    Return the void between beads over that of rigid ones, from the share of the layer thickness that touches.

    The geometric mean of two limits: stadiums that clip each other (a void with sharp cusps) and a void that
    keeps its shape as it shrinks, (1 - contact)².
    """
    half = np.sqrt(1.0 - contact**2)
    segment = (1.0 - contact) * half - (np.pi / 4.0 - 0.5 * (contact * half + np.arcsin(contact)))
    return np.asarray(np.sqrt(segment / (1.0 - np.pi / 4.0)) * (1.0 - contact))


_CONTACT = np.linspace(1.0, _TOUCHING, 400)
_VOID = _void_of_contact(_CONTACT)
_FADE = float((np.log(_CONTACT[-2]) - np.log(_CONTACT[-1])) / (_VOID[-1] - _VOID[-2]))


def flat_share(layer: ArrayLike, pitch: ArrayLike) -> Floats:
    """
    Return the share of a layer's underside that is flat on rigid stadium beads.

    Parameters
    ----------
    layer : (n,) float array
        Layer thickness h. [m]
    pitch : (n,) float array
        Full-fill pitch s. [m]

    Returns
    -------
    share : (n,) float array
        (w - h)/s = 1 - π h/(4 s). [1]

    Raises
    ------
    InputError
        A length is not positive or the bead would be narrower than high.
    """
    require_positive("flat_share", layer=layer, pitch=pitch)
    share = 1.0 - np.pi / 4.0 * np.asarray(layer, dtype=float) / np.asarray(pitch)
    require_between("flat_share", 0.0, 1.0, share=share)
    return np.asarray(share)


def _cusp_width(voids: ArrayLike, cusps: ArrayLike) -> Floats:
    require_not_negative("contact", voids=voids)
    require_positive("contact", cusps=cusps)
    filled = np.asarray(voids, dtype=float) / np.asarray(cusps)
    touching = np.interp(filled**_POWER, _VOID**_POWER, _CONTACT)
    apart = np.exp(-_FADE * np.maximum(filled - _VOID[-1], 0.0))
    return np.asarray(1.0 - touching * apart)


def contact_in_layer(voids: ArrayLike, cusps: ArrayLike) -> Floats:
    """
    Return the share of the layer thickness along which neighbouring beads touch.

    Parameters
    ----------
    voids : (n,) float array
        Void share left between beads. [1]
    cusps : (n,) float array
        Void share of rigid beads, from `cusp_share`. [1]

    Returns
    -------
    contact : (n,) float array
        1 when closed, 0.3 when two thirds of the cusps are void, and fading beyond. [1]

    Raises
    ------
    InputError
        `voids` is negative or `cusps` is not positive.

    Notes
    -----
    A void between two limiting shapes (see `_void_of_contact`), without a fitted constant: on the 39 ABS builds
    of the bond-and-porosity data, contact from the measured void share is within 0.021 (root mean square;
    repeats scatter by 0.020). Below a contact of 0.3, where beads would soon stand apart, an exponential that
    continues value and slope: fill scatters along a bead, so some of it touches.
    """
    return np.asarray(1.0 - _cusp_width(voids, cusps))


def contact_between_layers(voids: ArrayLike, cusps: ArrayLike, flat: ArrayLike) -> Floats:
    """
    Return the share of the plan area in which a layer touches the one below.

    Parameters
    ----------
    voids : (n,) float array
        Void share left between beads. [1]
    cusps : (n,) float array
        Void share of rigid beads, from `cusp_share`. [1]
    flat : (n,) float array
        From `flat_share`. [1]

    Returns
    -------
    contact : (n,) float array
        1 when closed, about `flat` when the cusps are open, less when more than the cusps is void. [1]

    Raises
    ------
    InputError
        `voids` is negative or `cusps` is not positive.
    """
    closed = 1.0 - np.asarray(flat, dtype=float)
    beyond = np.asarray(voids, dtype=float) / np.asarray(cusps)
    lost = closed * _cusp_width(voids, cusps) + np.asarray(flat) * (1.0 - np.exp(-0.1 * beyond**2))
    return np.asarray(1.0 - lost)
