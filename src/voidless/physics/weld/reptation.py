"""Time that a chain needs to leave its tube, from viscosity."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from voidless.physics.guards import require_not_negative, require_positive

__all__ = ["reptation_time_doi_edwards", "reptation_time_tube"]

Floats = NDArray[np.float64]


def reptation_time_doi_edwards(viscosity: ArrayLike, plateau_modulus: ArrayLike) -> Floats:
    """
    Return the reptation time of a melt whose viscosity at rest is known.

    Parameters
    ----------
    viscosity : (n,) float array
        Viscosity at rest, at the temperature asked for. [Pa·s]
    plateau_modulus : (n,) float array
        Plateau modulus of the entangled melt. [Pa]

    Returns
    -------
    time : (n,) float array
        12 η0/(π² G). [s]

    Raises
    ------
    InputError
        An argument is not positive.

    Notes
    -----
    Doi and Edwards, "The Theory of Polymer Dynamics", Oxford, 1986, chapter 7 (from memory): η0 = π² G τ/12.
    One molar mass; a broad distribution has a longer tail, so the last of the healing takes longer.
    """
    require_positive("reptation_time_doi_edwards", viscosity=viscosity, plateau_modulus=plateau_modulus)
    scaled = np.asarray(viscosity, dtype=float) / np.asarray(plateau_modulus)
    return np.asarray(12.0 / np.pi**2 * scaled)


def reptation_time_tube(molar_mass: ArrayLike, entanglement: ArrayLike, entangled_in: ArrayLike) -> Floats:
    """
    Return the reptation time of a chain from its number of entanglements.

    Parameters
    ----------
    molar_mass : (n,) float array
        Of the chain. [kg/mol]
    entanglement : (n,) float array
        Molar mass between entanglements. [kg/mol]
    entangled_in : (n,) float array
        Rouse time of one such piece, τe, at the temperature asked for. [s]

    Returns
    -------
    time : (n,) float array
        3 Z³ τe, Z = M/Me. [s]

    Raises
    ------
    InputError
        An argument is not positive, or the chain is shorter than one entanglement.

    Notes
    -----
    Doi and Edwards, "The Theory of Polymer Dynamics", Oxford, 1986, chapter 6 (from memory): the tube of fixed length.
    Chain ends shorten it, so that measured times grow as Z^3.4 and are below this by a factor of two to four for Z of
    10 to 30; one molar mass.
    """
    require_positive(
        "reptation_time_tube", molar_mass=molar_mass, entanglement=entanglement, time=entangled_in
    )
    pieces = np.asarray(molar_mass, dtype=float) / np.asarray(entanglement)
    require_not_negative("reptation_time_tube", pieces_beyond_one=pieces - 1.0)
    return np.asarray(3.0 * pieces**3 * np.asarray(entangled_in))
