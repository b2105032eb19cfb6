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
    """A named pair of functions, response -> learning scale and back; neither falls as the response grows."""

    name: str
    forward: Callable[[Floats], Floats]
    backward: Callable[[Floats], Floats]


def _logarithm(values: Floats) -> Floats:
    if not np.all(np.asarray(values) > 0.0):
        raise InputError("learn", "a response learned by its logarithm is not positive", "values above 0")
    return np.log(values)


IDENTITY = Transform("none", lambda values: np.asarray(values, dtype=float), lambda values: values)
LOGARITHM = Transform("log", _logarithm, np.exp)


def _share(whole: float) -> Transform:
    return Transform("none", IDENTITY.forward, lambda values: np.clip(values, 0.0, whole))


# Durations and masses spread over a wide, positive range with proportional error. Everything else is
# learned as it stands: a logarithm of strength or clarity gained nothing on held-out problems and gave
# more recommendations that fail (docs/methods/learning.md).
# Shares are learned as they stand too, but what comes back never leaves the range that a share can have.
_BY_QUANTITY = {
    **dict.fromkeys(("build_min", "mass_g", "residence_s"), LOGARITHM),
    **dict.fromkeys(("clarity", "healing"), _share(1.0)),
    **dict.fromkeys(("haze_pct", "transmittance_pct", "void_pct"), _share(100.0)),
}


def transform_for(quantity: str) -> Transform:
    """Return the scale on which a quantity is learned."""
    return _BY_QUANTITY.get(quantity, IDENTITY)
