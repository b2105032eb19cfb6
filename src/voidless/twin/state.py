"""Settings, facts, context and parameters as the stages get them: SI, one array per thing."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from voidless.beads.stadium import ROUNDING
from voidless.errors import InputError
from voidless.twin.ground import Ground
from voidless.units import CELSIUS_ZERO

__all__ = ["SETTINGS", "Inputs", "inputs_of"]

Floats = NDArray[np.float64]

SETTINGS = (
    "layer_mm",
    "width_mm",
    "flow_pct",
    "contours",
    "raster_deg",
    "raster_step_deg",
    "overlap_pct",
    "nozzle_c",
    "bed_c",
    "chamber_c",
    "fan_pct",
    "speed_mm_s",
)


@dataclass(frozen=True)
class Inputs:
    """
    One row per case; every array is `(n,)`.

    Attributes
    ----------
    theta : mapping of str to float or (n,) array
        Parameters of `parameters`; what is absent is at its prior mean, 0.
    context : mapping of str to float or (n,) array
        Filled context, in shop units.
    """

    layer: Floats
    pitch: Floats
    flow: Floats
    contours: Floats
    raster: Floats
    raster_step: Floats
    overlap: Floats
    nozzle: Floats
    bed: Floats
    chamber: Floats
    fan: Floats
    speed: Floats
    ground: Ground
    context: Mapping[str, Floats | float]
    theta: Mapping[str, Floats | float]

    def parameter(self, name: str) -> Floats | float:
        """Return a parameter, 0 where it is not varied."""
        return self.theta.get(name, 0.0)

    def factor(self, name: str) -> Floats | float:
        """Return the factor whose logarithm a parameter is."""
        return np.exp(self.theta[name]) if name in self.theta else 1.0


def inputs_of(
    columns: Mapping[str, Floats],
    ground: Ground,
    context: Mapping[str, Floats | float],
    theta: Mapping[str, Floats | float],
) -> Inputs:
    """
    Return the inputs of the stages.

    Parameters
    ----------
    columns : mapping of str to (n,) float array
        Every setting of `SETTINGS`, in shop units.
    ground, context, theta
        As in `Inputs`.

    Raises
    ------
    InputError
        A setting is missing or impossible (bead narrower than the layer, no flow, no speed).
    """
    missing = [name for name in SETTINGS if name not in columns]
    if missing:
        raise InputError("twin", "no value for " + ", ".join(missing), "every setting", "Fill them in first.")
    c = {name: np.asarray(columns[name], dtype=float) for name in SETTINGS}
    layer, width = 1e-3 * c["layer_mm"], 1e-3 * c["width_mm"]
    possible = (layer > 0.0) & (width >= layer) & (c["flow_pct"] > 0.0) & (c["speed_mm_s"] > 0.0)
    if not np.all(possible):
        raise InputError(
            "twin",
            "a bead that cannot be laid",
            "layer_mm, flow_pct and speed_mm_s above 0 and width_mm at least layer_mm",
            "Correct the settings.",
        )
    return Inputs(
        layer=layer,
        pitch=np.asarray(width - layer * ROUNDING),
        flow=np.asarray(0.01 * c["flow_pct"] * np.exp(_moved(theta, "flow_offset_log", "flow_scatter_log"))),
        contours=c["contours"],
        raster=np.deg2rad(c["raster_deg"]),
        raster_step=np.deg2rad(c["raster_step_deg"]),
        overlap=np.asarray(0.01 * c["overlap_pct"]),
        nozzle=np.asarray(
            c["nozzle_c"] + CELSIUS_ZERO + _moved(theta, "nozzle_offset_k", "nozzle_scatter_k")
        ),
        bed=np.asarray(c["bed_c"] + CELSIUS_ZERO),
        chamber=np.asarray(c["chamber_c"] + CELSIUS_ZERO),
        fan=_turning(0.01 * c["fan_pct"], ground.fan_stall),
        speed=np.asarray(1e-3 * c["speed_mm_s"]),
        ground=ground,
        context=context,
        theta=theta,
    )


def _turning(duty: Floats, stall: float) -> Floats:
    """Return what duties are worth: none where the fan was seen to stand still."""
    return np.where(duty <= stall, 0.0, duty)


def _moved(theta: Mapping[str, Floats | float], offset: str, scatter: str) -> Floats | float:
    return theta.get(offset, 0.0) + theta.get(scatter, 0.0)
