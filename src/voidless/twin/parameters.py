"""What nobody knows exactly: every uncertain constant of the twin with its prior."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from voidless.machines.types import Machine
from voidless.materials.types import Material

__all__ = ["PARAMETERS", "Parameter", "prior_mean", "prior_means", "prior_sd"]


@dataclass(frozen=True)
class Parameter:
    """
    An uncertain constant; its prior mean is 0 unless the machine was measured (`Machine.offsets`).

    Attributes
    ----------
    name : str
        Ends in `_log` (natural logarithm of a factor), `_logit` or `_k` (kelvin).
    words : str
        What a person calls it.
    sd : function of (Material, Machine)
        Prior standard deviation.
    moves : tuple of str
        Responses that it moves.
    calibrate : bool
        Whether a campaign may learn it; the others only widen predictions.
    scatter : bool
        Whether it changes from build to build: part of a prediction, not of the twin's own error.
    mark : str
        How the spread is known, in the words of `materials.types.MARKS`.
    source : str
        Where the spread comes from.
    """

    name: str
    words: str
    sd: Callable[[Material, Machine], float]
    moves: tuple[str, ...]
    calibrate: bool
    mark: str
    source: str
    scatter: bool = False


def _fixed(value: float) -> Callable[[Material, Machine], float]:
    return lambda _material, _machine: value


def _property(name: str, *more: float) -> Callable[[Material, Machine], float]:
    def spread(material: Material, _machine: Machine) -> float:
        own = material.property(name).log_sd if material.has(name) else 0.0
        return math.hypot(own, *more)

    return spread


def _scatter(name: str, share: float) -> Callable[[Material, Machine], float]:
    return lambda _material, machine: share * machine.setting_sd.get(name, 0.0)


def _weld_time(material: Material, _machine: Machine) -> float:
    # WLF constants of another polymer: 0.36 decades at 40 K from the reference; planar heat model: factor 2
    shift, history = 0.83, 0.7
    own = material.property("weld_time_ref_s")
    if own.mark != "assumed":
        return math.hypot(own.log_sd, shift, history)
    plateau = math.log(3.0) / 1.96
    return math.hypot(material.property("viscosity_ref_pa_s").log_sd, plateau, shift, history)


_LIGHT = ("clarity", "haze_pct", "transmittance_pct")
_VOIDS = (*_LIGHT, "void_pct", "density_g_cm3")
_ALL_STRENGTH = ("strength_xy_mpa", "strength_across_mpa", "strength_z_mpa")
_FLOW_MOVES = (
    *_VOIDS,
    "size_error_mm",
    "rate_mm3_s",
    "residence_s",
    *_ALL_STRENGTH,
    "z_ratio",
    "charpy_kj_m2",
    "healing",
    "yellowness",
)
_MELT_MOVES = (
    *_VOIDS,
    "healing",
    *_ALL_STRENGTH,
    "z_ratio",
    "charpy_kj_m2",
    "yellowness",
    "size_error_mm",
)
_ASSUMED = "No measurement found; a factor that covers common experience."

# In order of what a campaign should learn first.
PARAMETERS: tuple[Parameter, ...] = (
    Parameter(
        "flow_offset_log",
        "realised flow over commanded",
        _fixed(0.02),
        _FLOW_MOVES,
        True,
        "assumed",
        "Filament diameter (0.02 mm in 1.75 mm is 2.3 % of area) and drive; common practice, no source.",
    ),
    Parameter(
        "closure_log",
        "stress that closes cusps, over melt viscosity",
        _property("viscosity_ref_pa_s", 0.7),
        (*_VOIDS, *_ALL_STRENGTH, "z_ratio", "charpy_kj_m2", "size_error_mm"),
        True,
        "assumed",
        "Pressure under the nozzle: one laboratory's 39 ABS builds, a factor of 4 either way for another nozzle, "
        "layer and machine; with the spread of viscosity.",
    ),
    Parameter(
        "weld_time_log",
        "time to full healing",
        _weld_time,
        ("healing", "strength_z_mpa", "strength_across_mpa", "z_ratio", "charpy_kj_m2"),
        True,
        "assumed",
        "Spread of weld time (or of viscosity and plateau modulus), of WLF constants, of the heat history.",
    ),
    Parameter(
        "strength_log",
        "bulk strength",
        _property("strength_mpa", 0.08),
        _ALL_STRENGTH,
        True,
        "assumed",
        "Spread of the material's strength; rig, speed and section 8 %.",
    ),
    Parameter(
        "weld_ceiling_logit",
        "share of strength that a healed weld through the layers keeps",
        _fixed(1.25),
        ("strength_z_mpa", "z_ratio"),
        True,
        "assumed",
        "Notches of layer lines, orientation of chains. 0.35 to 0.99 within two standard deviations: practitioners "
        "report Z over XY up to 0.92, on measured contact welds of PLA reached the bulk's strength (Moetazedian et al. "
        "2023, second hand) or 0.78 of it (Perez et al. 2021), a hand rig measured 0.28 to 0.55 (ten filaments).",
    ),
    Parameter(
        "bubble_log",
        "bubble share",
        _fixed(1.2),
        (*_VOIDS, "strength_xy_mpa", "z_ratio"),
        True,
        "assumed",
        _ASSUMED,
    ),
    Parameter("surface_log", "scatter of the top face", _fixed(0.6), _LIGHT, True, "assumed", _ASSUMED),
    Parameter(
        "fill_scatter_log",
        "scatter of the fill along a bead",
        _fixed(0.4),
        (*_VOIDS, *_ALL_STRENGTH, "z_ratio", "charpy_kj_m2", "size_error_mm"),
        True,
        "assumed",
        _ASSUMED,
    ),
    Parameter(
        "heating_log",
        "heat that reaches the core of the strand",
        _fixed(0.3),
        (*_VOIDS, "healing", *_ALL_STRENGTH, "z_ratio", "charpy_kj_m2", "size_error_mm"),
        True,
        "derived",
        "Plug against sheared flow (first decay 5.78 against 3.66), air gap and true heated length of the hot end; "
        "the 39 ABS builds ask for a factor of 0.73.",
    ),
    Parameter(
        "size_spread_log",
        "reach of volume without room",
        _fixed(0.7),
        ("size_error_mm",),
        True,
        "assumed",
        _ASSUMED,
    ),
    Parameter(
        "impact_logit",
        "share of impact strength that a healed weld keeps",
        _fixed(0.8),
        ("charpy_kj_m2",),
        True,
        "assumed",
        "Chains lie in the plane of the layers: upright below flat is common practice, its size has no source.",
    ),
    Parameter(
        "toughness_log",
        "bulk impact strength",
        _property("charpy_kj_m2", 0.2),
        ("charpy_kj_m2",),
        True,
        "memory",
        "Material; notch and pendulum 20 %.",
    ),
    Parameter(
        "nozzle_offset_k",
        "melt against thermometer",
        _fixed(6.0),
        _MELT_MOVES,
        False,
        "assumed",
        "Place and error of the thermometer, common practice, no source.",
    ),
    Parameter(
        "cooling_log",
        "heat-transfer coefficient",
        _fixed(0.4),
        ("healing", *_ALL_STRENGTH, "z_ratio", "charpy_kj_m2", *_VOIDS, "size_error_mm"),
        False,
        "memory",
        "10 to 30 W/(m² K) in still air, 50 to 300 with a fan.",
    ),
    Parameter(
        "flow_scatter_log",
        "flow from build to build",
        _scatter("flow_pct", 0.01),
        _FLOW_MOVES,
        False,
        "assumed",
        "The machine's setting_sd.",
        scatter=True,
    ),
    Parameter(
        "nozzle_scatter_k",
        "nozzle temperature from build to build",
        _scatter("nozzle_c", 1.0),
        _MELT_MOVES,
        False,
        "assumed",
        "The machine's setting_sd.",
        scatter=True,
    ),
    Parameter("bubble_size_log", "bubble diameter", _fixed(0.6), _LIGHT, False, "assumed", _ASSUMED),
    Parameter(
        "water_log",
        "diffusivity of water",
        _property("water_diffusivity_m2_s"),
        (*_VOIDS, "strength_xy_mpa"),
        False,
        "memory",
        "Material.",
    ),
    Parameter(
        "absorption_log",
        "bulk loss",
        _property("absorption_1_m"),
        ("transmittance_pct", "yellowness"),
        False,
        "derived",
        "Material.",
    ),
    Parameter(
        "browning_log",
        "browning by heat",
        _property("degradation_rate_ref_1_s", 0.7),
        ("yellowness",),
        False,
        "assumed",
        "Spread of the material's degradation; colour per degraded share, a factor of 4.",
    ),
    Parameter(
        "expansion_log",
        "thermal expansion",
        _property("expansion_1e6_k", 0.3),
        ("size_error_mm",),
        False,
        "memory",
        "Material; temperature of stiffening.",
    ),
)


def prior_sd(parameter: Parameter, material: Material, machine: Machine) -> float:
    """Return the prior standard deviation of a parameter for a material on a machine."""
    measured = machine.offsets.get(parameter.name)
    return float(parameter.sd(material, machine)) if measured is None else measured[1]


def prior_mean(parameter: Parameter, machine: Machine) -> float:
    """Return the prior mean of a parameter: as measured on the machine, else 0."""
    return machine.offsets.get(parameter.name, (0.0, 0.0))[0]


def prior_means(machine: Machine) -> dict[str, float]:
    """Return the prior means that are not 0, by name: where the twin stands before any build."""
    return {item.name: mean for item in PARAMETERS if (mean := prior_mean(item, machine))}
