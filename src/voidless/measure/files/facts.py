"""Facts that a person may say beside the files: names, bounds and words."""

from __future__ import annotations

from dataclasses import dataclass

from voidless.errors import InputError
from voidless.quantities import suggest

__all__ = ["FACTS", "SaidFact", "check_fact"]


@dataclass(frozen=True)
class SaidFact:
    """A fact: its possible values, both included, and what it is in words; the unit stands in its name."""

    low: float
    high: float
    words: str


FACTS = {
    "reference_density_g_cm3": SaidFact(0.1, 25.0, "density of the void-free material"),
    "reference_uncertainty_g_cm3": SaidFact(0.0, 5.0, "its standard uncertainty"),
    "gauge_length_mm": SaidFact(0.1, 1000.0, "gauge length of the extensometer"),
    "span_mm": SaidFact(0.1, 2000.0, "free length between grips, or distance of the supports in bending"),
    "width_mm": SaidFact(0.01, 1000.0, "width of the bar"),
    "thickness_mm": SaidFact(0.01, 1000.0, "thickness of the bar"),
    "size_uncertainty_mm": SaidFact(0.0, 10.0, "standard uncertainty of callipers or micrometer"),
    "force_uncertainty_pct": SaidFact(0.0, 50.0, "standard uncertainty of the force cell"),
    "section_uncertainty_pct": SaidFact(0.0, 50.0, "standard uncertainty of the section"),
    "strain_uncertainty_pct": SaidFact(0.0, 50.0, "standard uncertainty of extensometer or travel"),
    "compliance_mm_n": SaidFact(0.0, 1.0, "travel of machine and grips per newton"),
    "compliance_uncertainty_mm_n": SaidFact(0.0, 1.0, "its standard uncertainty"),
    "volume_cm3": SaidFact(1e-3, 1e6, "volume of the gas under test"),
    "volume_uncertainty_cm3": SaidFact(0.0, 1e6, "its standard uncertainty"),
    "gas_reference_c": SaidFact(-50.0, 200.0, "temperature that a leak rate refers to"),
    "temperature_drift_k": SaidFact(
        0.0, 100.0, "standard uncertainty of the change of the gas's temperature"
    ),
    "air_pressure_pa": SaidFact(1e4, 2e5, "pressure of the air, to be added to gauge pressures"),
    "pendulum_j": SaidFact(0.01, 1000.0, "energy of the pendulum"),
    "loss_j": SaidFact(0.0, 1000.0, "what an empty swing of the pendulum loses"),
    "energy_uncertainty_j": SaidFact(0.0, 100.0, "standard uncertainty of the pendulum's reading"),
    "cutoff_mm": SaidFact(0.01, 100.0, "cutoff of the roughness filter"),
    "commanded_mm": SaidFact(0.01, 10.0, "layer thickness that was commanded"),
    "speed_mm_s": SaidFact(0.1, 2000.0, "bead speed after the change"),
    "density_g_cm3": SaidFact(0.1, 25.0, "density of the solid filament"),
    "density_uncertainty_g_cm3": SaidFact(0.0, 5.0, "its standard uncertainty"),
    "mass_uncertainty_g": SaidFact(0.0, 10.0, "standard uncertainty of a weighing"),
    "reading_uncertainty": SaidFact(
        0.0, 1e6, "standard uncertainty of the reference instrument, in the unit of its readings"
    ),
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
    if not fact.low <= value <= fact.high:
        raise InputError(
            "--fact", f"{name} = {value:g}", f"{fact.low:g} to {fact.high:g} ({fact.words})", "Correct it."
        )
    return value
