"""Specimens to look through: plaques, a stepped wedge and a bar that guides light."""

from __future__ import annotations

from voidless.specimens.kind import MarkPlace, SpecimenKind
from voidless.specimens.stack import Stack, box

__all__ = ["KINDS"]

_OWN = "This project's own dimensions"
_CLEAR = ("clarity", "haze_pct", "transmittance_pct", "yellowness")
_STEPS = (1.0, 2.0, 3.0, 4.0, 5.0, 6.0)
_STEP_LENGTH = 14.0


def _slab(x: float, y: float, z: float) -> Stack:
    return box((-x / 2.0, x / 2.0), (-y / 2.0, y / 2.0), (0.0, z))


def _plaque(name: str, title: str, size: tuple[float, float, float], source: str) -> SpecimenKind:
    """Return a plaque; its number stands on its front edge, or on top of it where it stands upright."""
    x, y, z = size
    lies = z < y
    place = (
        MarkPlace("front", (0.0, -y / 2.0, z / 2.0), (x - 2.0, z - 0.4))
        if lies
        else MarkPlace("top", (0.0, 0.0, z), (x - 2.0, y - 0.4))
    )
    return SpecimenKind(
        name,
        title,
        _slab(*size).levels,
        source,
        features={"x": x, "y": y, "z": z},
        responses=_CLEAR,
        mark_places=(place,),
    )


def _wedge() -> SpecimenKind:
    """Return steps of 1 to 6 mm, rising to the right, cut out of a slab."""
    length = _STEP_LENGTH * len(_STEPS)
    half, top = length / 2.0, _STEPS[-1]
    cut = tuple(
        box((number * _STEP_LENGTH - half, (number + 1) * _STEP_LENGTH - half), (-7.0, 7.0), (step, top))
        for number, step in enumerate(_STEPS[:-1])
    )
    return SpecimenKind(
        "wedge",
        "stepped wedge, clarity by thickness, seen along Z",
        _slab(length, 2.0 * 7.0, top).levels,
        f"{_OWN}: steps of 1 to 6 mm, 14 x 14 mm each",
        holes=cut,
        features={"x": length, "y": 14.0, **{f"step_{step:g}": step for step in _STEPS}},
        responses=_CLEAR,
        mark_places=(MarkPlace("front", (half - 7.0, -7.0, top / 2.0), (12.0, top - 1.0)),),
        note="Higher steps are printed over fewer millimetres of the bed: layer time falls from step to step.",
    )


KINDS: tuple[SpecimenKind, ...] = (
    _plaque(
        "plaque",
        "plaque for clarity, seen along Z",
        (20.0, 20.0, 3.0),
        f"{_OWN}; 3 mm is the default thickness of the clarity condition",
    ),
    _plaque(
        "plaque_50",
        "plaque for haze meters, seen along Z",
        (50.0, 50.0, 3.0),
        f"{_OWN}; 50 mm covers the port of common haze meters (ISO 14782, from memory)",
    ),
    _plaque(
        "plaque_xz",
        "plaque on edge for clarity, seen along Y, through the edges of the layers",
        (20.0, 3.0, 20.0),
        f"{_OWN}; 3 mm is the default thickness of the clarity condition, here seen along Y",
    ),
    _wedge(),
    SpecimenKind(
        "light_guide",
        "bar that guides light along its length",
        _slab(80.0, 6.0, 6.0).levels,
        f"{_OWN}: light enters one polished end and is measured at the other, along X",
        features={"x": 80.0, "y": 6.0, "z": 6.0},
        responses=("transmittance_pct",),
        note="Polish both ends; say how, since their surface is part of the reading.",
    ),
)
"""Specimens for optics."""
