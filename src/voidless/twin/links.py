"""Scales on which responses are spread, and how far the twin itself is trusted on them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["LINKS", "RESPONSES", "Link"]

Floats = NDArray[np.float64]

_EDGE = 1e-6


@dataclass(frozen=True)
class Link:
    """
    A scale without bounds for one response.

    Attributes
    ----------
    forward, back : function of array
        From the response to the scale and back.
    slope : function of array
        Change of the response per unit of the scale, at a value of the response.
    discrepancy : float
        Standard deviation of the twin's own error on the scale. Assumed for every response: no data set for a
        copolyester was found to set it by.
    """

    forward: Callable[[Floats], Floats]
    back: Callable[[Floats], Floats]
    slope: Callable[[Floats], Floats]
    discrepancy: float


def _share(full: float, discrepancy: float, floor: float = 0.0) -> Link:
    """
    Log odds of a share of `full`.

    A floor keeps small shares from looking certain; what an error then carries below zero is zero.
    """
    room = full + 2.0 * floor

    def forward(value: Floats) -> Floats:
        inner = np.clip((value + floor) / room, _EDGE, 1.0 - _EDGE)
        return np.asarray(np.log(inner / (1.0 - inner)))

    def back(scale: Floats) -> Floats:
        return np.asarray(np.clip(room * 0.5 * (1.0 + np.tanh(0.5 * scale)) - floor, 0.0, full))

    def slope(value: Floats) -> Floats:
        return np.asarray((value + floor) * (1.0 - (value + floor) / room))

    return Link(forward, back, slope, discrepancy)


def _factor(discrepancy: float) -> Link:
    return Link(
        lambda value: np.asarray(np.log(value)),
        lambda scale: np.asarray(np.exp(scale)),
        lambda value: np.asarray(value),
        discrepancy,
    )


def _plain(discrepancy: float) -> Link:
    return Link(np.asarray, np.asarray, lambda value: np.ones_like(value), discrepancy)


LINKS: dict[str, Link] = {
    "clarity": _share(1.0, 0.5),
    "haze_pct": _share(100.0, 0.6),
    "transmittance_pct": _share(100.0, 0.2),
    "yellowness": _plain(1.0),
    "void_pct": _share(100.0, 0.5, floor=0.1),
    "density_g_cm3": _factor(0.004),
    "healing": _share(1.0, 0.4),
    "strength_xy_mpa": _factor(0.08),
    "strength_across_mpa": _factor(0.15),
    "strength_z_mpa": _factor(0.18),
    "z_ratio": _factor(0.18),
    "charpy_kj_m2": _factor(0.25),
    "size_error_mm": _plain(0.05),
    "rate_mm3_s": _factor(0.003),
    "residence_s": _factor(0.10),
}
RESPONSES: tuple[str, ...] = tuple(LINKS)
"""Every response that the twin predicts, in the order of tables."""
