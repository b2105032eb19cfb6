"""The stages in order, and the responses by name."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from voidless.twin.body import Body, body_stage
from voidless.twin.context import sites_of
from voidless.twin.fill import Fill, fill_stage
from voidless.twin.ground import Ground
from voidless.twin.heat import Heat, WarmthOf, heat_stage, warmth_of
from voidless.twin.light import Light, light_stage
from voidless.twin.links import RESPONSES
from voidless.twin.melt import Melt, melt_stage
from voidless.twin.state import Inputs, inputs_of

__all__ = ["Chain", "responses_of", "run_chain", "supported"]

Floats = NDArray[np.float64]

_OPTICAL = ("clarity", "haze_pct", "transmittance_pct", "yellowness")


@dataclass(frozen=True)
class Chain:
    """All stages of one run of the twin; `light` is None where the polymer is not clear."""

    inputs: Inputs
    melt: Melt
    upright: Heat
    flat: Heat
    fill: Fill
    light: Light | None
    body: Body


def supported(ground: Ground) -> tuple[str, ...]:
    """Return the responses that mean something for a material: no optics where it is opaque."""
    known = tuple(name for name in RESPONSES if ground.charpy > 0.0 or name != "charpy_kj_m2")
    return tuple(name for name in known if ground.clear or name not in _OPTICAL)


def run_chain(
    columns: Mapping[str, Floats],
    ground: Ground,
    context: Mapping[str, float],
    theta: Mapping[str, Floats | float],
    warmth: WarmthOf = warmth_of,
) -> Chain:
    """
    Return every stage for settings and parameters.

    Parameters
    ----------
    columns : mapping of str to (n,) float array
        Every setting, in shop units.
    ground : Ground
        Facts in SI.
    context : mapping of str to float
        Filled context, in shop units.
    theta : mapping of str to float or (n,) float array
        Parameters; what is absent is 0.
    warmth : function
        `heat.warmth_of`, or a `heat.Remembered`.

    Raises
    ------
    InputError
        A setting is missing or impossible.
    """
    inputs = inputs_of(columns, ground, context, theta)
    melt = melt_stage(inputs)
    site_upright, site_flat = sites_of(context)
    upright, flat = (heat_stage(inputs, melt, site, warmth) for site in (site_upright, site_flat))
    fill = fill_stage(inputs, melt, flat)
    light = light_stage(inputs, melt, fill) if ground.clear else None
    body = body_stage(inputs, melt, flat, upright, fill)
    return Chain(inputs, melt, upright, flat, fill, light, body)


def responses_of(chain: Chain) -> dict[str, Floats]:
    """Return the responses of a run by name. [shop units]"""
    body, melt, light = chain.body, chain.melt, chain.light
    found = {
        "void_pct": 100.0 * body.voids,
        "density_g_cm3": 1e-3 * chain.inputs.ground.density * (1.0 - body.voids),
        "healing": chain.upright.healing,
        "strength_xy_mpa": 1e-6 * body.along,
        "strength_across_mpa": 1e-6 * body.across,
        "strength_z_mpa": 1e-6 * body.through,
        "z_ratio": body.through / body.along,
        "charpy_kj_m2": 1e-3 * chain.inputs.ground.charpy * body.impact,
        "size_error_mm": 1e3 * body.size_error,
        "rate_mm3_s": 1e9 * melt.rate,
        "residence_s": melt.residence,
    }
    if light is not None:
        found["clarity"] = light.clarity
        found["haze_pct"] = 100.0 * light.haze
        found["transmittance_pct"] = 100.0 * light.transmittance
        found["yellowness"] = light.yellowness
    return {name: found[name] for name in supported(chain.inputs.ground)}
