"""Where the models were never checked, in plain sentences, with how much the bands widen."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from voidless.beads.stadium import ROUNDING
from voidless.materials.types import Material
from voidless.physics.moisture.bubbles import hydrolysed_molar_mass
from voidless.twin.chain import Chain
from voidless.twin.ground import ASSUMED
from voidless.twin.links import RESPONSES
from voidless.units import CELSIUS_ZERO

__all__ = ["RANGES", "Range", "outside_range", "unproven", "widening"]

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

_WIDEST = 3.0
_CUT = 0.05  # of the molar mass
_MODELLED = tuple(name for name in RESPONSES if name not in ("rate_mm3_s", "residence_s"))
_LIGHT = ("clarity", "haze_pct", "transmittance_pct")
_WELDS = ("healing", "strength_z_mpa", "strength_across_mpa", "z_ratio")
_STEAM_LIMIT = 370.0 + CELSIUS_ZERO


@dataclass(frozen=True)
class Range:
    """
    A range of validity.

    Attributes
    ----------
    sentence : str
        What to tell a person.
    outside : function of (Chain, Material)
        Which cases lie outside, `(n,)`.
    about : tuple of str
        Responses that it concerns.
    widen : float
        Factor on the twin's own error of these, there.
    """

    sentence: str
    outside: Callable[[Chain, Material], Bools]
    about: tuple[str, ...]
    widen: float = 2.0


def _aspect(chain: Chain) -> Floats:
    return np.asarray((chain.inputs.pitch + chain.inputs.layer * ROUNDING) / chain.inputs.layer)


def _processing(chain: Chain, material: Material) -> Bools:
    low, high = material.limits.get("nozzle_c", (-np.inf, np.inf))
    celsius = chain.inputs.nozzle - CELSIUS_ZERO
    return np.asarray(~((celsius >= low) & (celsius <= high)))


def _cut_by_water(chain: Chain, material: Material) -> Bools:
    """Return where water may have cut more of the chains than strength takes without a sign."""
    if not material.has("molar_mass_kg_mol"):
        return np.zeros(chain.inputs.nozzle.shape, dtype=bool)
    before = material.si("molar_mass_kg_mol")
    reacted = -np.expm1(-chain.melt.residence / ASSUMED.hydrolysis_time)
    return np.asarray(1.0 - hydrolysed_molar_mass(before, chain.melt.water * reacted) / before > _CUT)


RANGES: tuple[Range, ...] = (
    Range(
        "The nozzle temperature lies outside the range in which this polymer is processed.",
        _processing,
        _MODELLED,
    ),
    Range(
        "The strand leaves the melt zone more than 10 % short of its heating: flow and temperature near the "
        "limit of the hot end are coarse.",
        lambda chain, _: np.asarray(chain.melt.residual > 0.10),
        (*_MODELLED, "rate_mm3_s"),
    ),
    Range(
        "Flow below 90 % or above 115 %: the fill model knows no starved or flooded beads.",
        lambda chain, _: np.asarray(~((chain.inputs.flow >= 0.895) & (chain.inputs.flow <= 1.155))),
        _MODELLED,
    ),
    Range(
        "The bead is less than 1.5 times as wide as high: it is no stadium.",
        lambda chain, _: _aspect(chain) < 1.5,
        _MODELLED,
    ),
    Range(
        "The bead is more than 8 times as wide as high.",
        lambda chain, _: _aspect(chain) > 8.0,
        _MODELLED,
        1.5,
    ),
    Range(
        "The built body stays above its softening temperature between layers: it will sag, and the twin's "
        "size and strength are guesses there.",
        lambda chain, _: np.asarray(chain.upright.top > chain.inputs.ground.stop + 15.0),
        ("size_error_mm", "strength_z_mpa", "z_ratio"),
        1.5,
    ),
    Range(
        "The bed is within 5 K of the temperature at which welds stop healing: near it they never settle.",
        lambda chain, _: np.asarray(chain.inputs.bed > chain.inputs.ground.stop - 5.0),
        ("healing",),
        1.5,
    ),
    Range(
        "This polymer crystallises: healing is stopped at an assumed temperature, heat of crystallisation is "
        "left out, and density moves with crystallinity, not with voids alone.",
        lambda chain, material: np.full(chain.inputs.nozzle.shape, material.crystallises),
        (*_WELDS, "density_g_cm3", "size_error_mm", *_LIGHT),
        1.5,
    ),
    Range(
        "Water may cut more than 5 % of this polymer's chains in the hot end: strength and toughness can be lower than "
        "the twin says.",
        _cut_by_water,
        ("strength_xy_mpa", "strength_across_mpa", "strength_z_mpa", "charpy_kj_m2"),
        1.5,
    ),
    Range(
        "The nozzle is hotter than 370 °C, where steam pressure is no longer tabulated.",
        lambda chain, _: np.asarray(chain.inputs.nozzle > _STEAM_LIMIT),
        (*_LIGHT, "void_pct", "density_g_cm3"),
    ),
    Range(
        "The melt needs more than 20 MPa before the nozzle: the drive slips, and by how much is a guess.",
        lambda chain, _: np.asarray(chain.melt.pressure > ASSUMED.drive_pressure),
        (*_MODELLED, "rate_mm3_s"),
    ),
    Range(
        "Bead speed above 150 mm/s: lag and acceleration rule the fill, which the twin only guesses.",
        lambda chain, _: np.asarray(chain.inputs.speed > 0.150),
        _MODELLED,
    ),
)

_OPAQUE = (
    "This polymer is not clear: clarity, haze, transmittance and yellowness mean nothing and are left out."
)
_UNPROVEN = (
    "No stage has been validated on printed {title}; means can be off by more than common practice differs, "
    "until a campaign calibrates them."
)


def outside_range(chain: Chain, material: Material) -> list[str]:
    """
    Return a sentence for every range that some case leaves.

    With several cases a sentence says how many of them it is about.
    """
    count = chain.inputs.nozzle.size
    found = [] if chain.inputs.ground.clear else [_OPAQUE]
    for item in RANGES:
        outside = int(np.count_nonzero(item.outside(chain, material)))
        if outside:
            found.append(item.sentence + (f" ({outside} of {count} settings)" if count > 1 else ""))
    return found


def unproven(material: Material) -> str:
    """Return the sentence that every prediction carries."""
    return _UNPROVEN.format(title=material.title)


def widening(chain: Chain, material: Material) -> dict[str, Floats]:
    """Return, by response, the factor on the twin's own error `(n,)`: 1 inside, at most 3. [1]"""
    size = chain.inputs.nozzle.shape
    factors = {name: np.ones(size) for name in RESPONSES}
    for item in RANGES:
        outside = item.outside(chain, material)
        for name in item.about:
            factors[name] = factors[name] * np.where(outside, item.widen, 1.0)
    return {name: np.minimum(factor, _WIDEST) for name, factor in factors.items()}
