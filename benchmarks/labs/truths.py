"""Truths unlike any physics of this project: other forms, interactions, cliffs, two windows, random fields."""

from __future__ import annotations

from collections.abc import Callable, Mapping

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Truth = Callable[[Floats], dict[str, Floats]]


def saddle(unit: Floats, n: Mapping[str, float]) -> dict[str, Floats]:
    """Smooth ridges and bumps: rational and periodic forms."""
    layer, width, flow, heat, fan, speed = unit.T
    fill = flow - n["f0"] - n["fl"] * (layer - 0.5) + n["fw"] * (width - 0.5)
    warm = heat - n["h0"] - n["hs"] * (speed - 0.4) - 0.25 * (fan - 0.3)
    clarity = 0.82 / (
        1.0 + (fill / 0.28) ** 2 + np.maximum(-warm, 0.0) ** 2 / 0.12 + np.maximum(warm, 0.0) ** 2 / 0.5
    )
    clarity = clarity - 0.05 * np.sin(5.0 * layer + n["ph"]) - 0.06 * speed**2
    weld = 1.0 - np.exp(-3.5 * np.clip(0.75 + warm - 0.35 * fan * layer, 0.02, None))
    xy = 42.0 + 7.0 * np.tanh(2.5 * (fill + 0.15)) - 2.0 * speed
    size = 0.16 * fill + 0.10 * np.maximum(warm, 0.0) * (1.0 - fan) - 0.03 + 0.04 * speed * layer
    return {"clarity": clarity, "strength_xy_mpa": xy, "strength_z_mpa": xy * weld, "size_error_mm": size}


def saddle_numbers(rng: np.random.Generator) -> dict[str, float]:
    """Return the constants of one material."""
    u = rng.uniform
    return {
        "f0": u(0.4, 0.7), "fl": u(0.1, 0.4), "fw": u(-0.2, 0.2), "h0": u(0.4, 0.7), "hs": u(0.2, 0.5),
        "ph": u(0.0, 6.0),
    }  # fmt: skip


def _step(x: Floats, at: float, sharp: float) -> Floats:
    return np.asarray(1.0 / (1.0 + np.exp(-sharp * (x - at))))


def cliff(unit: Floats, n: Mapping[str, float]) -> dict[str, Floats]:
    """Plateaus and cliffs: thresholds with sharp sides."""
    layer, width, flow, heat, fan, speed = unit.T
    demand = layer * (0.5 + width) * (0.3 + speed)
    melt = _step(heat - 0.8 * demand, n["m0"], 12.0)
    closed = _step(flow - 0.25 * layer + 0.15 * width, n["c0"], 10.0)
    over = _step(flow + 0.3 * heat, n["o0"], 9.0)
    burnt = _step(heat - 0.4 * speed, n["b0"], 16.0)
    clarity = 0.15 + 0.65 * melt * closed - 0.22 * over - 0.3 * burnt - 0.08 * np.abs(layer - n["l0"])
    z = (
        10.0
        + 33.0 * _step(heat - 0.35 * fan - 0.3 * speed, n["z0"], 8.0) * (0.6 + 0.4 * closed)
        - 6.0 * burnt
    )
    xy = 36.0 + 10.0 * closed - 4.0 * burnt + 2.0 * melt
    size = -0.12 + 0.24 * over + 0.08 * heat * (1.0 - fan) - 0.05 * width
    return {"clarity": clarity, "strength_xy_mpa": xy, "strength_z_mpa": z, "size_error_mm": size}


def cliff_numbers(rng: np.random.Generator) -> dict[str, float]:
    """Return the constants of one material."""
    u = rng.uniform
    return {
        "m0": u(0.1, 0.3), "c0": u(0.35, 0.6), "o0": u(0.75, 1.0), "b0": u(0.55, 0.8), "l0": u(0.2, 0.8),
        "z0": u(0.15, 0.4),
    }  # fmt: skip


