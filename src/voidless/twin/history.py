"""Heat history of the two kinds of weld, in closed form: through the layers and between beads of a layer."""

from __future__ import annotations

from collections.abc import Callable, Mapping

import numpy as np
from numpy.typing import NDArray
from scipy.special import erf

from voidless.physics.heat.layer import (
    excess_at_depth,
    excess_mean_of_layer,
    excess_under_hot_face,
    heat_from_hot_face,
)
from voidless.physics.weld.shift import log10_shift_wlf, weld_rate_wlf
from voidless.twin.context import Site
from voidless.twin.ground import ASSUMED
from voidless.twin.state import Inputs

__all__ = ["WELDS"]

Floats = NDArray[np.float64]

# Scaled time α t/h² of the histories: even in its logarithm, from where nothing has happened yet to where the
# thinnest layer (0.05 mm) has waited eight minutes; later warmth is left out.
_U = np.geomspace(0.02, 2e4, 40)
_NODES = np.concatenate([[0.0], _U])
_MIDDLE = np.sqrt(np.concatenate([[_U[0] / 2.0], _U[:-1]]) * _U)
_REHEATS = (1.0, 2.0, 3.0)


def _scales(
    x: Inputs, melt: Floats, substrate: Floats, layer_time: Floats, cooling: Floats
) -> tuple[Floats, Floats, Floats, Floats]:
    """Return unit of time, steps of the node grid, excess temperature as it fades, and the nozzle's dwell."""
    unit_time = x.layer**2 / x.ground.diffusivity
    last = (layer_time / unit_time)[:, None]
    # the node grid is cut where the next layer comes
    steps = np.diff(np.minimum(_NODES[None, :], last), axis=1) * unit_time[:, None]
    fade = np.exp(-(cooling * unit_time)[:, None] * _MIDDLE[None, :])
    dwell = (ASSUMED.nozzle_face * x.ground.nozzle_diameter / x.speed / unit_time)[:, None]
    return unit_time[:, None], steps, (melt - substrate)[:, None] * fade, dwell


def _through(
    x: Inputs, melt: Floats, substrate: Floats, layer_time: Floats, cooling: Floats, site: Site
) -> Floats:
    """Return the healing integral through the layers, `(n,)`."""
    unit_time, steps, rise, dwell = _scales(x, melt, substrate, layer_time, cooling)
    later = _MIDDLE[None, :] + (site.line / x.speed)[:, None] / unit_time
    fed = 1.0 + heat_from_hot_face(dwell)
    kept = _kept_sideways(x, _MIDDLE)
    free = excess_at_depth(_MIDDLE, 1.0)[None, :] * kept + excess_at_depth(later, 1.0) * (1.0 - kept)
    under = 1.0 / (1.0 + (_MIDDLE[None, :] / dwell) ** 4)  # 1 while the nozzle's face rests on the bead
    own = under * excess_under_hot_face(_MIDDLE)[None, :] + (1.0 - under) * fed * free
    return _with_later_layers(x, substrate[:, None], rise, own, fed, 1.0, steps)


def _between(
    x: Inputs, melt: Floats, substrate: Floats, layer_time: Floats, cooling: Floats, site: Site
) -> Floats:
    """Return the healing integral between beads, `(n,)`."""
    unit_time, steps, rise, dwell = _scales(x, melt, substrate, layer_time, cooling)
    fed = 1.0 + heat_from_hot_face(dwell)
    side = fed * _beside(x, (site.line / x.speed)[:, None] / unit_time)
    return _with_later_layers(x, substrate[:, None], rise, np.minimum(side, 1.0), fed, 0.5, steps)


def _with_later_layers(
    x: Inputs, below: Floats, rise: Floats, own: Floats, fed: Floats, depth: float, steps: Floats
) -> Floats:
    total = _healed(x, below + rise * own, steps)
    for deeper in _REHEATS:
        total = total + _healed(x, below + rise * fed * excess_at_depth(_MIDDLE, depth + deeper), steps)
    return total


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


Weld = Callable[[Inputs, Floats, Floats, Floats, Floats, Site], Floats]

WELDS: Mapping[str, Weld] = {"layers": _through, "beads": _between}
"""
By name, a function of inputs, melt temperature [K], substrate [K], layer time [s], cooling rate [1/s] and site to the
healing integral [1].
"""
