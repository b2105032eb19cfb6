"""Stage: strength along, across and through, and size."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from voidless.physics.shape.size import overfill_growth, shrinkage, soft_sway, softness
from voidless.physics.strength.impact import impact_across_beads, impact_through_layers
from voidless.physics.strength.porosity import relative_strength_power
from voidless.physics.strength.weld import off_axis_strength, weld_efficiency, weld_strength
from voidless.twin.fill import Fill
from voidless.twin.ground import ASSUMED
from voidless.twin.heat import Heat, heat_transfer
from voidless.twin.melt import Melt
from voidless.twin.state import Inputs
from voidless.units import CELSIUS_ZERO

__all__ = ["Body", "body_stage"]

Floats = NDArray[np.float64]

_ROOM = 23.0 + CELSIUS_ZERO
_LAYERS = 8  # layers over which a turning raster is averaged
_FOAM = 0.999  # voids of all kinds add up to no more: nothing but voids has neither density nor strength
_NEXT_TO_NONE = 1e-30  # [Pa] and [1]: strengths that are nothing still have a logarithm


@dataclass(frozen=True)
class Body:
    """
    Every entry `(n,)`.

    Attributes
    ----------
    along, across, through : strengths over the gross area. [Pa]
    voids : void share, all kinds. [1]
    knit_layers, knit_beads : shares of strength that healing gives. [1]
    ceiling : share that a healed weld through the layers keeps. [1]
    impact : impact strength of flat or upright specimens over the bulk's. [1]
    soft : how far the upright section, soft between layers, loses its shape. [1]
    size_error : of an outside dimension. [m]
    """

    along: Floats
    across: Floats
    through: Floats
    voids: Floats
    knit_layers: Floats
    knit_beads: Floats
    ceiling: Floats
    impact: Floats
    soft: Floats
    size_error: Floats


def body_stage(x: Inputs, melt: Melt, flat: Heat, upright: Heat, fill: Fill) -> Body:
    """Return strength and size."""
    bulk = x.ground.strength * x.factor("strength_log")
    voids = np.minimum(fill.gaps + fill.seams + melt.bubbles, _FOAM)
    solid = relative_strength_power(voids, ASSUMED.void_power)
    beads_along = bulk * solid
    knit_beads = weld_efficiency(flat.healing, ASSUMED.yield_healing)
    knit_layers = weld_efficiency(upright.healing, ASSUMED.yield_healing)
    beads_across = weld_strength(bulk, fill.contact_beads, knit_beads, ASSUMED.side_ceiling)
    soft = _soft(x, upright)
    outline = np.tanh(2.0 * x.contours * x.pitch / (1e-3 * np.asarray(x.context["section_width_mm"])))
    raster_along = _laminate(x, beads_along, beads_across, 0.0)
    raster_across = _laminate(x, beads_along, beads_across, np.pi / 2.0)
    ceiling = _ceiling(x)
    through = weld_strength(bulk, fill.contact_layers, knit_layers, ceiling)
    return Body(
        along=np.asarray(outline * beads_along + (1.0 - outline) * raster_along),
        across=np.asarray(outline * beads_along + (1.0 - outline) * raster_across),
        through=np.maximum(through * (1.0 - melt.bubbles) * (1.0 - ASSUMED.soft_loss * soft), _NEXT_TO_NONE),
        voids=voids,
        knit_layers=knit_layers,
        knit_beads=knit_beads,
        ceiling=ceiling,
        impact=_impact(x, voids, fill, upright),
        soft=soft,
        size_error=_size(x, melt, fill, soft),
    )


def _soft(x: Inputs, upright: Heat) -> Floats:
    """Return how far the upright section loses its shape: soft, and so slender that the nozzle pushes it aside."""
    face = 0.25 * np.pi * (ASSUMED.nozzle_face * x.ground.nozzle_diameter) ** 2
    width = 4e-3 / np.asarray(x.context["upright_slenderness_1_mm"])
    sway = soft_sway(
        width, x.ground.conductivity, heat_transfer(x), ASSUMED.plateau_modulus, ASSUMED.closing_stress * face
    )
    warm = softness(upright.top, x.ground.stop, ASSUMED.softening)
    return np.asarray(warm * sway / (sway + x.layer))


def _ceiling(x: Inputs) -> Floats:
    odds = np.log(ASSUMED.weld_ceiling / (1.0 - ASSUMED.weld_ceiling)) + x.parameter("weld_ceiling_logit")
    return _logistic(np.asarray(odds))


def _logistic(odds: Floats) -> Floats:
    return np.asarray(0.5 * (1.0 + np.tanh(0.5 * odds)))


def _impact(x: Inputs, voids: Floats, fill: Fill, upright: Heat) -> Floats:
    """Flat specimens break across the beads, upright ones along the welds; `charpy_upright` says which."""
    odds = np.log(ASSUMED.impact_aligned / (1.0 - ASSUMED.impact_aligned)) + x.parameter("impact_logit")
    flat = impact_across_beads(voids, ASSUMED.void_power)
    through = impact_through_layers(fill.contact_layers, upright.healing, _logistic(np.asarray(odds)))
    share = np.asarray(x.context["charpy_upright"])
    broken = ((1.0 - share) * flat + share * through) * x.factor("toughness_log")
    return np.maximum(broken, _NEXT_TO_NONE)


def _laminate(x: Inputs, along: Floats, across: Floats, turn: float) -> Floats:
    """Return the mean strength of layers whose raster turns from layer to layer."""
    shear = ASSUMED.shear_share * across
    total = np.zeros_like(along)
    for layer in range(_LAYERS):
        total += off_axis_strength(along, across, shear, x.raster + layer * x.raster_step + turn)
    return total / _LAYERS


def _size(x: Inputs, melt: Melt, fill: Fill, soft: Floats) -> Floats:
    grown = overfill_growth(
        x.pitch, melt.flow - 1.0, fill.excess, ASSUMED.size_spread * x.factor("size_spread_log")
    )
    stiff = max(x.ground.stop - _ROOM, 0.0)
    length = 1e-3 * np.asarray(x.context["feature_mm"])
    shrunk = shrinkage(length, x.ground.expansion * x.factor("expansion_log"), stiff)
    return np.asarray(grown - shrunk + ASSUMED.soft_size * soft)
