"""The table of material properties: unit, possible range and words for people."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["PROPERTIES", "PropertyName"]


@dataclass(frozen=True)
class PropertyName:
    """A property by name; values outside `low` to `high` are errors of entry. [unit]"""

    name: str
    unit: str
    low: float
    high: float
    words: str


def _table(*rows: tuple[str, str, float, float, str]) -> dict[str, PropertyName]:
    return {row[0]: PropertyName(*row) for row in rows}


PROPERTIES = _table(
    ("density_g_cm3", "g/cm3", 0.3, 12.0, "density of the solid at 23 °C"),
    ("melt_density_g_cm3", "g/cm3", 0.3, 12.0, "density of the melt at printing temperature, 0.1 MPa"),
    ("glass_transition_c", "degC", -150.0, 400.0, "glass transition"),
    ("melting_c", "degC", 40.0, 450.0, "melting point of the crystals"),
    ("conductivity_w_mk", "W/m/K", 0.02, 20.0, "thermal conductivity"),
    ("heat_capacity_solid_j_kgk", "J/kg/K", 300.0, 5000.0, "specific heat capacity of the solid"),
    ("heat_capacity_melt_j_kgk", "J/kg/K", 300.0, 5000.0, "specific heat capacity of the melt"),
    ("heat_of_fusion_j_g", "J/g", 0.0, 400.0, "heat of fusion of the crystals, 100 % crystalline"),
    ("expansion_1e6_k", "1e-6/K", 0.0, 500.0, "linear thermal expansion of the solid"),
    ("viscosity_ref_pa_s", "Pa s", 1.0, 1e6, "viscosity of the melt at rest, at viscosity_ref_c"),
    ("viscosity_ref_c", "degC", 50.0, 450.0, "temperature of viscosity_ref_pa_s"),
    ("flow_activation_kj_mol", "kJ/mol", 5.0, 400.0, "activation energy of flow near viscosity_ref_c"),
    ("shear_thinning_index", "1", 0.05, 1.0, "power-law index n of the Cross law"),
    ("cross_tau_pa", "Pa", 1e2, 1e7, "shear stress at which the Cross law bends"),
    ("cross_d1_pa_s", "Pa s", 1e-3, 1e30, "D1 of the Cross-WLF law"),
    ("cross_reference_c", "degC", -150.0, 400.0, "T* of the Cross-WLF law"),
    ("cross_a1", "1", 1.0, 200.0, "A1 of the Cross-WLF law"),
    ("cross_a2_k", "K", 1.0, 500.0, "A2 of the Cross-WLF law"),
    ("surface_tension_mn_m", "mN/m", 5.0, 100.0, "surface tension at 20 °C"),
    ("surface_tension_slope_mn_m_k", "mN/m/K", -0.3, 0.0, "change of surface tension with temperature"),
    ("weld_time_ref_s", "s", 1e-6, 1e6, "time to full healing of a weld at weld_time_ref_c"),
    ("weld_time_ref_c", "degC", 0.0, 450.0, "temperature of weld_time_ref_s"),
    ("wlf_c1", "1", 1.0, 60.0, "C1 of the WLF shift of healing"),
    ("wlf_c2_k", "K", 10.0, 400.0, "C2 of the WLF shift of healing"),
    ("wlf_ref_c", "degC", -150.0, 400.0, "reference temperature of the WLF shift of healing"),
    ("strength_mpa", "MPa", 0.5, 1000.0, "tensile strength of the bulk"),
    ("modulus_gpa", "GPa", 1e-3, 500.0, "tensile modulus of the bulk"),
    ("charpy_kj_m2", "kJ/m2", 0.1, 300.0, "notched Charpy impact strength of the bulk"),
    ("refractive_index", "1", 1.2, 2.0, "refractive index at 589 nm"),
    ("absorption_1_m", "1/m", 0.0, 1e5, "attenuation of light in the void-free bulk"),
    ("water_saturation_pct", "%", 0.0, 20.0, "water content at saturation, immersed, 23 °C"),
    ("water_diffusivity_m2_s", "m2/s", 1e-16, 1e-8, "diffusivity of water at 23 °C"),
    ("water_activation_kj_mol", "kJ/mol", 5.0, 200.0, "activation energy of the diffusivity of water"),
    ("molar_mass_kg_mol", "kg/mol", 1.0, 1e4, "number-average molar mass, of a polymer that hot water cuts"),
    ("degradation_rate_ref_1_s", "1/s", 1e-12, 1.0, "rate at which the melt degrades at degradation_ref_c"),
    ("degradation_ref_c", "degC", 50.0, 500.0, "temperature of degradation_rate_ref_1_s"),
    ("degradation_activation_kj_mol", "kJ/mol", 20.0, 500.0, "activation energy of degradation"),
)
