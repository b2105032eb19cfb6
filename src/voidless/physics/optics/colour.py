"""Yellowness, and browning by heat."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from voidless.errors import InputError
from voidless.physics.guards import require_positive

__all__ = ["SRGB_TO_XYZ", "YELLOWNESS", "browning_index", "yellowness_index", "yellowness_of_transmittance"]

Floats = NDArray[np.float64]

YELLOWNESS: dict[str, tuple[float, float]] = {
    "c_2": (1.2769, 1.0592),
    "d65_2": (1.2985, 1.1335),
    "c_10": (1.2871, 1.0781),
    "d65_10": (1.3013, 1.1498),
    "d1925": (1.28, 1.06),
}
"""Cx and Cz by illuminant and observer: ASTM E313 (as quoted by an open colour library and an instrument
maker's note), and the withdrawn D1925."""

# IEC 61966-2-1: linear sRGB to XYZ under D65, on the 0 to 1 scale.
SRGB_TO_XYZ = np.array(
    [
        [0.4124, 0.3576, 0.1805],
        [0.2126, 0.7152, 0.0722],
        [0.0193, 0.1192, 0.9505],
    ]
)


def yellowness_index(x: ArrayLike, y: ArrayLike, z: ArrayLike, kind: str = "d65_10") -> Floats:
    """
    Return the yellowness index of tristimulus values.

    Parameters
    ----------
    x, y, z : (n,) float array
        Tristimulus values on one scale. [1]
    kind : str
        A key of `YELLOWNESS`. [1]

    Returns
    -------
    yellowness : (n,) float array
        100 (Cx X - Cz Z)/Y; free of the scale. [1]

    Raises
    ------
    InputError
        `kind` is not known or Y is not positive.
    """
    if kind not in YELLOWNESS:
        known = ", ".join(YELLOWNESS)
        raise InputError("yellowness_index", f"kind {kind!r} is not known", f"one of {known}", "Choose one.")
    require_positive("yellowness_index", y=y)
    cx, cz = YELLOWNESS[kind]
    return np.asarray(100.0 * (cx * np.asarray(x, dtype=float) - cz * np.asarray(z)) / np.asarray(y))


def yellowness_of_transmittance(red: ArrayLike, green: ArrayLike, blue: ArrayLike) -> Floats:
    """
    Return the yellowness of a plate from its transmittance in three camera channels.

    Parameters
    ----------
    red, green, blue : (n,) float array
        Linear transmittance per channel. [1]

    Returns
    -------
    yellowness : (n,) float array
        Index for D65 and 2°, white put at zero. [1]

    Raises
    ------
    InputError
        The channels give no positive Y.

    Notes
    -----
    A stand-in: the sRGB matrix instead of one fitted to a colour chart.
    """
    channels = np.stack(
        np.broadcast_arrays(*(np.asarray(c, dtype=float) for c in (red, green, blue))), axis=-1
    )
    scaled = channels @ SRGB_TO_XYZ.T
    white = SRGB_TO_XYZ.sum(axis=1)
    offset = yellowness_index(white[0], white[1], white[2], "d65_2")
    return np.asarray(yellowness_index(scaled[..., 0], scaled[..., 1], scaled[..., 2], "d65_2") - offset)


def browning_index(red: ArrayLike, blue: ArrayLike, thickness: ArrayLike) -> Floats:
    """
    Return a measure of browning that is free of thickness and of reflection at the faces.

    Parameters
    ----------
    red, blue : (n,) float array
        Linear transmittance in two channels. [1]
    thickness : (n,) float array
        Thickness of the plate. [m]

    Returns
    -------
    browning : (n,) float array
        (log10 T_red - log10 T_blue)/thickness. [1/m]

    Raises
    ------
    InputError
        A value is not positive.

    Notes
    -----
    Scatter yellows transmitted light too: only for clear parts.
    """
    require_positive("browning_index", red=red, blue=blue, thickness=thickness)
    ratio = np.log10(np.asarray(red, dtype=float)) - np.log10(np.asarray(blue, dtype=float))
    return np.asarray(ratio / np.asarray(thickness))
