"""Grey of voids over the grey of the solid, from their own cores."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt

import numpy as np
from numpy.typing import NDArray

from voidless.errors import InputError
from voidless.measure.images.levels import robust_spread

__all__ = ["BAND", "CERTAIN", "VoidLevel", "own_level"]

Floats = NDArray[np.float64]
Mask = NDArray[np.bool_]

CERTAIN = 6.0
"""Standard deviations of noise below the solid at which a pixel is surely not solid. [1]"""
BAND = 4
"""Width of the seam about each edge whose greys are weighed instead of counted. [px]"""
_CORE_PIXELS = 20
_SHALLOW, _DEEP = 2.0, 5.0
"""Depth below which no void shows its own grey, and depth beyond which blur no longer matters. [px]"""
_ALIKE = 0.03
"""Least scatter between the greys of voids, as share of their contrast. [1] Assumed, no source."""
_OWN = 0.1
"""Share of the variance of the voids' mean grey that stays when all of them gave the level. [1]

Chosen on drawn sections."""
_UNIFORM = 0.15
"""Scatter of dark pixels, as share of their contrast, up to which they show one void level of their own. [1]"""


@dataclass(frozen=True)
class VoidLevel:
    """Grey of a void over the grey of the solid beside it, its standard uncertainty, and where it comes from. [1]"""

    value: float
    uncertainty: float
    source: str


def own_level(flat: Floats, dark: Mask, inside: Mask, where: str) -> VoidLevel:
    """
    Return the grey of voids from their own cores, or from dark pixels that are all alike.

    Parameters
    ----------
    flat : (h, w) float array
        Grey over light: solid is 1. [1]
    dark : (h, w) bool array
        Pixels that may be voids.
    inside : (h, w) bool array
        Area of interest.
    where : str
        Name of the picture, for errors.

    Raises
    ------
    InputError
        No void shows its own grey.
    """
    from scipy import ndimage

    centre, noise = float(np.median(flat[inside & ~dark])), robust_spread(flat[inside & ~dark])
    sharp = dark & (flat < centre - CERTAIN * noise)
    depth = ndimage.distance_transform_edt(sharp)
    if float(depth.max()) > _SHALLOW:
        return _deep_level(flat, sharp, depth)
    if sharp.any():
        value, spread = float(np.median(flat[sharp])), robust_spread(flat[sharp])
        if spread <= _UNIFORM * (1.0 - value):
            return VoidLevel(value, spread / sqrt(float(sharp.sum())), "dark pixels, all alike")
    depth = ndimage.distance_transform_edt(dark)
    if float(depth.max()) > _SHALLOW:
        return _deep_level(flat, dark, depth)
    raise InputError(
        where,
        "voids too small to show their own grey",
        "void_grey of a reference void, such as a hole drilled into the mount",
        "State it, or take the picture at a larger scale.",
    )


def _deep_level(flat: Floats, dark: Mask, depth: Floats) -> VoidLevel:
    """
    Return the grey deep inside voids, where blur brings little of the solid; doubt by how far it still falls.

    Each void deep enough speaks once, so that one dark void does not speak for all.
    """
    from scipy import ndimage

    ranked = np.sort(depth[dark])[::-1]
    enough = min(float(ranked[min(_CORE_PIXELS, len(ranked)) - 1]), _DEEP)
    labels, count = ndimage.label(dark, structure=np.ones((3, 3)))
    deepest = np.zeros(count + 1)
    np.maximum.at(deepest, labels[dark], depth[dark])
    own = np.where(deepest >= enough, np.maximum(deepest - 1.0, enough), np.inf)[labels]
    inner, outer = dark & (depth >= own), dark & (depth >= own - 1.0) & (depth < own)
    who = np.unique(labels[inner])
    greys = np.asarray(ndimage.mean(flat, np.where(inner, labels, 0), who))
    # the grey of a void matters within the seam about its edge, so a void counts by its pixels there
    edges = np.bincount(labels[depth <= BAND], minlength=count + 1).astype(float)
    edges[0] = 0.0
    weight = edges[who] / edges[who].sum()
    value = float(weight @ greys)
    scatter = max(float(greys.std(ddof=1)) if len(who) > 1 else 0.0, _ALIKE * (1.0 - value))
    # voids that gave the level are themselves what is measured: their scatter cancels, but for a part
    others = 1.0 - float(edges[who].sum() / edges[1:].sum())
    scatter *= sqrt(float(weight @ weight) * min(others + _OWN, 1.0))
    # under a blur the grey still falls deeper in by up to a third of its last step: half of a half is taken
    falling = 0.25 * max(float(flat[outer].mean() - flat[inner].mean()), 0.0) if outer.any() else 0.0
    return VoidLevel(value - falling, float(np.hypot(scatter, falling)), "depths of the larger voids")
