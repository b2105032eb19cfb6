"""Which facts a kind of file may use, so that a result tells those alone that it can rest on."""

from __future__ import annotations

from collections.abc import Mapping

from voidless.measure.files.facts import FACTS
from voidless.measure.images.sheet import NUMBERS
from voidless.measure.results import Kind

__all__ = ["USED", "facts_used"]

_SIZE = ("size_uncertainty_mm",)
_BENCH = (
    "force_uncertainty_pct", "section_uncertainty_pct", "strain_uncertainty_pct", "gauge_length_mm", "span_mm",
    "compliance_mm_n", "compliance_uncertainty_mm_n", "stops_at_break", *_SIZE,
)  # fmt: skip
_PICTURES = tuple(name for numbers in NUMBERS.values() for name in numbers)

USED: Mapping[Kind, tuple[str, ...]] = {
    Kind.RESULT_TABLE: (),
    Kind.MACHINE_CURVE: _BENCH,
    Kind.STRENGTH_SUMMARY: _BENCH,
    Kind.FLEXURE_CURVE: (*_BENCH, "width_mm", "thickness_mm"),
    Kind.SECTIONS: _SIZE,
    Kind.COMPLIANCE: (),
    Kind.WEIGHINGS: ("reference_density_g_cm3", "reference_uncertainty_g_cm3"),
    Kind.MOISTURE: (
        "diameter_mm", "diameter_uncertainty_mm", "start_pct", "start_uncertainty_pct",
    ),
    Kind.IMPACT: ("loss_j", "pendulum_j", "energy_uncertainty_j", *_SIZE),
    Kind.PRESSURE: (
        "volume_cm3", "volume_uncertainty_cm3", "gas_reference_c", "temperature_drift_k", "air_pressure_pa",
        "permeability_barrer", "wall_area_cm2", "thickness_mm", "known_volume_cm3", "known_volume_uncertainty_cm3",
        "pressure_uncertainty_pa",
    ),
    Kind.EXPANSION: ("volume_cm3", "known_volume_cm3", "known_volume_uncertainty_cm3", "pressure_uncertainty_pa"),
    Kind.BUBBLES: (),
    Kind.SIZES: _SIZE,
    Kind.HEIGHTS: _SIZE,
    Kind.PROFILE: ("cutoff_mm",),
    Kind.PRECISION: (),
    Kind.POINTS: (),
    Kind.REALISED: ("reading_uncertainty",),
    Kind.FEED: ("density_g_cm3", "density_uncertainty_g_cm3", "mass_uncertainty_g"),
    Kind.FILAMENT: _SIZE,
    Kind.FAN: ("air_uncertainty",),
    Kind.GAP: ("commanded_mm", *_SIZE),
    Kind.LAG: ("speed_mm_s",),
    Kind.PICTURE_SHEET: _PICTURES,
    Kind.MICROGRAPH: _PICTURES,
    Kind.BUBBLE_PHOTO: _PICTURES,
    Kind.LAYER_PHOTO: _PICTURES,
}  # fmt: skip
"""Facts by the kind of file that may ask for them; its companions' own (sizes, gas expansions) with them."""


def facts_used(kind: str, facts: Mapping[str, float]) -> dict[str, float]:
    """
    Return the facts among those that a person said which a file of a kind may have used.

    Parameters
    ----------
    kind : str
        What the file was taken for.
    facts : mapping of str to float
        Facts by name. [unit in the name]

    Returns
    -------
    used : dict of str to float
        All of them where the kind holds others, such as an archive. [unit in the name]
    """
    may = USED.get(Kind(kind), tuple(FACTS)) if kind in set(Kind) else tuple(FACTS)
    return {name: value for name, value in facts.items() if name in may}
