"""Stage: voids between beads and at seams, and what of the welds touches."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from voidless.physics.fill.closure import closing_time, cusp_share, open_share, soft_time
from voidless.physics.fill.contact import contact_between_layers, contact_in_layer, flat_share
from voidless.physics.fill.voids import mean_excess, mean_shortfall, shortfall_probability
from voidless.physics.melt.viscosity import arrhenius_factor
from voidless.twin.ground import ASSUMED
from voidless.twin.heat import Heat
from voidless.twin.melt import Melt
from voidless.twin.state import Inputs

__all__ = ["Fill", "fill_stage"]

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Fill:
    """
    Every entry `(n,)` and a plain number.

    Attributes
    ----------
    open_cusps : share of the cusps that the melt leaves open at exact fill.
    flat : share of the underside that is flat on rigid beads.
    gaps : void share between beads.
    open_length : share of the bead's length along which there is a void.
    seams : void share at the seam of contour and raster.
    excess : volume share that finds no room.
    contact_layers, contact_beads : shares of the welds that touch.
    """

    open_cusps: Floats
    flat: Floats
    gaps: Floats
    open_length: Floats
    seams: Floats
    excess: Floats
    contact_layers: Floats
    contact_beads: Floats


def fill_stage(x: Inputs, melt: Melt, heat: Heat) -> Fill:
    """Return voids and contact of a layer at a site."""
    left_open = _open(x, melt, heat)
    cusps, flat = cusp_share(x.layer, x.pitch), flat_share(x.layer, x.pitch)
    deficit = 1.0 - melt.flow + cusps * left_open
    uneven = np.sqrt(1.0 + (x.speed / ASSUMED.scatter_speed) ** 2)
    scatter = ASSUMED.fill_scatter * x.factor("fill_scatter_log") * uneven
    gaps = mean_shortfall(deficit, scatter)
    excess = mean_excess(deficit, scatter)
    return Fill(
        open_cusps=left_open,
        flat=flat,
        gaps=gaps,
        open_length=shortfall_probability(deficit, scatter),
        seams=_seams(x, excess),
        excess=excess,
        contact_layers=contact_between_layers(gaps, cusps, flat),
        contact_beads=contact_in_layer(gaps, cusps),
    )


def _open(x: Inputs, melt: Melt, heat: Heat) -> Floats:
    """Return the share of the cusps left open: pressed under the nozzle's face, for as long as they are soft."""
    g = x.ground
    passing = ASSUMED.nozzle_face * g.nozzle_diameter / x.speed
    time = closing_time(passing, soft_time(x.layer, g.diffusivity))
    # mean over that time of what the layer has given to the one below: exact for an insulated top
    cooled = 2.0 / 3.0 * np.sqrt(time * g.diffusivity / np.pi) / x.layer
    warm = melt.temperature - cooled * (melt.temperature - heat.substrate)
    viscosity = g.viscosity * arrhenius_factor(warm, g.viscosity_at, g.flow_activation)
    return open_share(ASSUMED.closing_stress * x.factor("closure_log"), time, viscosity)


def _seams(x: Inputs, excess: Floats) -> Floats:
    """Two strips of one pitch between contour and raster, closed by overlap and by excess volume."""
    strips = 2.0 * x.pitch / (1e-3 * np.asarray(x.context["section_width_mm"]))
    there = -np.expm1(-2.0 * x.contours)
    closed = np.exp(-x.overlap / ASSUMED.seam_overlap - excess / 0.03)
    return np.asarray(ASSUMED.seam * strips * there * closed)
