"""Stage: temperature of the built body, and healing of the welds through the layers and between beads."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import erf

from voidless.physics.heat.column import column_top_temperature, layer_ripple
from voidless.physics.heat.layer import (
    excess_at_depth,
    excess_mean_of_layer,
    excess_under_hot_face,
    heat_from_hot_face,
)
from voidless.physics.weld.healing import rounded_healing
from voidless.physics.weld.shift import log10_shift_wlf, weld_rate_wlf
from voidless.twin.context import Site
from voidless.twin.ground import ASSUMED
from voidless.twin.melt import Melt
from voidless.twin.state import Inputs
from voidless.units import CELSIUS_ZERO

__all__ = ["Heat", "Remembered", "Warmth", "WarmthOf", "heat_stage", "warmth_of"]

Floats = NDArray[np.float64]

_ROOM = 25.0 + CELSIUS_ZERO
_TRAVEL_SHARE = 0.1  # of the layer time that moves without laying; assumed

# Scaled time α t/h² of the histories: even in its logarithm, from where nothing has happened yet to where the
# thinnest layer (0.05 mm) has waited eight minutes; later warmth is left out.
_U = np.geomspace(0.02, 2e4, 40)
_NODES = np.concatenate([[0.0], _U])
_MIDDLE = np.sqrt(np.concatenate([[_U[0] / 2.0], _U[:-1]]) * _U)
_REHEATS = (1.0, 2.0, 3.0)


@dataclass(frozen=True)
class Heat:
    """
    One site, every entry `(n,)`.

    Attributes
    ----------
    layer_time : [s]
    top : mean temperature of the top over a layer time. [K]
    substrate : temperature of the top just before the next bead. [K]
    healing_layers : degree of healing through the layers. [1]
    healing_beads : degree of healing between neighbouring beads. [1]
    """

    layer_time: Floats
    top: Floats
    substrate: Floats
    healing_layers: Floats
    healing_beads: Floats


@dataclass(frozen=True)
class Warmth:
    """
    What heat alone decides at one site, every entry `(n,)`.

    Attributes
    ----------
    layer_time : [s]
    top : mean temperature of the top over a layer time. [K]
    substrate : temperature of the top just before the next bead. [K]
    layers, beads : healing integrals through the layers and between beads, at the usual weld time. [1]
    """

    layer_time: Floats
    top: Floats
    substrate: Floats
    layers: Floats
    beads: Floats


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
    w, slower = warmth(x, melt, site), x.factor("weld_time_log")
    return Heat(
        w.layer_time,
        w.top,
        w.substrate,
        rounded_healing(w.layers / slower),
        rounded_healing(w.beads / slower),
    )


def warmth_of(x: Inputs, melt: Melt, site: Site) -> Warmth:
    """Return temperatures and healing integrals at one site: nine tenths of the twin's work."""
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
    layers, beads = _integrals(x, melt, substrate, layer_time, cooling, site)
    return Warmth(layer_time, top, substrate, layers, beads)


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


def _integrals(
    x: Inputs, melt: Melt, substrate: Floats, layer_time: Floats, cooling: Floats, site: Site
) -> tuple[Floats, Floats]:
    """Return the healing integrals through the layers and between beads."""
    unit_time = x.layer**2 / x.ground.diffusivity
    last = (layer_time / unit_time)[:, None]
    # the node grid is cut where the next layer comes
    steps = np.diff(np.minimum(_NODES[None, :], last), axis=1) * unit_time[:, None]
    later = _MIDDLE[None, :] + (site.line / x.speed / unit_time)[:, None]
    fade = np.exp(-(cooling * unit_time)[:, None] * _MIDDLE[None, :])
    rise = (melt.temperature - substrate)[:, None] * fade

    dwell = (ASSUMED.nozzle_face * x.ground.nozzle_diameter / x.speed / unit_time)[:, None]
    fed = 1.0 + heat_from_hot_face(dwell)
    kept = _kept_sideways(x, _MIDDLE)
    free = excess_at_depth(_MIDDLE, 1.0)[None, :] * kept + excess_at_depth(later, 1.0) * (1.0 - kept)
    under = 1.0 / (1.0 + (_MIDDLE[None, :] / dwell) ** 4)  # 1 while the nozzle's face rests on the bead
    own = under * excess_under_hot_face(_MIDDLE)[None, :] + (1.0 - under) * fed * free
    side = fed * _beside(x, (site.line / x.speed / unit_time)[:, None])
    below = substrate[:, None]
    layers = _healed(x, below + rise * own, steps)
    beads = _healed(x, below + rise * np.minimum(side, 1.0), steps)
    for deeper in _REHEATS:
        layers += _healed(x, below + rise * fed * excess_at_depth(_MIDDLE, 1.0 + deeper), steps)
        beads += _healed(x, below + rise * fed * excess_at_depth(_MIDDLE, 0.5 + deeper), steps)
    return layers, beads


def _kept_sideways(x: Inputs, scaled_time: Floats) -> Floats:
    """Return the share of a bead's heat at its middle that has not gone sideways into a cold neighbour."""
    half = (x.pitch / x.layer)[:, None] / np.sqrt(4.0 * scaled_time)[None, :]
    return np.asarray(0.5 * (erf(1.5 * half) + erf(0.5 * half)))


def _beside(x: Inputs, gap: Floats) -> Floats:
    """
    Return the excess of the weld between two beads: of the bead just laid, of those before, of the next one.

    Each loses heat downwards as the mean of its layer and sideways as a slab as wide as the pitch. The bead just
    laid has a free side until the next comes after the time `gap`; those before it are taken as one of two pitches.
    """
    wide = (x.pitch / x.layer)[:, None]
    before, since = _MIDDLE[None, :] + gap, np.maximum(_MIDDLE[None, :] - gap, _U[0] * 1e-3)
    root = wide / np.sqrt(since)
    of_next = np.where(_MIDDLE[None, :] > gap, erf(root) - erf(0.5 * root), 0.0)
    own = excess_mean_of_layer(_MIDDLE)[None, :] * erf(wide / np.sqrt(_MIDDLE)[None, :])
    earlier = excess_mean_of_layer(before) * erf(wide / np.sqrt(before))
    return np.asarray(0.5 * (own + earlier + excess_mean_of_layer(since) * of_next))


def _healed(x: Inputs, temperature: Floats, steps: Floats) -> Floats:
    g = x.ground
    at_weld = log10_shift_wlf(g.weld_time_at, g.wlf_at, g.wlf_c1, g.wlf_c2)
    rate = weld_rate_wlf(
        temperature, g.weld_time * 10.0 ** float(-at_weld), g.wlf_at, g.wlf_c1, g.wlf_c2, g.stop
    )
    return np.asarray(np.sum(rate * steps, axis=1))
