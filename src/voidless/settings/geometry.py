"""Quantities that follow from settings alone: bead area, full-fill pitch, volumetric rate."""

from __future__ import annotations

from collections.abc import Mapping
from math import pi
from typing import Any

__all__ = ["derived"]


def derived(settings: Mapping[str, Any], machine: object = None) -> dict[str, Any]:  # noqa: ARG001
    """
    Return what follows from settings: bead area, full-fill pitch and volumetric rate.

    Parameters
    ----------
    settings : mapping
        `layer_mm`, `width_mm`, `flow_pct` and `speed_mm_s`, each a number or an array `(n,)`.
    machine : Machine
        Not used by the full-fill plan; other planners will.

    Returns
    -------
    derived : dict
        `bead_area_mm2` [mm2], `pitch_mm` [mm] and `rate_mm3_s` [mm3/s], of the shape of the settings.

    Notes
    -----
    A bead is a stadium of thickness h and width w: A = h (w - h) + pi h^2 / 4 (geometry). Neighbours at
    the pitch A / h fill the layer exactly at 100 % flow; the rate is flow x h x pitch x speed.

    Examples
    --------
    >>> made = derived({"layer_mm": 0.2, "width_mm": 0.45, "flow_pct": 100.0, "speed_mm_s": 40.0})
    >>> round(made["bead_area_mm2"], 7), round(made["pitch_mm"], 7)
    (0.0814159, 0.4070796)
    """
    layer, width = settings["layer_mm"], settings["width_mm"]
    pitch = width - layer * (1.0 - pi / 4.0)
    return {
        "bead_area_mm2": layer * pitch,
        "pitch_mm": pitch,
        "rate_mm3_s": settings["flow_pct"] / 100.0 * layer * pitch * settings["speed_mm_s"],
    }
