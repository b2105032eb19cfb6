"""Specimens for tightness: a cup with a flange for a clamped lid, its lid, and walls that take its place."""

from __future__ import annotations

from voidless.specimens.kind import MarkPlace, SpecimenKind
from voidless.specimens.outline import circle
from voidless.specimens.stack import Stack, box, prism, tower

__all__ = ["KINDS", "WATER_FIRST"]

WATER_FIRST = (
    "Proof-test with water first, full of water without air, behind a shield, to 1.5 times the pressure: gas "
    "stores hundreds of times the energy of water and an unproven printed vessel bursts. Pressure work needs "
    "qualified people and the local code."
)

BORE, FLANGE = 20.0, 34.0
"""Inner diameter of the cup and diameter of everything that the clamp rings hold. [mm]"""
_WALL, _FLOOR, _HEIGHT, _LIP = 2.4, 2.4, 25.0, 4.0
_PILOT, _GASKET = 8.8, 30.0
_OWN = "This project's own dimensions"
_CLAMP = (
    f"Between clamp rings of {FLANGE:g} mm; a flat gasket of {BORE:g} x {_GASKET:g} mm seals on the face. Rings and "
    "lid of metal; screws stay outside of the printed part."
)


def _cup() -> SpecimenKind:
    """Return a round cup; below its flange a slope of 45 degrees needs no support."""
    outer = circle(BORE + 2.0 * _WALL)
    wide = outer * (FLANGE / (BORE + 2.0 * _WALL))
    reach = (FLANGE - BORE) / 2.0 - _WALL
    body = tower((0.0, _HEIGHT - _LIP - reach, _HEIGHT - _LIP, _HEIGHT), (outer, outer, wide, wide))
    return SpecimenKind(
        "cup",
        "cup for pressure, flange for a clamped lid",
        body.levels,
        f"{_OWN}: bore {BORE:g} mm, walls and floor {_WALL:g} mm. {_CLAMP}",
        holes=(prism(circle(BORE), _FLOOR, _HEIGHT),),
        features={"bore": BORE, "flange": FLANGE, "z": _HEIGHT},
        responses=("leak_rate_pa_m3_s",),
        caution=WATER_FIRST,
        note="Seal on the flange's upper face; sand it flat if a gasket does not hold, and say so.",
    )


def _lid() -> SpecimenKind:
    return SpecimenKind(
        "cup_lid",
        "lid of the cup, to be tapped for a pressure fitting",
        prism(circle(FLANGE), 0.0, 10.0).levels,
        f"{_OWN}: pilot hole {_PILOT:g} mm for a G 1/8 thread of ISO 228-1 (from memory). {_CLAMP}",
        holes=(prism(circle(_PILOT), 0.0, 10.0),),
        features={"flange": FLANGE, "pilot": _PILOT, "z": 10.0},
        caution=WATER_FIRST,
        note="Tap by hand, and try the fitting with water; a metal lid leaks less and is to be preferred.",
    )


def _wall(name: str, title: str, body: Stack, thickness: float, features: dict[str, float]) -> SpecimenKind:
    return SpecimenKind(
        name,
        title,
        body.levels,
        f"{_OWN}: {thickness:g} mm thick. {_CLAMP}",
        features=features,
        responses=("leak_rate_pa_m3_s",),
        caution=WATER_FIRST,
        note=f"Gas or water stands against a free disc of {BORE:g} mm.",
        mark_places=()
        if name.endswith("xy")
        else (MarkPlace("top", (0.0, 0.0, FLANGE), (FLANGE - 6.0, 1.6)),),
    )


_THIN = 2.0

KINDS: tuple[SpecimenKind, ...] = (
    _cup(),
    _lid(),
    _wall(
        "wall_xy",
        "flat wall for tightness through the layers",
        prism(circle(FLANGE), 0.0, _THIN),
        _THIN,
        {"flange": FLANGE, "z": _THIN},
    ),
    _wall(
        "wall_xz",
        "wall on edge for tightness across the layers' edges",
        box((-FLANGE / 2.0, FLANGE / 2.0), (-_THIN / 2.0, _THIN / 2.0), (0.0, FLANGE)),
        _THIN,
        {"x": FLANGE, "y": _THIN, "z": FLANGE},
    ),
)
"""Specimens for tightness."""
