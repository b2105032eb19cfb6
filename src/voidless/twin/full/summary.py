"""Weld fields per layer and for a whole part."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from voidless.twin.full.fields import WeldFields

__all__ = ["summarise_welds"]

Floats = NDArray[np.float64]

_LOW = 0.05
_KINDS = ("through", "beside")


def summarise_welds(fields: WeldFields) -> dict[str, Any]:
    """
    Return what a part's welds are like in plain numbers.

    Parameters
    ----------
    fields : WeldFields
        Bead by bead.

    Returns
    -------
    summary : dict
        `through` and `beside`: mean `healing`, mean `strength_share` and the share that 95 % of the area exceeds,
        `low_share` (None where there is no such weld); `weakest_layers`: up to five layers (from 0) with the least
        share through the layers; `per_layer`: `height_mm` and means by layer; `notes`. Means weigh by area.
    """
    found: dict[str, Any] = {kind: _whole(fields, kind) for kind in _KINDS}
    layers = fields.height_mm.size
    columns = {kind: _by_layer(fields, getattr(fields, f"{kind}_share"), layers) for kind in _KINDS}
    through = columns["through"]
    known = np.flatnonzero(np.isfinite(through))
    weakest = known[np.argsort(through[known], kind="stable")][:5]
    return found | {
        "weakest_layers": [
            {
                "layer": int(k),
                "height_mm": float(fields.height_mm[k]),
                "strength_share": float(through[k]),
            }
            for k in weakest
        ],
        "per_layer": {"height_mm": fields.height_mm.tolist()}
        | {f"{kind}_share": [_plain(v) for v in values] for kind, values in columns.items()},
        "energy_residual": fields.energy_residual,
        "simulated_s": fields.simulated_s,
        "notes": list(fields.notes),
    }


def _plain(value: float) -> float | None:
    return float(value) if np.isfinite(value) else None


def _whole(fields: WeldFields, kind: str) -> dict[str, float] | None:
    healing, share = getattr(fields, kind), getattr(fields, f"{kind}_share")
    known = np.isfinite(share) & (fields.area_mm2 > 0.0)
    if not known.any():
        return None
    area, order = fields.area_mm2[known], np.argsort(share[known])
    below = np.cumsum(area[order]) / area.sum()
    return {
        "healing": float(np.average(healing[known], weights=area)),
        "strength_share": float(np.average(share[known], weights=area)),
        "low_share": float(share[known][order][np.searchsorted(below, _LOW)]),
    }


def _by_layer(fields: WeldFields, values: Floats, layers: int) -> Floats:
    known = np.isfinite(values)
    area = np.bincount(fields.layer[known], weights=fields.area_mm2[known], minlength=layers)
    total = np.bincount(fields.layer[known], weights=(fields.area_mm2 * values)[known], minlength=layers)
    return np.where(area > 0.0, total / np.maximum(area, 1e-300), np.nan)
