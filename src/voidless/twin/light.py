"""Stage: what light loses in a plate seen along the build direction, along the beads or across them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from voidless.physics.optics.channels import channel_depth, channel_scatter
from voidless.physics.optics.colour import yellowness_of_transmittance
from voidless.physics.optics.fresnel import plate_transmittance
from voidless.physics.optics.surface import haze_from_slopes, ridge_slope
from voidless.physics.optics.voids import bubble_depth, scatter_table, void_scatter
from voidless.twin.fill import Fill
from voidless.twin.ground import ASSUMED
from voidless.twin.melt import Melt
from voidless.twin.state import Inputs

__all__ = ["ACROSS_BEADS", "ALONG_BEADS", "ALONG_Z", "Light", "light_stage"]

Floats = NDArray[np.float64]

ALONG_Z, ALONG_BEADS, ACROSS_BEADS = 0.0, 1.0, 2.0
"""Values of the context `view`."""

# Bulk loss in red and blue over that in green; assumed, a clear polymer's blue edge.
_RED, _BLUE = 0.8, 1.6


@dataclass(frozen=True)
class Light:
    """
    Every entry `(n,)`.

    Attributes
    ----------
    depth_gaps, depth_bubbles, depth_surface : optical depths. [1]
    depth_bulk : absorption in the bulk, browning included. [1]
    clarity : contrast carried through. [1]
    haze, transmittance : shares. [1]
    yellowness : index. [1]
    """

    depth_gaps: Floats
    depth_bubbles: Floats
    depth_surface: Floats
    depth_bulk: Floats
    clarity: Floats
    haze: Floats
    transmittance: Floats
    yellowness: Floats


def light_stage(x: Inputs, melt: Melt, fill: Fill) -> Light:
    """Return the optics of a plate."""
    thickness = 1e-3 * np.asarray(x.context["thickness_mm"])
    gaps, gap_shares = _gaps(x, fill, thickness)
    bubbles, bubble_shares = _bubbles(x, melt, thickness)
    surface = _surface(x, fill)
    narrow = gaps * gap_shares[0] + bubbles * bubble_shares[0] + surface * ASSUMED.surface_narrow
    wide = gaps * gap_shares[1] + bubbles * bubble_shares[1] + surface * (1.0 - ASSUMED.surface_narrow)
    total = gaps + bubbles + surface
    straight = np.exp(-total)
    hit = -np.expm1(-total) / total  # of each unit of depth, the share that meets light still straight
    passed = straight + hit * (narrow + wide)
    blur = 1e-3 * np.asarray(x.context["gap_mm"]) * ASSUMED.scatter_angle
    blur = blur * 1e3 * np.asarray(x.context["frequency_lp_mm"])
    carried = straight + hit * narrow * np.exp(-2.0 * np.pi**2 * blur**2)
    bulk = x.ground.absorption * x.factor("absorption_log") * thickness
    brown = ASSUMED.colour_per_degraded * melt.degraded * x.factor("browning_log") * thickness * np.log(10.0)
    green = bulk + 0.3 * brown
    return Light(
        depth_gaps=gaps,
        depth_bubbles=bubbles,
        depth_surface=surface,
        depth_bulk=np.asarray(green + np.zeros_like(total)),
        clarity=np.asarray(carried / passed),
        haze=np.asarray(hit * wide / passed),
        transmittance=np.asarray(plate_transmittance(x.ground.index, np.exp(-green)) * passed),
        yellowness=yellowness_of_transmittance(
            np.exp(-_RED * bulk), np.exp(-green), np.exp(-_BLUE * bulk - brown)
        ),
    )


def _gaps(x: Inputs, fill: Fill, thickness: Floats) -> tuple[Floats, tuple[Floats, Floats]]:
    """Return the optical depth of the channels between beads, and its narrow and wide shares."""
    open_length = np.maximum(fill.open_length, 1e-12)
    section = fill.gaps / open_length * x.layer * x.pitch
    diameter = np.sqrt(4.0 * section / np.pi) + 1e-9
    efficiency, narrow, wide, _ = scatter_table(channel_scatter, diameter, x.ground.index)
    # below the table's end a channel fades as its size cubed (Rayleigh, long cylinder)
    efficiency = efficiency * np.minimum(1.0, diameter / 0.3e-6) ** 3
    crossed = np.sin(x.raster_step) ** 2
    shaded = ASSUMED.shading + (1.0 - ASSUMED.shading) * crossed
    depth = channel_depth(fill.open_length, diameter, efficiency, x.pitch, thickness / x.layer * shaded)
    if float(x.context["view"]) == ALONG_BEADS:
        # end on a channel blocks its own area once; layers of a crossed raster are seen from their side
        depth = (1.0 - crossed) * -np.log1p(-np.minimum(fill.gaps, 0.999)) + crossed * depth
    return np.asarray(depth), (narrow, wide)


def _bubbles(x: Inputs, melt: Melt, thickness: Floats) -> tuple[Floats, tuple[Floats, Floats]]:
    diameter = ASSUMED.bubble_diameter * x.factor("bubble_size_log") * np.ones_like(melt.bubbles)
    efficiency, narrow, wide, _ = scatter_table(void_scatter, diameter, x.ground.index)
    return bubble_depth(melt.bubbles, diameter, efficiency, thickness), (narrow, wide)


def _surface(x: Inputs, fill: Fill) -> Floats:
    """
    The faces that light passes; smooth where they are wetted.

    Top: a floor, grooves left by open cusps, ridges ploughed up by excess. Sides: two stacks of round layer
    edges, whose slopes make diffusers of them.
    """
    if float(x.context["view"]) == ALONG_Z:
        grooves = ASSUMED.surface_open * fill.open_cusps * (1.0 - fill.flat)
        ridges = ASSUMED.surface_excess * (fill.excess / 0.05) ** 2
        depth = ASSUMED.surface + grooves + ridges
    else:
        depth = np.full_like(fill.gaps, _side_depth(x.ground.index))
    return np.asarray(1e-6 + depth * x.factor("surface_log") * np.asarray(x.context["surface"]))


def _side_depth(index: float) -> float:
    """Return the optical depth of two side faces of half-round layer edges, from their slopes."""
    hazy = float(haze_from_slopes(ridge_slope(np.pi / 2.0), index, faces=2.0))
    return float(-np.log1p(-hazy))
