"""Tensile bars of the standards, flat, on edge and upright, and straight bars."""

from __future__ import annotations

from voidless.specimens.kind import MarkPlace, SpecimenKind
from voidless.specimens.outline import flank, rectangle, tensile_outline
from voidless.specimens.stack import Stack, box, prism, tower
from voidless.specimens.standards import TENSILE_BARS, TensileBar

__all__ = ["FRAGMENTS", "KINDS"]

FRAGMENTS = "Bars break with flying fragments: guard the rig and wear eye protection."
_STRAIGHT = (
    "Straight bar: ends and gauge have one section, so breaks at the grips are common and count as "
    "lower bounds."
)
_IN_PLANE = ("strength_xy_mpa", "modulus_gpa", "yield_mpa", "strain_break_pct", "max_force_n", "z_ratio")
_THROUGH = ("strength_z_mpa", "z_ratio", "healing")
_SPANS = (
    "On edge the narrow part spans free air between the ends: no support is planned, so its lower face sags; "
    "machine it, or order a straight bar (bar_xz)."
)
_SLENDER = "Slender and upright: may sway or fall; layer times are short. bar_z is meant for this direction."


def _end_place(bar: TensileBar, top: float) -> MarkPlace:
    """Return the upper face of the left end, outside of the fillet."""
    start, end = flank(bar)[-1][0], bar.length / 2.0
    return MarkPlace("top", (-(start + end) / 2.0, 0.0, top), (end - start - 1.0, bar.wide - 1.0))


def _flat(name: str, bar: TensileBar, offset: float = 0.0) -> SpecimenKind:
    across = offset == 90.0
    return SpecimenKind(
        name,
        "flat tensile bar, raster across the pull" if across else "flat tensile bar, raster along the pull",
        prism(tensile_outline(bar), 0.0, bar.thickness).levels,
        f"{bar.standard}. {bar.source}",
        raster_offset_deg=offset,
        gauge_mm=(bar.narrow, bar.thickness),
        gauge_length_mm=bar.gauge,
        responses=("strength_across_mpa",) if across else _IN_PLANE,
        caution=FRAGMENTS,
        mark_places=(_end_place(bar, bar.thickness),),
    )


def _on_edge(name: str, bar: TensileBar) -> SpecimenKind:
    """Return a bar whose width stands up: a box without the room below and above its narrow part."""
    side, depth = flank(bar), bar.thickness
    below = [(bar.wide / 2.0 - y, rectangle(2.0 * x, depth)) for x, y in reversed(side)]
    above = [(bar.wide / 2.0 + y, rectangle(2.0 * x, depth)) for x, y in side]
    holes = tuple(tower([z for z, _ in part], [outline for _, outline in part]) for part in (below, above))
    start, end = side[-1][0], bar.length / 2.0
    place = MarkPlace(
        "front", (-(start + end) / 2.0, -depth / 2.0, bar.wide / 2.0), (end - start - 1.0, bar.wide - 1.0)
    )
    return SpecimenKind(
        name,
        "tensile bar on edge",
        prism(rectangle(bar.length, depth), 0.0, bar.wide).levels,
        f"{bar.standard}. {bar.source}",
        holes=holes,
        gauge_mm=(depth, bar.narrow),
        gauge_length_mm=bar.gauge,
        responses=_IN_PLANE,
        caution=FRAGMENTS,
        note=_SPANS,
        mark_places=(place,),
    )


def _upright(name: str, bar: TensileBar) -> SpecimenKind:
    """Return a bar that stands on its end."""
    half = [(0.0, bar.wide), *((bar.length / 2.0 - x, 2.0 * y) for x, y in reversed(flank(bar)))]
    if bar.outer_radius == 0.0:
        half[1] = (half[1][0], bar.wide)  # the fillet meets the end at an angle; its last point is the end's
    mirrored = [(bar.length - z, width) for z, width in reversed(half)]
    outlines = [rectangle(width, bar.thickness) for _, width in half]
    body: Stack = tower([z for z, _ in half + mirrored], outlines + outlines[::-1])
    start, end = flank(bar)[-1][0], bar.length / 2.0
    place = MarkPlace(
        "front", (0.0, -bar.thickness / 2.0, (end - start) / 2.0), (bar.wide - 1.0, end - start - 1.0)
    )
    return SpecimenKind(
        name,
        "upright tensile bar, pulled through the layers",
        body.levels,
        f"{bar.standard}. {bar.source}",
        gauge_mm=(bar.narrow, bar.thickness),
        gauge_length_mm=bar.gauge,
        responses=_THROUGH,
        caution=FRAGMENTS,
        note=_SLENDER,
        mark_places=(place,),
    )


def _straight() -> SpecimenKind:
    return SpecimenKind(
        "bar_xz",
        "straight tensile bar on edge",
        box((-37.5, 37.5), (-2.0, 2.0), (0.0, 5.0)).levels,
        f"This project's own dimensions; straight bars as in ASTM D3039 (from memory). {_STRAIGHT}",
        gauge_mm=(4.0, 5.0),
        gauge_length_mm=25.0,
        responses=("strength_xy_mpa",),
        caution=FRAGMENTS,
        mark_places=(MarkPlace("top", (-30.0, 0.0, 5.0), (13.0, 3.0)),),
    )


_SMALL = TENSILE_BARS["iso527_1ba"]

KINDS: tuple[SpecimenKind, ...] = (
    _flat("bar_xy", _SMALL),
    _flat("bar_across", _SMALL, 90.0),
    _straight(),
    *(
        make(f"{name}_{letters}", bar)
        for name, bar in TENSILE_BARS.items()
        for letters, make in (("xy", _flat), ("xz", _on_edge), ("zx", _upright))
    ),
)
"""Tensile bars; names of the standards' bars end in the letters of their orientation."""
