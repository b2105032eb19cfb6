"""Stage: temperature of the built body, and healing of the weld that a site is judged by."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from voidless.physics.heat.column import column_top_temperature, layer_ripple
from voidless.physics.weld.healing import rounded_healing
from voidless.twin.context import Site
from voidless.twin.ground import ASSUMED
from voidless.twin.history import WELDS
from voidless.twin.melt import Melt
from voidless.twin.state import Inputs
from voidless.units import CELSIUS_ZERO

__all__ = ["Heat", "Remembered", "Warmth", "WarmthOf", "heat_stage", "warmth_of"]

Floats = NDArray[np.float64]

_ROOM = 25.0 + CELSIUS_ZERO
_TRAVEL_SHARE = 0.1  # of the layer time that moves without laying; assumed


@dataclass(frozen=True)
class Heat:
    """
    One site, every entry `(n,)`.

    Attributes
    ----------
    layer_time : [s]
    top : mean temperature of the top over a layer time. [K]
    substrate : temperature of the top just before the next bead. [K]
    healing : degree of healing of the site's weld. [1]
    """

    layer_time: Floats
    top: Floats
    substrate: Floats
    healing: Floats


@dataclass(frozen=True)
class Warmth:
    """
    What heat alone decides at one site, every entry `(n,)`.

    Attributes
    ----------
    layer_time : [s]
    top : mean temperature of the top over a layer time. [K]
    substrate : temperature of the top just before the next bead. [K]
    integral : healing integral of the site's weld, at the usual weld time. [1]
    """

    layer_time: Floats
    top: Floats
    substrate: Floats
    integral: Floats


WarmthOf = Callable[[Inputs, Melt, Site], Warmth]


def heat_transfer(x: Inputs) -> Floats:
    """Return the heat-transfer coefficient to the air. [W/(m² K)]"""
    duty = x.fan if x.ground.fan else np.zeros_like(x.fan)
    share = np.expm1(-duty / ASSUMED.fan_scale) / np.expm1(-1.0 / ASSUMED.fan_scale)
    blown = ASSUMED.still_air + (ASSUMED.full_fan - ASSUMED.still_air) * share
    return np.asarray(blown * x.factor("cooling_log"))


def air_temperature(x: Inputs) -> Floats:
    """Return the temperature around the part: an open machine's air follows the bed a little. [K]"""
    return np.asarray(np.maximum(_ROOM + ASSUMED.air_share * (x.bed - _ROOM), x.chamber))


def heat_stage(x: Inputs, melt: Melt, site: Site, warmth: WarmthOf) -> Heat:
    """Return temperatures and healing at one site; `warmth` is `warmth_of` or a `Remembered`."""
    w = warmth(x, melt, site)
    healing = rounded_healing(w.integral / x.factor("weld_time_log"))
    return Heat(w.layer_time, w.top, w.substrate, healing)


def warmth_of(x: Inputs, melt: Melt, site: Site) -> Warmth:
    """Return temperatures and the healing integral at one site: nine tenths of the twin's work."""
    g = x.ground
    coefficient = heat_transfer(x)
    laid = (1.0 + _TRAVEL_SHARE) * site.area / (x.pitch * x.speed)
    layer_time = np.full_like(laid, site.layer_time) if site.layer_time > 0.0 else laid
    top = column_top_temperature(
        site.height,
        site.slenderness,
        g.conductivity,
        coefficient,
        g.density * g.heat_capacity_melt * x.layer / layer_time,
        melt.temperature,
        x.bed,
        air_temperature(x),
    )
    ripple = layer_ripple(g.diffusivity * layer_time / x.layer**2)
    substrate = top - ripple * (melt.temperature - top)
    cooling = coefficient / (g.density * g.heat_capacity_melt * x.layer)
    integral = WELDS[site.weld](x, melt.temperature, substrate, layer_time, cooling, site)
    return Warmth(layer_time, top, substrate, integral)


class Remembered:
    """
    `warmth_of` that keeps its last answers.

    Of the parameters only those of melt temperature and cooling reach the heat, so whoever varies the others at
    the same settings pays for the heat once. Answers are the same to the last bit.

    Parameters
    ----------
    most : int
        How many answers to keep.
    """

    def __init__(self, most: int) -> None:
        self._most = most
        self._known: OrderedDict[tuple[Site, bytes], Warmth] = OrderedDict()

    def __call__(self, x: Inputs, melt: Melt, site: Site) -> Warmth:
        """Return the heat of these inputs at a site."""
        rows = (x.layer, x.pitch, x.speed, x.bed, x.chamber, x.fan, melt.temperature)
        key = (site, b"".join(np.asarray(row).tobytes() for row in (*rows, x.factor("cooling_log"))))
        if key not in self._known:
            self._known[key] = warmth_of(x, melt, site)
            if len(self._known) > self._most:
                self._known.popitem(last=False)
        self._known.move_to_end(key)
        return self._known[key]
