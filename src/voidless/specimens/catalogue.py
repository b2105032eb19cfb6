"""
The kinds of specimen that can be printed, and which kinds serve which responses.

Small on purpose: a build of the default set is to take minutes to an hour or two, since builds are what a
campaign spends. Raster angles count from the specimen's long axis (X on the bed); `bar_across` adds 90
degrees, so that at a raster angle of 0 its beads lie across the pull.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from types import MappingProxyType

from voidless.errors import InputError
from voidless.quantities import suggest
from voidless.specimens.kind import Level, SpecimenKind
from voidless.specimens.order import SpecimenOrder
from voidless.specimens.outline import rectangle, tensile_outline
from voidless.specimens.standards import TENSILE_BARS

__all__ = ["CATALOGUE", "section_mm2", "specimen", "specimens_for"]

_FLAT = TENSILE_BARS["iso527_1ba"]
_FRAGMENTS = "Bars break with flying fragments: guard the rig and wear eye protection."
_STRAIGHT = (
    "Straight bar: ends and gauge have one section, so breaks at the grips are common and count as "
    "lower bounds."
)
_OWN = "This project's own dimensions"


def _prism(outline_of: tuple[float, float], height: float) -> tuple[Level, ...]:
    outline = rectangle(*outline_of)
    return Level(0.0, outline), Level(height, outline)


def _flat_bar() -> tuple[Level, ...]:
    outline = tensile_outline(_FLAT)
    return Level(0.0, outline), Level(_FLAT.thickness, outline)


def _upright_bar(end: float, gauge: float, grip: float, slope: float, free: float) -> tuple[Level, ...]:
    """Return the levels of a square bar: grip, slope, free gauge, slope, grip."""
    wide, narrow = rectangle(end, end), rectangle(gauge, gauge)
    heights = (
        0.0,
        grip,
        grip + slope,
        grip + slope + free,
        grip + 2 * slope + free,
        2 * (grip + slope) + free,
    )
    return tuple(
        Level(z, shape) for z, shape in zip(heights, (wide, wide, narrow, narrow, wide, wide), strict=True)
    )


_KINDS = (
    SpecimenKind(
        "bar_xy",
        "flat tensile bar, raster along the pull",
        _flat_bar(),
        "XYZ",
        f"{_FLAT.standard}. {_FLAT.source}",
        gauge_mm=(_FLAT.narrow, _FLAT.thickness),
        gauge_length_mm=_FLAT.gauge,
        responses=(
            "strength_xy_mpa",
            "modulus_gpa",
            "yield_mpa",
            "strain_break_pct",
            "max_force_n",
            "z_ratio",
        ),
        caution=_FRAGMENTS,
    ),
    SpecimenKind(
        "bar_across",
        "flat tensile bar, raster across the pull",
        _flat_bar(),
        "XYZ",
        f"{_FLAT.standard}. {_FLAT.source}",
        raster_offset_deg=90.0,
        gauge_mm=(_FLAT.narrow, _FLAT.thickness),
        gauge_length_mm=_FLAT.gauge,
        responses=("strength_across_mpa",),
        caution=_FRAGMENTS,
    ),
    SpecimenKind(
        "bar_xz",
        "straight tensile bar on edge",
        _prism((75.0, 4.0), 5.0),
        "XZY",
        f"{_OWN}; straight bars as in ASTM D3039 (from memory). {_STRAIGHT}",
        gauge_mm=(4.0, 5.0),
        gauge_length_mm=25.0,
        caution=_FRAGMENTS,
    ),
    SpecimenKind(
        "bar_z",
        "upright tensile bar, pulled through the layers",
        _upright_bar(8.0, 5.0, 10.0, 3.0, 12.0),
        "Z",
        f"{_OWN}: square gauge 5 x 5 mm between ends of 8 x 8 mm, slopes 27 degrees from the vertical",
        gauge_mm=(5.0, 5.0),
        gauge_length_mm=12.0,
        responses=("strength_z_mpa", "z_ratio", "healing"),
        caution=_FRAGMENTS,
    ),
    SpecimenKind(
        "plaque",
        "plaque for clarity, seen along Z",
        _prism((20.0, 20.0), 3.0),
        "XYZ",
        f"{_OWN}; 3 mm is the default thickness of the clarity condition",
        features={"x": 20.0, "y": 20.0, "z": 3.0},
        responses=("clarity", "haze_pct", "transmittance_pct", "yellowness"),
    ),
    SpecimenKind(
        "block",
        "block for density and size, three different sides",
        _prism((12.0, 10.0), 8.0),
        "XYZ",
        _OWN,
        features={"x": 12.0, "y": 10.0, "z": 8.0},
        responses=("void_pct", "density_g_cm3", "size_error_mm", "mass_g"),
    ),
    SpecimenKind(
        "impact_bar",
        "impact bar, flat, to be notched by machine",
        _prism((80.0, 10.0), 4.0),
        "XYZ",
        "Bar 80 x 10 x 4 mm of ISO 179-1 type 1 (public reference pages); the notch is machined, not printed",
        gauge_mm=(10.0, 4.0),
        gauge_length_mm=62.0,
        responses=("charpy_kj_m2",),
        caution="The pendulum and the fragments hurt: keep hands out of its swing and wear eye protection.",
    ),
)

CATALOGUE: Mapping[str, SpecimenKind] = MappingProxyType({kind.name: kind for kind in _KINDS})
"""Every kind that can be printed, by name."""

_COUNT = {"bar_xy": 2, "bar_across": 2, "bar_z": 2}


def specimen(kind: str) -> SpecimenKind:
    """
    Return a kind of specimen by name.

    Raises
    ------
    InputError
        The catalogue has no such kind.
    """
    found = CATALOGUE.get(kind)
    if found is None:
        known = tuple(CATALOGUE)
        expected = "one of " + ", ".join(known)
        raise InputError("specimens", f"{kind!r} is not a specimen", expected, suggest(kind, known))
    return found


def section_mm2(kind: str) -> float:
    """
    Return the nominal area of the section that carries the load.

    Raises
    ------
    InputError
        The catalogue has no such kind, or nothing loads it.
    """
    return specimen(kind).section_mm2


def specimens_for(responses: Iterable[str]) -> tuple[SpecimenOrder, ...]:
    """
    Return the specimens of one run that serve a campaign's responses.

    Parameters
    ----------
    responses : iterable of str
        Names of responses; those that need no specimen (build time) ask for nothing.

    Returns
    -------
    orders : tuple of SpecimenOrder
        In the order of the catalogue: two of each tensile bar, one of the rest. Where no response asks
        for a specimen it is one block, since a run has to print something.
    """
    asked = set(responses)
    kinds = [kind.name for kind in _KINDS if asked & set(kind.responses)]
    return tuple(SpecimenOrder(name, _COUNT.get(name, 1)) for name in kinds or ["block"])
