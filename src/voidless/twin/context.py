"""What is printed and how it is measured: the sites whose welds are judged, the plate, the exposure."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from voidless.errors import InputError
from voidless.quantities import suggest

__all__ = ["DEFAULT_CONTEXT", "Site", "context_of", "sites_of"]

# `view` is 0 along Z, 1 along the beads, 2 across them (the sides are then the faces).
# `charpy_upright` is 1 for impact through the layers, 0 for flat specimens; `bridge_mm` a gap that is spanned.
# [shop units]. Defaults: a 3 mm plate seen along Z, contrast at 1 lp/mm and 10 mm as printed (exchange
# contract); upright: two bars of 5 x 5 mm alone in their layers, judged at mid height (the specimen
# catalogue's bar_z); flat: two bars of 5 x 2 mm section, a plaque and a block side by side. `surface` is 1
# as printed, 0 with both faces wetted between windows. A layer time of 0 means: from area, pitch and speed.
DEFAULT_CONTEXT: dict[str, float] = {
    "thickness_mm": 3.0,
    "gap_mm": 10.0,
    "frequency_lp_mm": 1.0,
    "surface": 1.0,
    "view": 0.0,
    "exposure_h": 0.0,
    "humidity_pct": 50.0,
    "room_c": 23.0,
    "feature_mm": 20.0,
    "upright_area_mm2": 50.0,
    "upright_slenderness_1_mm": 0.8,
    "upright_height_mm": 19.0,
    "upright_line_mm": 5.0,
    "upright_layer_time_s": 0.0,
    "flat_area_mm2": 1500.0,
    "flat_slenderness_1_mm": 0.43,
    "flat_height_mm": 1.5,
    "flat_line_mm": 40.0,
    "flat_layer_time_s": 0.0,
    "section_width_mm": 5.0,
    "charpy_upright": 1.0,
    "bridge_mm": 10.0,
}
_MAY_BE_ZERO = frozenset(
    {
        "surface",
        "view",
        "charpy_upright",
        "upright_layer_time_s",
        "flat_layer_time_s",
        "exposure_h",
        "humidity_pct",
        "gap_mm",
        "frequency_lp_mm",
        "room_c",
    }
)
_CHOICES = {"view": (0.0, 1.0, 2.0), "charpy_upright": (0.0, 1.0)}


@dataclass(frozen=True)
class Site:
    """
    A place whose welds are judged.

    Attributes
    ----------
    area : float
        Area of everything printed in the same layer: with the speed it gives the layer time. [m²]
    slenderness : float
        Perimeter over area of the section. [1/m]
    height : float
        Height above the bed. [m]
    line : float
        Length of a raster line. [m]
    layer_time : float
        Layer time where it is known, 0 where it follows from `area`. [s]
    weld : str
        Which weld is judged: `layers` or `beads`.
    """

    area: float
    slenderness: float
    height: float
    line: float
    layer_time: float
    weld: str


def context_of(given: Mapping[str, float]) -> dict[str, float]:
    """
    Return the context with what is not given filled in. [shop units]

    Raises
    ------
    InputError
        A name is not known, or a value is negative or not a number.
    """
    filled = dict(DEFAULT_CONTEXT)
    for name, value in given.items():
        if name not in filled:
            known = tuple(DEFAULT_CONTEXT)
            raise InputError(
                "twin", f"{name!r} is no context", "one of " + ", ".join(known), suggest(name, known)
            )
        enough = value >= 0.0 if name in _MAY_BE_ZERO else value > 0.0
        if not enough:
            raise InputError("twin", f"{name} = {value:g}", "a positive number", f"Correct {name}.")
        if name in _CHOICES and value not in _CHOICES[name]:
            choices = " or ".join(f"{choice:g}" for choice in _CHOICES[name])
            raise InputError("twin", f"{name} = {value:g}", choices, f"Correct {name}.")
        filled[name] = float(value)
    return filled


def sites_of(context: Mapping[str, float]) -> tuple[Site, Site]:
    """Return the upright and the flat site of a filled context."""
    upright, flat = (
        Site(
            area=1e-6 * context[f"{name}_area_mm2"],
            slenderness=1e3 * context[f"{name}_slenderness_1_mm"],
            height=1e-3 * context[f"{name}_height_mm"],
            line=1e-3 * context[f"{name}_line_mm"],
            layer_time=context[f"{name}_layer_time_s"],
            weld=weld,
        )
        for name, weld in (("upright", "layers"), ("flat", "beads"))
    )
    return upright, flat
