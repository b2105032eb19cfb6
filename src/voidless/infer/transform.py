"""The scale on which a response is learned, chosen by one table."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from voidless.errors import InputError

__all__ = ["IDENTITY", "LOGARITHM", "Transform", "transform_for"]

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Transform:
    """
    A scale on which a response is learned.

    Attributes
    ----------
    name : str
        `none`, `log` or `asinh`.
    forward, backward : function of array
        Response -> scale and back; neither falls as the response grows.
    slope : function of array
        Change of the scale per unit of the response, at values of the response. [1/unit of the response]
    """

    name: str
    forward: Callable[[Floats], Floats]
    backward: Callable[[Floats], Floats]
    slope: Callable[[Floats], Floats]


def _logarithm(values: Floats) -> Floats:
    if not np.all(np.asarray(values) > 0.0):
        raise InputError("learn", "a response learned by its logarithm is not positive", "values above 0")
    return np.log(values)


def _asinh(unit: float, whole: float) -> Transform:
    """Even steps far below `unit`, even ratios far above it; what was measured below zero has a place too."""
    return Transform(
        "asinh",
        lambda values: np.arcsinh(np.asarray(values, dtype=float) / unit),
        lambda values: np.clip(unit * np.sinh(np.minimum(values, np.arcsinh(whole / unit))), 0.0, whole),
        lambda values: 1.0 / np.hypot(values, unit),
    )


IDENTITY = Transform(
    "none", lambda values: np.asarray(values, dtype=float), lambda values: values, np.ones_like
)
LOGARITHM = Transform("log", _logarithm, np.exp, lambda values: 1.0 / np.asarray(values, dtype=float))


# A strength of a kilopascal is none; above 0, so that ratios of strengths stay numbers.
_LEAST = 1e-3
_POSITIVE = Transform("none", IDENTITY.forward, lambda values: np.maximum(values, _LEAST), np.ones_like)


def _share(whole: float) -> Transform:
    return Transform("none", IDENTITY.forward, lambda values: np.clip(values, 0.0, whole), np.ones_like)


# About what weighing can tell: below it readings scatter evenly, above it builds differ by ratios. [%] Assumed.
_VOID_UNIT_PCT = 0.3

# Durations and masses spread over a wide, positive range with proportional error. Everything else is
# learned as it stands: a logarithm of strength or clarity gained nothing on held-out problems and gave
# more recommendations that fail (docs/methods/learning.md).
# Shares and strengths are learned as they stand too, but what comes back never leaves the range that they can have.
# Only the share of voids spans decades over a campaign, with scatter in proportion, while limits lie at its low end.
_BY_QUANTITY = {
    **dict.fromkeys(("build_min", "mass_g", "residence_s"), LOGARITHM),
    **dict.fromkeys(
        ("strength_xy_mpa", "strength_z_mpa", "strength_across_mpa", "z_ratio", "charpy_kj_m2"), _POSITIVE
    ),
    **dict.fromkeys(("clarity", "healing"), _share(1.0)),
    **dict.fromkeys(("haze_pct", "transmittance_pct"), _share(100.0)),
    "void_pct": _asinh(_VOID_UNIT_PCT, 100.0),
}


def transform_for(quantity: str) -> Transform:
    """Return the scale on which a quantity is learned."""
    return _BY_QUANTITY.get(quantity, IDENTITY)
