"""Stage: what leaves the nozzle — temperature, flow, residence, degradation, bubbles."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from voidless.physics.diffusion import cylinder_mean_residual
from voidless.physics.melt.heating import melt_fourier, residence_time
from voidless.physics.melt.limit import slip_share
from voidless.physics.melt.nozzle import pressure_drop_nozzle
from voidless.physics.melt.viscosity import GAS_CONSTANT, arrhenius_factor
from voidless.physics.moisture.bubbles import ATMOSPHERE, flash_share, water_pressure
from voidless.physics.moisture.sorption import water_after_exposure
from voidless.twin.ground import ASSUMED
from voidless.twin.state import Inputs
from voidless.units import CELSIUS_ZERO

__all__ = ["Melt", "melt_stage", "nozzle_pressure"]

Floats = NDArray[np.float64]

_ROOM = 25.0 + CELSIUS_ZERO
_WATER_AT = 23.0 + CELSIUS_ZERO
_BUBBLE_AT = 240.0 + CELSIUS_ZERO
_SOFT_CORNER = 0.3  # relative overpressure over which the onset of bubbles is rounded
_FOAM = 0.99  # share of bubbles beyond which there is no melt to speak of


@dataclass(frozen=True)
class Melt:
    """
    What leaves the nozzle, every entry `(n,)`.

    Attributes
    ----------
    rate : volumetric rate. [m³/s]
    residence : mean time in the melt zone. [s]
    residual : share of the heating that is missing. [1]
    temperature : mean of the strand. [K]
    pressure : before the nozzle. [Pa]
    flow : realised fill, 1 is exact. [1]
    degraded : degraded share of mass. [1]
    water : water at print time, mass share. [1]
    bubbles : volume share of bubbles. [1]
    """

    rate: Floats
    residence: Floats
    residual: Floats
    temperature: Floats
    pressure: Floats
    flow: Floats
    degraded: Floats
    water: Floats
    bubbles: Floats


def melt_stage(x: Inputs) -> Melt:
    """Return what leaves the nozzle."""
    g = x.ground
    rate = np.asarray(x.flow * x.layer * x.pitch * x.speed)
    fourier = melt_fourier(g.diffusivity, g.melt_length, rate) * x.factor("heating_log")
    residual = cylinder_mean_residual(fourier)
    temperature = np.asarray(x.nozzle - (x.nozzle - _ROOM) * residual)
    pressure = nozzle_pressure(x, rate, temperature)
    residence = residence_time(g.melt_volume, rate)
    slowness = arrhenius_factor(x.nozzle, g.degradation_at, g.degradation_activation)
    degraded = np.asarray(-np.expm1(-g.degradation * residence / slowness))
    water = _water(x)
    return Melt(
        rate=rate,
        residence=residence,
        residual=residual,
        temperature=temperature,
        pressure=pressure,
        flow=np.asarray(x.flow * (1.0 - slip_share(pressure, ASSUMED.drive_pressure, ASSUMED.slip))),
        degraded=degraded,
        water=water,
        bubbles=_bubbles(x, water, residence, degraded),
    )


def nozzle_pressure(x: Inputs, rate: Floats, temperature: Floats) -> Floats:
    """Return the pressure before the nozzle for a melt of one temperature. [Pa]"""
    g = x.ground
    return pressure_drop_nozzle(
        g.viscosity * arrhenius_factor(temperature, g.viscosity_at, g.flow_activation),
        g.thinning_stress,
        g.thinning_index,
        rate,
        g.nozzle_diameter,
        ASSUMED.bore_lengths * g.nozzle_diameter,
        ASSUMED.taper,
        2.0 * g.filament_radius,
    )


def _water(x: Inputs) -> Floats:
    g = x.ground
    room = np.asarray(x.context["room_c"]) + CELSIUS_ZERO
    diffusivity = (
        g.water_diffusivity * x.factor("water_log") / arrhenius_factor(room, _WATER_AT, g.water_activation)
    )
    return water_after_exposure(
        3600.0 * np.asarray(x.context["exposure_h"]),
        g.water_saturation * ASSUMED.dry_humidity,
        g.water_saturation,
        0.01 * np.asarray(x.context["humidity_pct"]),
        diffusivity,
        g.filament_radius,
    )


def _bubbles(x: Inputs, water: Floats, residence: Floats, degraded: Floats) -> Floats:
    """Bubbles grow with steam pressure over the atmosphere and with time, up to what can flash."""
    g = x.ground
    # steam tables end at the critical point; hotter melts are treated as if at 370 °C
    hot = np.minimum(x.nozzle, 370.0 + CELSIUS_ZERO)
    over = water_pressure(water, g.water_saturation, hot) / ATMOSPHERE - 1.0
    steam = _SOFT_CORNER * np.logaddexp(0.0, over / _SOFT_CORNER)
    gas = degraded * ASSUMED.gas_per_degraded * g.density * GAS_CONSTANT * x.nozzle / ATMOSPHERE
    time = (1.0 + residence / ASSUMED.bubble_residence) / 2.0
    quick = 1.0 / arrhenius_factor(x.nozzle, _BUBBLE_AT, g.water_activation)
    grown = ASSUMED.bubble * x.factor("bubble_log") * (steam + gas) * time * quick
    bound = flash_share(water, x.nozzle, g.density, ATMOSPHERE) + gas / (1.0 + gas)
    return np.minimum(grown * bound / (grown + bound), _FOAM)
