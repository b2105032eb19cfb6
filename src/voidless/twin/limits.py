"""The highest honest rate of a hot end for a material at a temperature."""

from __future__ import annotations

import numpy as np

from voidless.machines.types import Machine
from voidless.physics.melt.heating import heater_power, rate_for_residual
from voidless.physics.melt.limit import RateLimits, fourier_for_residual, rate_at_pressure
from voidless.twin.chain import Chain
from voidless.twin.ground import ASSUMED
from voidless.twin.melt import nozzle_pressure
from voidless.units import CELSIUS_ZERO

__all__ = ["CORE_SHORT", "rate_limits"]

CORE_SHORT = 0.05
"""Share of the heating that the strand may lack on average. This project's own rule. [1]"""
_ROOM = 25.0 + CELSIUS_ZERO
_HOLDING = 0.5  # of the heater's power that keeps the block hot against the air; assumed


def rate_limits(chain: Chain, machine: Machine, row: int = 0) -> RateLimits:
    """
    Return the rates at which core, heater and drive end, for one case.

    Parameters
    ----------
    chain : Chain
        A run of the twin.
    machine : Machine
        For the heater.
    row : int
        Which case.
    """
    g, nozzle = chain.inputs.ground, float(chain.inputs.nozzle[row])
    core = rate_for_residual(g.diffusivity, g.melt_length, fourier_for_residual(CORE_SHORT))
    per_rate = float(heater_power(1.0, g.density, g.heat_capacity, nozzle - _ROOM))
    power = (1.0 - _HOLDING) * machine.heater_w / per_rate
    melt = np.array([nozzle - CORE_SHORT * (nozzle - _ROOM)])

    def pressure_of(rate: float) -> float:
        return float(nozzle_pressure(chain.inputs, np.array([rate]), melt)[0])

    return RateLimits(core, power, rate_at_pressure(pressure_of, ASSUMED.drive_pressure))
