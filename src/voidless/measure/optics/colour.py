"""Yellowness and browning of a plaque from linear frames, and differences of colour."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from voidless.errors import InputError
from voidless.physics.optics.colour import SRGB_TO_XYZ, browning_index, yellowness_of_transmittance

__all__ = ["Colour", "colour_difference", "lab_of_xyz", "reduce_colour"]

Floats = NDArray[np.float64]

_HAZY_PCT = 10.0
_D65 = np.array([0.95047, 1.0, 1.08883])
"""White of D65 and 2°: ASTM E308, Y put at 1."""


@dataclass(frozen=True)
class Colour:
    """
    Colour of light that passes a plaque.

    Attributes
    ----------
    yellowness, uncertainty : float
        ASTM E313 for D65 and 2°, and its standard uncertainty. [1]
    browning_per_mm, browning_uncertainty : float
        (log10 T_red - log10 T_blue) / thickness. [1/mm]
    transmittance : (3,) float array
        Red, green, blue. [1]
    warnings : tuple of str
        What a person should know.
    """

    yellowness: float
    uncertainty: float
    browning_per_mm: float
    browning_uncertainty: float
    transmittance: Floats
    warnings: tuple[str, ...]


def reduce_colour(
    transmittance: ArrayLike,
    uncertainty: ArrayLike,
    thickness_mm: float,
    haze_pct: float | None = None,
    where: str = "plaque",
    together: ArrayLike | None = None,
) -> Colour:
    """
    Return yellowness and browning of a plaque from its transmittance in three channels.

    Parameters
    ----------
    transmittance, uncertainty : (3,) float array
        Red, green, blue: light through the plaque over light without, and standard uncertainties. [1]
    thickness_mm : float
        Of the plaque. [mm]
    haze_pct : float or None
        Its haze: scatter reddens, so colour of hazy plaques is not their own. [%]
    where : str
        Name for errors.
    together : (3, 3) float array or None
        Covariance of the transmittances: what a lamp does to all channels alike leaves no colour. None takes them as
        independent. [1]

    Returns
    -------
    colour : Colour
        With the stand-in matrix of IEC 61966-2-1 unless a colour chart was fitted beforehand.

    Raises
    ------
    InputError
        A transmittance is not within 0 to 1 or the thickness is not positive.
    """
    t, u = np.asarray(transmittance, dtype=float), np.asarray(uncertainty, dtype=float)
    if t.shape != (3,) or not np.all((t > 0) & (t < 1.02)) or not np.all(u >= 0):
        raise InputError(where, f"transmittances {t}", "three values above 0 to 1", "Check the frames.")
    if not thickness_mm > 0:
        raise InputError(where, f"a thickness of {thickness_mm:g} mm", "above 0", "Measure it.")
    value = float(yellowness_of_transmittance(*t))
    covariance = np.diag(u**2) if together is None else np.asarray(together, dtype=float)
    step = 1e-4 * t
    slopes = np.array(
        [
            (float(yellowness_of_transmittance(*(t + np.eye(3)[k] * step[k]))) - value) / step[k]
            for k in range(3)
        ]
    )
    ends = np.array([1.0 / t[0], 0.0, -1.0 / t[2]])
    brown = 1e-3 * float(browning_index(t[0], t[2], 1e-3 * thickness_mm))
    own, spread = (float(np.sqrt(max(each @ covariance @ each, 0.0))) for each in (slopes, ends))
    spread /= np.log(10.0) * thickness_mm
    words = [
        f"{where}: channels of a camera stand in for a colour chart; compare plaques of one camera and lamp"
    ]
    if haze_pct is not None and haze_pct > _HAZY_PCT:
        words.append(
            f"{where}: haze {haze_pct:.0f} %: scatter yellows light too; trust colour of clear parts alone"
        )
    return Colour(value, own, brown, spread, t, tuple(words))


def lab_of_xyz(xyz: ArrayLike, white: ArrayLike = _D65) -> Floats:
    """
    Return CIE L*, a*, b*.

    Parameters
    ----------
    xyz : (n, 3) float array
        Tristimulus values on the scale of the white. [1]
    white : (3,) float array
        Tristimulus values of the white. [1]

    Returns
    -------
    lab : (n, 3) float array
        ISO/CIE 11664-4. [1]
    """
    ratio = np.asarray(xyz, dtype=float) / np.asarray(white, dtype=float)
    f = np.where(ratio > (6 / 29) ** 3, np.cbrt(ratio), ratio * (29 / 6) ** 2 / 3 + 4 / 29)
    return np.stack(
        [116 * f[..., 1] - 16, 500 * (f[..., 0] - f[..., 1]), 200 * (f[..., 1] - f[..., 2])], axis=-1
    )


def lab_of_transmittance(transmittance: ArrayLike) -> Floats:
    """Return L*, a*, b* of (n, 3) channel transmittances, white put at the camera's own white. [1]"""
    return lab_of_xyz(np.asarray(transmittance, dtype=float) @ SRGB_TO_XYZ.T, SRGB_TO_XYZ.sum(axis=1))


