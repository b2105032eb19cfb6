"""What hangs: sag of a bridge and the steepest overhang. Coarse: trust directions and orders of magnitude."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from voidless.beads.stadium import ROUNDING
from voidless.physics.shape.span import bridge_sag, edge_rounding, overhang_limit, soft_fluidity
from voidless.twin.chain import Chain
from voidless.twin.heat import air_temperature, heat_transfer

__all__ = ["COARSE", "shape_of"]

Floats = NDArray[np.float64]

COARSE = (
    "Sag and overhang are coarse: a strand that cools alone, without warping and without the heat of the part; "
    "trust their direction and order of magnitude."
)
_MARGIN = 1.0  # [K] kept between the air and where the melt is firm; hotter air never lets it become firm


def shape_of(chain: Chain) -> Mapping[str, Floats]:
    """
    Return how far a bridge of `bridge_mm` sags and how steep an overhang may be, each `(n,)`.

    Returns
    -------
    shape : mapping of str to (n,) float array
        `bridge_sag_mm` [mm] and `overhang_deg`, from the vertical [deg].
    """
    x, g = chain.inputs, chain.inputs.ground
    section = x.layer * x.pitch
    coefficient = heat_transfer(x)
    air = np.minimum(air_temperature(x), g.stop - _MARGIN)
    heat = g.density * g.heat_capacity_melt * section / coefficient

    def fluidity(perimeter: Floats) -> Floats:
        """Return the softness of a strand that cools over some perimeter."""
        return soft_fluidity(
            chain.melt.temperature,
            g.stop,
            air,
            heat / perimeter,
            g.viscosity,
            g.viscosity_at,
            g.flow_activation,
        )

    free = fluidity(np.sqrt(4.0 * np.pi * section))  # a free strand is round
    resting = fluidity(x.pitch + x.layer)  # an edge bead cools at its top and outer side
    sag = bridge_sag(1e-3 * np.asarray(x.context["bridge_mm"]), g.density, free)
    limit = overhang_limit(x.layer, x.pitch + ROUNDING * x.layer, edge_rounding(g.surface_tension, resting))
    return {"bridge_sag_mm": 1e3 * sag, "overhang_deg": np.rad2deg(limit)}
