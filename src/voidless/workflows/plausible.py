"""Results that no polymer of the name is likely to give: most often a unit that slipped."""

from __future__ import annotations

from collections.abc import Sequence

from voidless.campaign.types import Observation
from voidless.materials import Material

__all__ = ["unlikely"]

_BULK = {
    "strength_xy_mpa": ("strength_mpa", 0.005, 3.0),
    "strength_across_mpa": ("strength_mpa", 0.005, 3.0),
    "strength_z_mpa": ("strength_mpa", 0.005, 3.0),
    "yield_mpa": ("strength_mpa", 0.05, 3.0),
    "flexural_strength_mpa": ("strength_mpa", 0.005, 6.0),
    "modulus_gpa": ("modulus_gpa", 0.02, 5.0),
    "flexural_modulus_gpa": ("modulus_gpa", 0.02, 5.0),
    "density_g_cm3": ("density_g_cm3", 0.5, 1.5),
}
"""By quantity: the bulk's property, and the least and most times its value that are no surprise. Wide on purpose: a
thousandfold slip (kPa, N for kN, MPa for GPa) is to stand out, a weld that failed or a filled grade is not. Assumed."""


def unlikely(observations: Sequence[Observation], material: Material) -> list[str]:
    """
    Return a sentence per quantity that names values far from the material's bulk; 0 is no value far from it.

    Parameters
    ----------
    observations : sequence of Observation
        Those of one file.
    material : Material
        Of the campaign.
    """
    found: dict[str, list[Observation]] = {}
    for item in observations:
        known = _BULK.get(item.key.quantity)
        if known is None or not material.has(known[0]) or item.value == 0.0:
            continue
        bulk = material.property(known[0]).value
        if not known[1] * bulk <= item.value <= known[2] * bulk:
            found.setdefault(item.key.quantity, []).append(item)
    return [_sentence(quantity, items, material) for quantity, items in found.items()]


def _sentence(quantity: str, items: Sequence[Observation], material: Material) -> str:
    bulk = material.property(_BULK[quantity][0]).value
    first = " ".join(filter(None, (items[0].run, items[0].build, items[0].specimen)))
    more = f" and {len(items) - 1} more" if len(items) > 1 else ""
    return (
        f"{quantity} {items[0].value:g} of {first or 'no build'}{more}: the bulk of {material.title} has about "
        f"{bulk:g}. Is the unit right? Stored as it stands; read a corrected file with --replaces"
    )
