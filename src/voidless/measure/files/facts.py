"""Facts that a person may say beside the files: names, bounds and words."""

from __future__ import annotations

from dataclasses import dataclass

from voidless.errors import InputError
from voidless.quantities import suggest

__all__ = ["FACTS", "SaidFact", "check_fact"]


@dataclass(frozen=True)
class SaidFact:
    """A fact: its possible values, both included, what it is in words, the least value above 0; unit in its name."""

    low: float
    high: float
    words: str
    least: float = 0.0


FACTS = {
    "reference_density_g_cm3": SaidFact(0.1, 25.0, "density of the void-free material"),
    "reference_uncertainty_g_cm3": SaidFact(0.0, 5.0, "its standard uncertainty"),
    "gauge_length_mm": SaidFact(0.1, 1000.0, "gauge length of the extensometer"),
    "span_mm": SaidFact(0.1, 2000.0, "free length between grips, or distance of the supports in bending"),
    "width_mm": SaidFact(0.01, 1000.0, "width of the bar"),
    "thickness_mm": SaidFact(0.01, 1000.0, "thickness of the bar, or of a vessel's wall"),
    "size_uncertainty_mm": SaidFact(0.0, 10.0, "standard uncertainty of callipers or micrometer"),
    "force_uncertainty_pct": SaidFact(0.0, 50.0, "standard uncertainty of the force cell"),
    "section_uncertainty_pct": SaidFact(0.0, 50.0, "standard uncertainty of the section"),
    "strain_uncertainty_pct": SaidFact(0.0, 50.0, "standard uncertainty of extensometer or travel"),
    "compliance_mm_n": SaidFact(0.0, 1.0, "travel of machine and grips per newton"),
    "compliance_uncertainty_mm_n": SaidFact(0.0, 1.0, "its standard uncertainty"),
    "stops_at_break": SaidFact(0.0, 1.0, "1 where the machine stops its record at the break"),
    "volume_cm3": SaidFact(1e-3, 1e6, "volume of the gas under test"),
    "volume_uncertainty_cm3": SaidFact(0.0, 1e6, "its standard uncertainty"),
    "known_volume_cm3": SaidFact(1e-3, 1e6, "volume that is opened to a vessel to find the vessel's"),
    "known_volume_uncertainty_cm3": SaidFact(0.0, 1e6, "its standard uncertainty"),
    "pressure_uncertainty_pa": SaidFact(0.0, 1e7, "standard uncertainty of a pressure"),
    "gas_reference_c": SaidFact(-50.0, 200.0, "temperature that a leak rate refers to"),
    "temperature_drift_k": SaidFact(
        0.0, 100.0, "standard uncertainty of the change of the gas's temperature"
    ),
    "air_pressure_pa": SaidFact(
        0.0, 2e5, "pressure of the air, to be added to gauge pressures; 0 where they are absolute", 1e4
    ),
    "permeability_barrer": SaidFact(1e-6, 1e6, "permeability of the polymer for the gas"),
    "wall_area_cm2": SaidFact(1e-3, 1e6, "area of the wall that holds the gas"),
    "pendulum_j": SaidFact(0.01, 1000.0, "energy of the pendulum"),
    "loss_j": SaidFact(0.0, 1000.0, "what an empty swing of the pendulum loses"),
    "energy_uncertainty_j": SaidFact(0.0, 100.0, "standard uncertainty of the pendulum's reading"),
    "diameter_mm": SaidFact(0.1, 10.0, "diameter of the filament that was weighed"),
    "diameter_uncertainty_mm": SaidFact(0.0, 1.0, "its standard uncertainty"),
    "start_pct": SaidFact(0.0, 20.0, "water of the filament at its first weighing"),
    "start_uncertainty_pct": SaidFact(0.0, 20.0, "its standard uncertainty"),
    "cutoff_mm": SaidFact(0.01, 100.0, "cutoff of the roughness filter"),
    "commanded_mm": SaidFact(0.01, 10.0, "layer thickness that was commanded"),
    "speed_mm_s": SaidFact(0.1, 2000.0, "bead speed after the change"),
    "density_g_cm3": SaidFact(0.1, 25.0, "density of the solid filament"),
    "density_uncertainty_g_cm3": SaidFact(0.0, 5.0, "its standard uncertainty"),
    "mass_uncertainty_g": SaidFact(0.0, 10.0, "standard uncertainty of a weighing"),
    "distance_mm": SaidFact(0.1, 1e5, "distance of the plaque to target or black spot"),
    "distance_uncertainty_mm": SaidFact(0.0, 1e3, "its standard uncertainty"),
    "frequency_per_mm": SaidFact(1e-4, 1e3, "bars of the target per millimetre"),
    "spot_mm": SaidFact(0.1, 1e4, "diameter of the black spot"),
    "spot_uncertainty_mm": SaidFact(0.0, 1e3, "its standard uncertainty"),
    "panel_mm": SaidFact(1.0, 1e5, "diameter of the bright panel"),
    "plaque_mm": SaidFact(1.0, 1e4, "diameter of the plaque"),
    "pupil_deg": SaidFact(0.0, 20.0, "half angle of the camera's pupil at the plaque"),
    "index": SaidFact(1.0, 3.0, "index of refraction of the material"),
    "control_transmittance_pct": SaidFact(1.0, 100.0, "transmittance of the control plate"),
    "control_haze_pct": SaidFact(0.0, 100.0, "most haze of the control plate"),
    "haze_pct": SaidFact(0.0, 100.0, "haze of the same plaque"),
    "mm_per_px": SaidFact(1e-6, 10.0, "scale of a picture"),
    "grid_mm": SaidFact(1e-4, 1e3, "distance after which a photographed grid repeats"),
    "grid_uncertainty_mm": SaidFact(0.0, 10.0, "its standard uncertainty"),
    "grid_px": SaidFact(2.0, 1e5, "about how many pixels that is"),
    "voxel_mm": SaidFact(1e-6, 10.0, "edge of a voxel"),
    "layer_mm": SaidFact(0.01, 10.0, "height of a layer"),
    "pitch_mm": SaidFact(0.01, 50.0, "distance of beads"),
    "layer_origin_px": SaidFact(-1e6, 1e6, "place of a boundary between layers in the picture"),
    "pitch_origin_px": SaidFact(-1e6, 1e6, "place of a boundary between beads in the picture"),
    "void_grey": SaidFact(0.0, 1.0, "light of a void, as a share of full scale"),
    "void_grey_uncertainty": SaidFact(0.0, 1.0, "its standard uncertainty"),
    "smallest_px": SaidFact(0.0, 1e6, "least area of a void that counts"),
    "largest_px": SaidFact(1.0, 1e4, "greatest width of a pore on a layer photo"),
    "closing_px": SaidFact(0.0, 100.0, "openings of the outline that are closed in a stack"),
    "reading_uncertainty": SaidFact(
        0.0, 1e6, "standard uncertainty of the reference instrument, in the unit of its readings"
    ),
    "air_uncertainty": SaidFact(0.0, 1e6, "standard uncertainty of a reading of the fan's air, in its unit"),
}


def check_fact(name: str, value: float) -> float:
    """
    Return the value of a fact if both are possible.

    Parameters
    ----------
    name : str
        A key of `FACTS`.
    value : float
        [unit in the name]

    Returns
    -------
    value : float
        As given. [unit in the name]

    Raises
    ------
    InputError
        No fact has this name, or the value is impossible.
    """
    fact = FACTS.get(name)
    if fact is None:
        known = tuple(FACTS)
        raise InputError(
            "--fact",
            f"{name!r} is not asked for",
            "one of " + ", ".join(known),
            suggest(name, known) or "Correct it.",
        )
    if not fact.low <= value <= fact.high or 0.0 < value < fact.least:
        raise InputError(
            "--fact",
            f"{name} = {value:g}",
            f"{fact.least or fact.low:g} to {fact.high:g} ({fact.words})",
            "Correct it.",
        )
    return value
