"""What the twin's conditions may be when a person states them."""

from __future__ import annotations

from voidless.errors import InputError

__all__ = ["CONDITIONS", "check_condition"]

_AREA, _LENGTH, _TIME = (1.0, 1e5, "mm2"), (0.1, 1000.0, "mm"), (0.0, 1e5, "s")
CONDITIONS: dict[str, tuple[float, float, str]] = {
    "thickness_mm": (0.1, 100.0, "mm"),
    "gap_mm": (0.0, 10_000.0, "mm"),
    "frequency_lp_mm": (0.0, 100.0, "lp/mm"),
    "surface": (0.0, 1.0, "(1 as printed, 0 wetted)"),
    "exposure_h": (0.0, 1e5, "h"),
    "humidity_pct": (0.0, 100.0, "%"),
    "room_c": (0.0, 60.0, "degC"),
    "feature_mm": _LENGTH,
    "upright_area_mm2": _AREA,
    "upright_slenderness_1_mm": (0.001, 4.0, "1/mm"),
    "upright_height_mm": (0.1, 300.0, "mm"),
    "upright_line_mm": _LENGTH,
    "upright_layer_time_s": _TIME,
    "flat_area_mm2": _AREA,
    "flat_slenderness_1_mm": (0.001, 4.0, "1/mm"),
    "flat_height_mm": (0.1, 300.0, "mm"),
    "flat_line_mm": _LENGTH,
    "flat_layer_time_s": _TIME,
    "section_width_mm": _LENGTH,
    "bridge_mm": _LENGTH,
}
"""Lowest and highest of each, wide of what a bench does: they catch a wrong unit, not a bold choice. `view` and
`charpy_upright` are choices that the twin itself checks."""


def check_condition(name: str, value: float, where: str) -> None:
    """
    Refuse a condition outside of its range.

    Raises
    ------
    InputError
        The value is no number or outside of `CONDITIONS`.
    """
    low, high, unit = CONDITIONS.get(name, (float("-inf"), float("inf"), ""))
    if not low <= value <= high:
        raise InputError(
            where, f"{name} = {value:g}", f"{low:g} to {high:g} {unit}".strip(), "Correct the value."
        )
