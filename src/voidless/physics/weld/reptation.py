"""Time that a chain needs to leave its tube, from viscosity."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from voidless.physics.guards import require_positive

__all__ = ["reptation_time_doi_edwards"]

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