def colour_difference(first: ArrayLike, second: ArrayLike) -> Floats:
    """
    Return the difference of colours as eyes judge it, CIEDE2000.

    Parameters
    ----------
    first, second : (n, 3) float array
        L*, a*, b*. [1]

    Returns
    -------
    difference : (n,) float array
        About 1 is just seen. [1]

    Notes
    -----
    Sharma, Wu, Dalal, Color Res. Appl. 30 (2005) 21, equations 2 to 22 (numbers from memory); their table 1 is in
    the tests.
    """
    one, two = np.asarray(first, dtype=float), np.asarray(second, dtype=float)
    c_mean = 0.5 * (np.hypot(one[..., 1], one[..., 2]) + np.hypot(two[..., 1], two[..., 2]))
    g = 0.5 * (1.0 - np.sqrt(c_mean**7 / (c_mean**7 + 25.0**7)))
    a1, a2 = (1 + g) * one[..., 1], (1 + g) * two[..., 1]
    c1, c2 = np.hypot(a1, one[..., 2]), np.hypot(a2, two[..., 2])
    h1, h2 = (np.degrees(np.arctan2(b, a)) % 360.0 for b, a in ((one[..., 2], a1), (two[..., 2], a2)))
    grey = c1 * c2 == 0
    turn = np.where(grey, 0.0, (h2 - h1 + 180.0) % 360.0 - 180.0)
    turn = np.where(~grey & (h2 - h1 == 180.0), 180.0, turn)
    dl, dc = two[..., 0] - one[..., 0], c2 - c1
    dh = 2.0 * np.sqrt(c1 * c2) * np.sin(np.radians(turn / 2.0))
    lm, cm = 0.5 * (one[..., 0] + two[..., 0]), 0.5 * (c1 + c2)
    hm = np.where(
        grey,
        h1 + h2,
        np.where(
            np.abs(h1 - h2) <= 180.0,
            0.5 * (h1 + h2),
            0.5 * (h1 + h2 + np.where(h1 + h2 < 360.0, 360.0, -360.0)),
        ),
    )
    t = (
        1
        - 0.17 * np.cos(np.radians(hm - 30))
        + 0.24 * np.cos(np.radians(2 * hm))
        + 0.32 * np.cos(np.radians(3 * hm + 6))
        - 0.20 * np.cos(np.radians(4 * hm - 63))
    )
    sl = 1 + 0.015 * (lm - 50) ** 2 / np.sqrt(20 + (lm - 50) ** 2)
    sc, sh = 1 + 0.045 * cm, 1 + 0.015 * cm * t
    rt = -2 * np.sqrt(cm**7 / (cm**7 + 25.0**7)) * np.sin(np.radians(60 * np.exp(-(((hm - 275) / 25) ** 2))))
    return np.asarray(np.sqrt((dl / sl) ** 2 + (dc / sc) ** 2 + (dh / sh) ** 2 + rt * (dc / sc) * (dh / sh)))