def valley(unit: Floats, n: Mapping[str, float]) -> dict[str, Floats]:
    """Two separate good regions, slow with thin layers and fast with hot melt; power laws and products."""
    layer, width, flow, heat, fan, speed = unit.T
    pace = speed * (0.4 + 0.6 * layer)
    slow = np.exp(
        -(((pace - n["s0"]) / 0.16) ** 2) - ((layer - n["s1"]) / 0.35) ** 2 - ((heat - 0.35) / 0.4) ** 2
    )
    fast = n["fa"] * np.exp(-(((pace - n["q0"]) / 0.2) ** 2) - ((heat - n["q1"]) / 0.22) ** 2)
    tight = np.exp(-(((flow - n["f0"] - 0.5 * layer * width) / 0.3) ** 2))
    clarity = 0.1 + 0.75 * tight * np.maximum(slow, fast) - 0.1 * fan * (1.0 - speed)
    warmth = (
        np.maximum(0.25 + heat, 0.0) ** n["zh"]
        * (1.3 - 0.6 * fan * layer) ** 1.5
        * np.sqrt(np.maximum(1.25 - 0.7 * speed, 0.0))
    )
    xy = 38.0 + 9.0 * np.sqrt(np.maximum(flow, 0.0)) - 5.0 * (width - n["w0"]) ** 2
    z = xy * warmth / (0.35 + warmth)
    size = 0.25 * (flow - n["f0"]) * (0.6 + layer) - 0.06 * fan + 0.08 * heat**2 * width
    return {"clarity": clarity, "strength_xy_mpa": xy, "strength_z_mpa": z, "size_error_mm": size}


def valley_numbers(rng: np.random.Generator) -> dict[str, float]:
    """Return the constants of one material."""
    u = rng.uniform
    return {
        "s0": u(0.05, 0.15), "s1": u(0.1, 0.5), "fa": u(0.8, 1.1), "q0": u(0.35, 0.6), "q1": u(0.65, 0.9),
        "f0": u(0.3, 0.6), "zh": u(0.6, 1.4), "w0": u(0.2, 0.8),
    }  # fmt: skip


_WAVES = 60


def field(unit: Floats, n: Mapping[str, Floats]) -> dict[str, Floats]:
    """Random smooth fields over plain slopes: nothing has a reason."""
    waves = np.sqrt(2.0 / _WAVES) * np.cos(unit @ n["waves"] + n["phases"])
    fields = waves @ n["weights"]
    slopes = (unit - 0.5) @ n["slopes"]
    scale = 1.0 / (1.0 + np.exp(-2.0 * (slopes + 0.6 * fields)))
    clarity = 0.05 + 0.85 * scale[:, 0]
    xy = 34.0 + 16.0 * scale[:, 1]
    z = xy * (0.25 + 0.75 * scale[:, 2])
    return {
        "clarity": clarity, "strength_xy_mpa": xy, "strength_z_mpa": z,
        "size_error_mm": 0.5 * (scale[:, 3] - 0.5),
    }  # fmt: skip


# Signs that any printer shares (hotter welds better, faster welds worse, more flow is larger); their sizes are drawn.
_SIGNS = np.array(
    [
        [-0.5, 0.0, 0.8, 0.5, -0.3, -0.9],
        [0.0, 0.2, 0.9, 0.3, -0.2, -0.2],
        [-0.2, 0.0, 0.4, 1.0, -0.8, -0.6],
        [0.3, 0.0, 1.2, 0.5, -0.4, 0.2],
    ]
).T


def field_numbers(rng: np.random.Generator) -> dict[str, Floats]:
    """Return the waves, phases, weights and slopes of one material; waves of a Gaussian kernel, length 0.5."""
    return {
        "waves": rng.standard_normal((6, _WAVES)) / 0.5,
        "phases": rng.uniform(0.0, 2.0 * np.pi, _WAVES),
        "weights": rng.standard_normal((_WAVES, 4)),
        "slopes": _SIGNS * rng.uniform(0.3, 1.7, _SIGNS.shape),
    }


TRUTHS = {
    "saddle": (saddle, saddle_numbers),
    "cliff": (cliff, cliff_numbers),
    "valley": (valley, valley_numbers),
    "field": (field, field_numbers),
}
