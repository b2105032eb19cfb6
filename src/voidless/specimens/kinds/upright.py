"""Upright bars for the strength through the layers, square and round, and a wall of single beads."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from voidless.specimens.kind import MarkPlace, SpecimenKind
from voidless.specimens.kinds.tensile import FRAGMENTS
from voidless.specimens.outline import circle, rectangle
from voidless.specimens.stack import Stack, box, tower

__all__ = ["KINDS"]

_OWN = "This project's own dimensions"
_THROUGH = ("strength_z_mpa", "z_ratio", "healing")


def _square(side: float) -> NDArray[np.float64]:
    return rectangle(side, side)


def _grown(small: NDArray[np.float64], factor: float) -> NDArray[np.float64]:
    return np.asarray(small * factor)


def _waisted(
    wide: NDArray[np.float64], narrow: NDArray[np.float64], grip: float, slope: float, free: float
) -> Stack:
    """Return a bar: grip, slope, free gauge, slope, grip."""
    heights = (
        0.0,
        grip,
        grip + slope,
        grip + slope + free,
        grip + 2 * slope + free,
        2 * (grip + slope) + free,
    )
    return tower(heights, (wide, wide, narrow, narrow, wide, wide))


def _round(gauge: float, end: float) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return end and gauge of a round bar with equal numbers of corners, both of a circle's exact area."""
    wide = circle(end)
    return wide, _grown(wide, gauge / end)


_ROUND_END, _ROUND = _round(6.0, 10.0)
_SHAPES: tuple[tuple[str, str, Stack, tuple[float, ...], float, str, tuple[MarkPlace, ...]], ...] = (
    (
        "bar_z",
        "upright tensile bar, pulled through the layers",
        _waisted(_square(8.0), _square(5.0), 10.0, 3.0, 12.0),
        (5.0, 5.0),
        12.0,
        f"{_OWN}: square gauge 5 x 5 mm between ends of 8 x 8 mm, slopes 27 degrees from the vertical",
        (MarkPlace("top", (0.0, 0.0, 38.0), (7.0, 7.0)),),
    ),
    (
        "bar_z_round",
        "round upright tensile bar, pulled through the layers",
        _waisted(_ROUND_END, _ROUND, 12.0, 4.0, 14.0),
        (6.0,),
        14.0,
        f"{_OWN}: round gauge of 6 mm between ends of 10 mm, slopes 27 degrees from the vertical",
        (MarkPlace("top", (0.0, 0.0, 46.0), (6.6, 6.6)),),
    ),
    (
        "bar_z_straight",
        "straight square upright bar, pulled through the layers",
        box((-4.0, 4.0), (-4.0, 4.0), (0.0, 40.0)),
        (8.0, 8.0),
        16.0,
        f"{_OWN}: straight square bar of 8 mm, so every layer is alike; breaks at the grips are lower bounds",
        (MarkPlace("top", (0.0, 0.0, 40.0), (7.0, 7.0)),),
    ),
)

_WALL = 0.5
_SIDE = 40.0


def _bead_wall() -> SpecimenKind:
    """Return four walls of one bead each, closed, so that the bead of a layer never ends in a corner."""
    inner = _SIDE / 2.0 - _WALL
    return SpecimenKind(
        "bead_wall",
        "square of walls one bead thick, for the weld between layers",
        box((-_SIDE / 2.0, _SIDE / 2.0), (-_SIDE / 2.0, _SIDE / 2.0), (0.0, 20.0)).levels,
        f"{_OWN}: strips are cut from the four walls and pulled through the layers or torn",
        holes=(box((-inner, inner), (-inner, inner), (0.0, 20.0)),),
        responses=("strength_z_mpa", "healing"),
        caution=FRAGMENTS,
        note="The wall is as wide as the room that one bead fills at the build's settings; measure it.",
        wall_mm=_WALL,
    )


KINDS: tuple[SpecimenKind, ...] = (
    *(
        SpecimenKind(
            name,
            title,
            body.levels,
            source,
            gauge_mm=gauge,
            gauge_length_mm=length,
            responses=_THROUGH,
            caution=FRAGMENTS,
            mark_places=places,
        )
        for name, title, body, gauge, length, source, places in _SHAPES
    ),
    _bead_wall(),
)
"""Bars that are pulled through the layers."""
