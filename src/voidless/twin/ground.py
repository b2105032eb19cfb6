"""Facts of material and machine in SI, and the constants that nobody measured."""

from __future__ import annotations

import math
from dataclasses import dataclass

from voidless.machines.types import Machine
from voidless.materials.types import Material
from voidless.physics.melt.viscosity import GAS_CONSTANT, arrhenius_factor
from voidless.physics.weld.reptation import reptation_time_doi_edwards
from voidless.units import kelvin

__all__ = ["ASSUMED", "Assumed", "Ground", "ground_of"]


@dataclass(frozen=True)
class Assumed:
    """
    Constants of the twin without a source, all marked assumed; priors of `parameters` stand for their doubt.

    Attributes
    ----------
    closing_stress : float
        Pressure under the nozzle that drives the melt into the cusps. [Pa] 1.2 MPa on the 39 ABS builds of the
        bond-and-porosity data, with the viscosity of a moulding grade; a lubrication estimate gives 0.1 to
        1 MPa.
    slip : float
        Loss of flow where the drive pushes against `drive_pressure`. [1]
    drive_pressure : float
        Pressure at which a drive begins to lose its grip: 50 N on 1.75 mm filament. [Pa]
    bore_lengths : float
        Length of the nozzle's bore over its diameter. [1]
    taper : float
        Half-angle of the cone before it. [rad]
    fill_scatter : float
        Standard deviation of the fill along a slow bead. [1]
    scatter_speed : float
        Bead speed at which lag and acceleration have doubled the variance of the fill. [m/s]
    seam : float
        Void share of a strip one pitch wide between contour and raster, at no overlap. [1]
    seam_overlap : float
        Overlap that closes it by a factor e. [1]
    still_air, full_fan : float
        Heat-transfer coefficients. [W/(m² K)] From memory: 10 to 30 still, 50 to 300 with a fan.
    fan_scale : float
        Duty on which the fan's effect levels off. [1]
    air_share : float
        Share of the bed's excess temperature that the air around the part takes without a chamber. [1]
    dry_humidity : float
        Relative humidity that a dried spool is in equilibrium with. [1] 5.6 % for room air in a warm-air
        dryer at 65 °C (computed), less with desiccant.
    bubble : float
        Bubble share per unit of relative overpressure of steam and unit of relative residence. [1] So large that
        5 and 10 mm/s are less clear than 15, as practitioners report.
    bubble_residence : float
        Residence that counts as one. [s]
    bubble_diameter : float
        [m]
    gas_per_degraded : float
        Gas set free per degraded mass. [mol/kg]
    hydrolysis_time : float
        Time in which water dissolved in a melt has cut chains. [s]
    surface : float
        Optical depth of a well-filled top face. [1]
    surface_open, surface_excess : float
        Further optical depth per open groove share, and at 5 % excess. [1]
    surface_narrow : float
        Share of the surface's scatter within 2.5°. [1]
    scatter_angle : float
        Root mean square angle per axis of narrowly scattered light. [rad]
    colour_per_degraded : float
        Absorbance in blue per length per degraded share. [1/m]
    shading : float
        Optical depth of channels stacked above each other, over that of crossed ones. [1]
    void_power : float
        Power of (1 - void share) in strength along the beads; 1.5 to 3 (from memory). [1]
    weld_ceiling : float
        Share of strength that a closed, healed weld through the layers keeps. [1] Between what was found on
        measured contact (0.78 to 1 of the bulk's strength, PLA) and what a hand rig measured over the whole section.
    side_ceiling : float
        The same between neighbouring beads. [1]
    yield_healing : float
        Degree of healing at which a bar yields before its weld breaks. [1] Simulated welds reach the bulk's strength
        "much before" chains have diffused their own size (Ge et al.); one tube diameter over the size of a chain of 15
        to 40 entanglements is 0.6 to 0.4.
    impact_aligned : float
        Share of impact strength that a closed, healed weld keeps: chains lie in the plane of the crack. [1]
        Upright specimens stay below flat ones even where tension is near equal: common practice, no source.
    nozzle_face : float
        Flat of the nozzle over its bore: the length of bead that it keeps hot. [1]
    shear_share : float
        Shear strength over strength across the beads. [1]
    softening : float
        Width of the step from firm to soft. [K]
    soft_loss : float
        Loss of strength of a soft section that the nozzle pushes aside by far more than a layer. [1]
    soft_size : float
        Growth of a section that stayed soft. [m]
    size_spread : float
        Beads whose excess reaches the side. [1]
    plateau_modulus : float
        Plateau modulus of entangled melts, 0.2 to 3 MPa (from memory). [Pa]
    quench_span : float
        Polymers whose melting point lies less than this above the glass transition are quenched in printing.
        [K]
    undercooling : float
        How far below its melting point a fast crystallising polymer freezes. [K]
    """

    closing_stress: float = 1e6
    slip: float = 0.05
    drive_pressure: float = 2e7
    bore_lengths: float = 2.0
    taper: float = math.radians(30.0)
    fill_scatter: float = 0.01
    scatter_speed: float = 0.08
    seam: float = 0.05
    seam_overlap: float = 0.15
    still_air: float = 20.0
    full_fan: float = 120.0
    fan_scale: float = 0.6
    air_share: float = 0.1
    dry_humidity: float = 0.05
    bubble: float = 1.5e-4
    bubble_residence: float = 30.0
    bubble_diameter: float = 10e-6
    gas_per_degraded: float = 10.0
    hydrolysis_time: float = 300.0
    surface: float = 0.15
    surface_open: float = 1.0
    surface_excess: float = 0.2
    surface_narrow: float = 0.5
    scatter_angle: float = math.radians(1.2)
    colour_per_degraded: float = 1e4
    shading: float = 0.7
    void_power: float = 2.0
    weld_ceiling: float = 0.87
    side_ceiling: float = 0.95
    yield_healing: float = 0.4
    impact_aligned: float = 0.5
    nozzle_face: float = 2.0
    shear_share: float = 0.7
    softening: float = 8.0
    soft_loss: float = 0.4
    soft_size: float = 3e-5
    size_spread: float = 2.0
    plateau_modulus: float = 1e6
    quench_span: float = 115.0
    undercooling: float = 45.0


