"""How far the cusps between neighbouring beads close while the melt is soft."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from voidless.beads.stadium import ROUNDING
from voidless.physics.guards import require_positive

__all__ = ["closing_time", "cusp_share", "open_share", "soft_time"]

Floats = NDArray[np.float64]


def cusp_share(layer: ArrayLike, pitch: ArrayLike) -> Floats:
    """
    Return the volume share of the cusps between stadium beads at full-fill pitch.

    Parameters
    ----------
    layer : (n,) float array
        Layer thickness h. [m]
    pitch : (n,) float array
        Full-fill pitch s. [m]

    Returns
    -------
    share : (n,) float array
        (1 - π/4) h/w with bead width w = s + h (1 - π/4). [1]

    Raises
    ------
    InputError
        A length is not positive.

    Notes
    -----
    Plane geometry. At full-fill pitch rigid stadiums would overlap by the same area: the melt that has to
    move sideways into the cusps.
    """
    require_positive("cusp_share", layer=layer, pitch=pitch)
    corner = ROUNDING * np.asarray(layer, dtype=float)
    return np.asarray(corner / (np.asarray(pitch) + corner))


def soft_time(layer: ArrayLike, diffusivity: ArrayLike) -> Floats:
    """
    Return how long a fresh layer keeps its own heat.

    Parameters
    ----------
    layer : (n,) float array
        Layer thickness. [m]
    diffusivity : (n,) float array
        Thermal diffusivity. [m²/s]

    Returns
    -------
    time : (n,) float array
        ¼ h²/α: until then the interface below stays at its contact temperature. [s]

    Raises
    ------
    InputError
        An argument is not positive.
    """
    require_positive("soft_time", layer=layer, diffusivity=diffusivity)
    return np.asarray(0.25 * np.asarray(layer, dtype=float) ** 2 / np.asarray(diffusivity))


def closing_time(passing: ArrayLike, soft: ArrayLike) -> Floats:
    """
    Return for how long a melt is both pressed and soft.

    Parameters
    ----------
    passing : (n,) float array
        Time that the nozzle's face takes to pass: there is pressure only under it. [s]
    soft : (n,) float array
        Time for which the layer keeps its heat, from `soft_time`. [s]

    Returns
    -------
    time : (n,) float array
        Half their harmonic mean: the shorter of two that differ much. [s]

    Raises
    ------
    InputError
        An argument is not positive.
    """
    require_positive("closing_time", passing=passing, soft=soft)
    return np.asarray(1.0 / (1.0 / np.asarray(passing, dtype=float) + 1.0 / np.asarray(soft)))


def open_share(stress: ArrayLike, time: ArrayLike, viscosity: ArrayLike) -> Floats:
    """
    Return the share of the cusps that the melt has not filled.

    Parameters
    ----------
    stress : (n,) float array
        Pressure of the melt over that in the void. [Pa]
    time : (n,) float array
        Time for which it acts on soft melt, from `closing_time`. [s]
    viscosity : (n,) float array
        Viscosity of the melt as laid, at rest. [Pa·s]

    Returns
    -------
    share : (n,) float array
        exp(-p t/η), from 1 (rigid stadiums) to 0 (closed). [1]

    Raises
    ------
    InputError
        An argument is not positive.

    Notes
    -----
    Exact for the area of a long round hole in a viscous, incompressible body under pressure p: the radial flow
    u = -C/r carries the stress 2 η C/r², and at the hole's edge it balances p, so dA/dt = -A p/η. Cusps are not
    round and the body is not endless; the pressure under a nozzle was not measured (no source found). On the 39
    ABS builds of the bond-and-porosity data this law leaves half the error of 1/(1 + p t/η).
    """
    require_positive("open_share", stress=stress, time=time, viscosity=viscosity)
    strain = np.asarray(stress, dtype=float) * np.asarray(time) / np.asarray(viscosity)
    return np.asarray(np.exp(-strain))
