"""Blocks for density and size, and a piece with overhangs, holes and a bridge for what settings do to shape."""

from __future__ import annotations

import math

import numpy as np

from voidless.specimens.kind import MarkPlace, SpecimenKind
from voidless.specimens.outline import circle, rectangle
from voidless.specimens.stack import Stack, box, prism, tower

__all__ = ["KINDS"]

_OWN = "This project's own dimensions"
_SOLID = ("void_pct", "density_g_cm3", "size_error_mm", "mass_g")
_BASE = 3.0
_DEPTH = 14.0


def _block(name: str, title: str, x: float, y: float, z: float) -> SpecimenKind:
    return SpecimenKind(
        name,
        title,
        box((-x / 2.0, x / 2.0), (-y / 2.0, y / 2.0), (0.0, z)).levels,
        _OWN,
        features={"x": x, "y": y, "z": z},
        responses=_SOLID,
    )


def _lying_hole(x: float, z: float, diameter: float) -> Stack:
    """Return a hole along Y, from front to back, as widths by height; flat at its top and bottom."""
    corners = circle(diameter)
    upper = sorted({round(float(v), 12): abs(float(u)) for u, v in corners}.items())
    half = _DEPTH / 2.0
    outlines = [np.add(rectangle(2.0 * reach, 2.0 * half), (x, 0.0)) for _, reach in upper]
    return tower([z + v for v, _ in upper], outlines)


def _overhang(x: float, degrees: float, height: float) -> Stack:
    """Return a wall of 3 mm whose right side leans out by an angle from the vertical."""
    lean = height * math.tan(math.radians(degrees))
    foot = np.add(rectangle(3.0, _DEPTH), (x, 0.0))
    head = np.add(rectangle(3.0 + lean, _DEPTH), (x + lean / 2.0, 0.0))
    return tower((_BASE, _BASE + height), (foot, head))


def _shape_piece() -> SpecimenKind:
    """Return a base with standing holes, three leaning walls, a block with a lying hole, and a bridge."""
    length = 90.0
    half = length / 2.0
    standing = {3.0: -half + 6.0, 5.0: -half + 13.0, 8.0: -half + 23.0}
    leaning = {30.0: -12.0, 45.0: -4.0, 60.0: 6.0}
    deck = box((27.0, 45.0), (-_DEPTH / 2.0, _DEPTH / 2.0), (_BASE + 6.0, _BASE + 8.0))
    posts = [
        box(x, (-_DEPTH / 2.0, _DEPTH / 2.0), (_BASE, _BASE + 6.0)) for x in ((27.0, 31.0), (41.0, 45.0))
    ]
    block = box((17.0, 26.0), (-_DEPTH / 2.0, _DEPTH / 2.0), (_BASE, _BASE + 9.0))
    return SpecimenKind(
        "shape_piece",
        "overhangs, holes and a bridge, for what the settings do to shape",
        box((-half, half), (-_DEPTH / 2.0, _DEPTH / 2.0), (0.0, _BASE)).levels,
        f"{_OWN}: walls leaning by 30, 45 and 60 degrees from the vertical, standing holes of 3, 5 and 8 mm, a "
        "lying hole of 5 mm, a bridge over 10 mm",
        bodies=(*(_overhang(x, angle, 5.0) for angle, x in leaning.items()), block, *posts, deck),
        holes=(
            *(prism(np.add(circle(size), (x, 0.0)), 0.0, _BASE) for size, x in standing.items()),
            _lying_hole(21.5, _BASE + 4.5, 5.0),
        ),
        features={
            "x": length,
            "y": _DEPTH,
            "z": _BASE + 9.0,
            **{f"hole_z_{size:g}": size for size in standing},
            "hole_y_5": 5.0,
            "bridge": 10.0,
            **{f"overhang_{angle:g}": 3.0 + 5.0 * math.tan(math.radians(angle)) for angle in leaning},
        },
        responses=("size_error_mm",),
        note="No support is planned: overhangs and bridge are meant to show what the settings cannot do.",
        mark_places=(MarkPlace("front", (-20.0, -_DEPTH / 2.0, _BASE / 2.0), (30.0, _BASE - 0.4)),),
    )


KINDS: tuple[SpecimenKind, ...] = (
    _block("block", "block for density and size, three different sides", 12.0, 10.0, 8.0),
    _block("density_cube", "cube for density", 12.0, 12.0, 12.0),
    _shape_piece(),
)
"""Specimens for density, size and shape."""