ASSUMED = Assumed()
_ABOVE_POLE = 5.0  # [K] nothing moves this close to the pole of the shift law; assumed


@dataclass(frozen=True)
class Ground:
    """
    What the stages need of material and machine, in SI.

    Attributes
    ----------
    stop : float
        Temperature below which welds do not heal: glass transition, or freezing of crystals. [K]
    charpy : float
        Notched impact strength of the bulk, 0 where it is not known. [J/m²]
    index, absorption : float
        Refractive index and bulk loss; absorption 0 where the polymer is not clear. [1], [1/m]
    """

    clear: bool
    density: float
    conductivity: float
    heat_capacity: float
    heat_capacity_melt: float
    stop: float
    viscosity: float
    viscosity_at: float
    flow_activation: float
    thinning_stress: float
    thinning_index: float
    weld_time: float
    weld_time_at: float
    wlf_c1: float
    wlf_c2: float
    wlf_at: float
    strength: float
    charpy: float
    expansion: float
    surface_tension: float
    index: float
    absorption: float
    water_saturation: float
    water_diffusivity: float
    water_activation: float
    degradation: float
    degradation_at: float
    degradation_activation: float
    filament_radius: float
    nozzle_diameter: float
    melt_length: float
    melt_volume: float
    fan: bool
    fan_stall: float = 0.0

    @property
    def diffusivity(self) -> float:
        """Thermal diffusivity with the mean heat capacity of solid and melt. [m²/s]"""
        return self.conductivity / (self.density * self.heat_capacity)


def _stop(material: Material) -> float:
    """
    Return the temperature below which welds do not heal. [K]

    The glass transition; for polymers that crystallise while they are printed, where crystals freeze; and
    never below the end of the shift law, which for block copolymers lies above the glass transition of the
    soft blocks.
    """
    stop = kelvin(material.property("glass_transition_c").value)
    if material.crystallises and material.has("melting_c"):
        melting = kelvin(material.property("melting_c").value)
        quenched = melting - stop < ASSUMED.quench_span
        stop = stop if quenched else melting - ASSUMED.undercooling
    pole = kelvin(material.property("wlf_ref_c").value) - material.property("wlf_c2_k").value
    return max(stop, pole + _ABOVE_POLE)


