"""Mass of a round strand that has been through any climate."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from voidless.measure.moisture.climate import Climate, rate_factor
from voidless.physics.diffusion import cylinder_mean_residual

__all__ = ["columns_of_mass"]

Floats = NDArray[np.float64]


def columns_of_mass(climate: Climate, diffusivity: float, activation: float, radius: float) -> Floats:
    """
    Return the columns whose sum is the mass of a strand, each times what it stands for.

    Parameters
    ----------
    climate : Climate
        Where the strand has been.
    diffusivity : float
        Of water at 23 °C. [m²/s]
    activation : float
        Activation energy of the diffusivity. [J/mol]
    radius : float
        Radius of the strand. [m]

    Returns
    -------
    columns : (n, 3) float array
        Times dry mass, times water held evenly at the start, times water at saturation. [1]

    Notes
    -----
    Crank's cylinder, superposed: each step of humidity begins a transient of its own. A diffusivity that follows
    temperature is one that is constant on a stretched clock, as it is the same everywhere in the strand.
    Equilibrium is taken as proportional to humidity.

    J. Crank, "The Mathematics of Diffusion", 2nd edition, Oxford, 1975, sections 5.3 and 7.1 (numbers from
    memory).
    """
    pace = diffusivity * rate_factor(climate.temperature_c, activation) / radius**2
    clock = np.concatenate([[0.0], np.cumsum(pace * np.diff(climate.time))])
    steps = np.diff(climate.humidity, prepend=0.0)
    starts = clock[:-1][steps != 0.0]
    left = cylinder_mean_residual(np.maximum(clock[:, None] - starts[None, :], 0.0))
    taken = (1.0 - left) @ steps[steps != 0.0]
    return np.column_stack([np.ones_like(clock), cylinder_mean_residual(clock), taken])
