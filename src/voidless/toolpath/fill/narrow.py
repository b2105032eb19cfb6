"""
Beads within their limits of width: where little is left to fill, part of the way is passed without laying anything.

A nozzle that turns a corner, or closes a loop, comes where its bead has room for less than the narrowest bead. There
the bead is laid as wide as allowed on a shorter way, about the middle of what it has to fill.
"""

from __future__ import annotations

import numpy as np

from voidless.toolpath.fill.types import Floats, Walk
from voidless.toolpath.moves import Kind

__all__ = ["on_parts"]

_SAME = 1e-9


def on_parts(walk: Walk, laid: Floats) -> Walk:
    """
    Return a walk whose beads are laid on part of their way only, the rest being passed without laying.

    Parameters
    ----------
    walk : Walk
        Pieces with their areas; those without area are passed.
    laid : (n, 2) float array
        On which part of its way each is laid, from 0 to 1. [1]

    Returns
    -------
    walk : Walk
        The same way and areas, with travels on it.
    """
    empty = walk.area_mm2 <= 0.0
    before, after = walk.laid & ~empty & (laid[:, 0] > _SAME), walk.laid & ~empty & (laid[:, 1] < 1.0 - _SAME)
    number = 1 + before.astype(np.int64) + after
    source = np.repeat(np.arange(len(number)), number)
    place = np.arange(len(source)) - np.repeat(np.cumsum(number) - number, number)
    lays = (place == before[source]) & ~empty[source]
    share = np.where(place < before[source], laid[source, 0], np.where(lays, laid[source, 1], 1.0))
    share[empty[source]] = 1.0
    points = walk.starts[source] + share[:, None] * (walk.points - walk.starts)[source]
    whole = share == 1.0
    points[whole] = walk.points[source[whole]]
    return Walk(
        np.where(lays, walk.kind[source], int(Kind.TRAVEL)),
        points,
        np.where(lays, walk.radius_mm[source], 0.0),
        np.where(lays, walk.area_mm2[source], 0.0),
    )