def _melt_tension(material: Material) -> float:
    """Return the surface tension of the melt at `viscosity_ref_c`. [N/m]"""
    rise = material.property("viscosity_ref_c").value - 20.0
    cold, slope = (material.property(f"surface_tension_{name}").value for name in ("mn_m", "slope_mn_m_k"))
    return 1e-3 * (cold + slope * rise)


def _flow_activation(material: Material) -> float:
    """
    Return the activation energy of flow at `viscosity_ref_c`. [J/mol]

    Where the Cross-WLF constants of the grade are known it is their slope there, so that viscosity and slope
    belong to one grade: E = R T² A1 A2/(A2 + T - T*)².
    """
    if not all(material.has(name) for name in ("cross_a1", "cross_a2_k", "cross_reference_c")):
        return 1e3 * material.property("flow_activation_kj_mol").value
    a1, a2 = material.property("cross_a1").value, material.property("cross_a2_k").value
    at = kelvin(material.property("viscosity_ref_c").value)
    above = a2 + at - kelvin(material.property("cross_reference_c").value)
    return GAS_CONSTANT * at**2 * a1 * a2 / above**2


def _weld_time(material: Material) -> float:
    """
    Return the time to full healing at `weld_time_ref_c`. [s]

    Where nobody measured it, the reptation time of a melt of this viscosity is a better guess than a number
    borrowed from another polymer: it cannot contradict the melt that the same data let through the nozzle.
    """
    own = material.property("weld_time_ref_s")
    if own.mark != "assumed":
        return own.value
    at = kelvin(material.property("weld_time_ref_c").value)
    reference = kelvin(material.property("viscosity_ref_c").value)
    factor = arrhenius_factor(at, reference, _flow_activation(material))
    viscosity = material.property("viscosity_ref_pa_s").value * factor
    return float(reptation_time_doi_edwards(viscosity, ASSUMED.plateau_modulus))


def ground_of(material: Material, machine: Machine) -> Ground:
    """
    Return the facts of a material and a machine in SI.

    Raises
    ------
    InputError
        The material lacks a property that the twin needs.
    """
    value = {name: item.value for name, item in material.properties.items()}

    def of(name: str) -> float:
        return value[name] if name in value else material.property(name).value

    solid, melt = of("heat_capacity_solid_j_kgk"), of("heat_capacity_melt_j_kgk")
    clear = material.clear and material.has("absorption_1_m")
    return Ground(
        clear=clear,
        density=1e3 * of("density_g_cm3"),
        conductivity=of("conductivity_w_mk"),
        heat_capacity=0.5 * (solid + melt),
        heat_capacity_melt=melt,
        stop=_stop(material),
        viscosity=of("viscosity_ref_pa_s"),
        viscosity_at=kelvin(of("viscosity_ref_c")),
        flow_activation=_flow_activation(material),
        thinning_stress=of("cross_tau_pa"),
        thinning_index=of("shear_thinning_index"),
        weld_time=_weld_time(material),
        weld_time_at=kelvin(of("weld_time_ref_c")),
        wlf_c1=of("wlf_c1"),
        wlf_c2=of("wlf_c2_k"),
        wlf_at=kelvin(of("wlf_ref_c")),
        strength=1e6 * of("strength_mpa"),
        charpy=1e3 * of("charpy_kj_m2") if material.has("charpy_kj_m2") else 0.0,
        surface_tension=_melt_tension(material),
        expansion=1e-6 * of("expansion_1e6_k"),
        index=of("refractive_index") if clear else 1.5,
        absorption=of("absorption_1_m") if clear else 0.0,
        water_saturation=0.01 * of("water_saturation_pct"),
        water_diffusivity=of("water_diffusivity_m2_s"),
        water_activation=1e3 * of("water_activation_kj_mol"),
        degradation=of("degradation_rate_ref_1_s"),
        degradation_at=kelvin(of("degradation_ref_c")),
        degradation_activation=1e3 * of("degradation_activation_kj_mol"),
        filament_radius=0.5e-3 * machine.filament_diameter_mm,
        nozzle_diameter=1e-3 * machine.nozzle_diameter_mm,
        melt_length=1e-3 * machine.melt_zone_length_mm,
        melt_volume=1e-9 * machine.melt_zone_mm3,
        fan=machine.fan,
        fan_stall=0.01 * machine.fan_stall_pct,
    )
