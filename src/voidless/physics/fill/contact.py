"""Share of a weld that touches."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from voidless.physics.guards import require_between, require_not_negative, require_positive

__all__ = ["CONTACT_EXPONENT", "contact_between_layers", "contact_in_layer", "flat_share"]

Floats = NDArray[np.float64]

CONTACT_EXPONENT = 2.0 / 3.0
"""
Power of the open cusp's area in the length of weld that it takes. Assumed: between stadiums clipped by each
other (near 1) and a void that shrinks at one shape (½). The 39 builds of the bond-and-porosity data (ABS,
0.7 by 0.8 mm) lie close to it.
"""


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
    # 1 - exp(-x) to first order for small voids; a layer that is mostly void still touches somewhere
    return np.asarray(-np.expm1(-(filled**CONTACT_EXPONENT)))


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
        exp(-(voids/cusps)^⅔): 1 when closed. [1]

    Raises
    ------
    InputError
        `voids` is negative or `cusps` is not positive.
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
