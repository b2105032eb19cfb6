"""Impact strength along and through the layers."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from voidless.physics.guards import require_between
from voidless.physics.strength.porosity import relative_strength_power

__all__ = ["impact_across_beads", "impact_through_layers"]

Floats = NDArray[np.float64]


def impact_across_beads(voids: ArrayLike, power: ArrayLike) -> Floats:
    """
    Return impact strength over the bulk's where the crack has to cut the beads: flat specimens.

    Parameters
    ----------
    voids : (n,) float array
        Void share, 0 to 1. [1]
    power : (n,) float array
        As in `relative_strength_power`. [1]

    Returns
    -------
    relative : (n,) float array
        (1 - φ)^n. [1]

    Raises
    ------
    InputError
        `voids` lies outside 0 to 1.

    Notes
    -----
    Weak welds can stop a crack and make a flat bar tougher than its bulk (less contact, tougher: Lambiase et
    al. 2023, doi 10.1007/s00170-023-12223-1, second hand). That is left out.
    """
    return relative_strength_power(voids, power)


def impact_through_layers(contact: ArrayLike, healing: ArrayLike, aligned: ArrayLike) -> Floats:
    """
    Return impact strength over the bulk's where the crack runs along a weld: upright specimens.

    Parameters
    ----------
    contact : (n,) float array
        Share of the weld that touches, 0 to 1. [1]
    healing : (n,) float array
        Degree of healing, 0 to 1. [1]
    aligned : (n,) float array
        What is left where chains lie along the beads, in the plane of the crack, 0 to 1. [1]

    Returns
    -------
    relative : (n,) float array
        contact × healing² × aligned. [1]

    Raises
    ------
    InputError
        A share lies outside 0 to 1.

    Notes
    -----
    Fracture energy grows as t^½ where strength grows as t^¼ (Wool and O'Connor, J. Appl. Phys. 52, 1981, 5953),
    so with the square of the degree of healing. It does not saturate at yield as tensile strength does: upright
    specimens can be near equal in tension and far below in impact.
    """
    require_between("impact_through_layers", 0.0, 1.0, contact=contact, healing=healing, aligned=aligned)
    return np.asarray(np.asarray(contact, dtype=float) * np.asarray(healing) ** 2 * np.asarray(aligned))
