"""Frames that may be used for photometry, and the light that they hold."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from voidless.errors import InputError
from voidless.measure.images.picture import Picture

__all__ = ["BRIGHTEST", "check_linearity", "check_same_exposure", "light_of", "require_linear"]

Floats = NDArray[np.float64]

BRIGHTEST = 0.98
"""Share of full scale above which a pixel counts as burnt out. [1]"""
_GREEN = 1
LINEAR_WITHIN = 0.01
"""How well frames of 1 : 2 : 4 exposures must scale. [1] Common practice for photometric cameras, no source."""


def require_linear(picture: Picture, declared: bool = False) -> None:
    """
    Pass a picture whose values may be proportional to light.

    Parameters
    ----------
    picture : Picture
        A frame.
    declared : bool
        Whether a person declares that 8-bit values are linear.

    Raises
    ------
    InputError
        The file is a JPEG, has 8 bits, or was exposed automatically.
    """
    name = picture.name
    if picture.kind == "JPEG":
        raise InputError(
            name,
            "a JPEG: its values are coded for the eye, sharpened and rounded, so they are no measure of light",
            "linear TIFF of 16 bits (or floats)",
            "Develop the raw file without any curve; a JPEG will do for counting voids.",
        )
    if picture.bits < 12 and not declared:
        raise InputError(
            name,
            f"{picture.bits} bits a channel: such files are coded for the eye unless someone says otherwise",
            "linear TIFF of 16 bits, or linear = true in the sheet",
            "Export 16 bits without any curve.",
        )
    if picture.automatic:
        raise InputError(
            name,
            "the camera chose the exposure itself, so frames cannot be compared",
            "manual exposure, the same for all frames",
            "Set time, aperture, sensitivity and white balance by hand and take the frames again.",
        )


def check_same_exposure(pictures: Sequence[Picture]) -> None:
    """
    Pass frames of one size, one depth and one exposure.

    Parameters
    ----------
    pictures : sequence of Picture
        Frames that are divided by each other.

    Raises
    ------
    InputError
        Two differ.
    """
    first = pictures[0]
    for other in pictures[1:]:
        if other.values.shape != first.values.shape or other.full != first.full:
            raise InputError(
                other.name,
                f"another size or depth than {first.name}",
                "frames of one camera setting",
                "Take it again.",
            )
        if other.exposure and first.exposure and other.exposure != first.exposure:
            raise InputError(
                other.name,
                f"another exposure than {first.name}: {_said(other)} against {_said(first)}",
                "the same exposure for all frames",
                "Take the frames again without touching the camera.",
            )


def _said(picture: Picture) -> str:
    return ", ".join(f"{name} {value:g}" for name, value in picture.exposure)


def light_of(picture: Picture, channel: int | None = None) -> Floats:
    """
    Return the light of a frame as share of full scale.

    Parameters
    ----------
    picture : Picture
        A linear frame.
    channel : int or None
        0 red, 1 green, 2 blue; None takes green, which is nearest to the eye, or the grey of a grey frame. [1]

    Returns
    -------
    light : (h, w) float array
        0 to 1, dark frame not yet taken off. [1]
    """
    values = picture.values
    if values.ndim == 3:
        values = values[:, :, _GREEN if channel is None else channel]
    return np.asarray(values, dtype=np.float64) / picture.full


def check_linearity(levels: Sequence[float], exposures: Sequence[float], where: str) -> float:
    """
    Return the largest departure from proportion of a camera's readings.

    Parameters
    ----------
    levels : sequence of float
        Mean light of the same patch, dark taken off. [1]
    exposures : sequence of float
        Exposure times or their ratios, such as 1, 2, 4.
    where : str
        Place that an error names.

    Returns
    -------
    departure : float
        Of level over exposure from its mean. [1]

    Raises
    ------
    InputError
        There are fewer than three, they do not span 1 : 4, or they depart by more than 1 %.
    """
    light, time = np.asarray(levels, dtype=float), np.asarray(exposures, dtype=float)
    if len(light) != len(time) or len(light) < 3 or not (np.all(time > 0) and time.max() >= 4.0 * time.min()):
        raise InputError(
            where, f"exposures {list(time)}", "three or more, 1 : 2 : 4", "Take the series again."
        )
    rate = light / time
    departure = float(np.max(np.abs(rate / rate.mean() - 1.0)))
    if not departure <= LINEAR_WITHIN:
        raise InputError(
            where,
            f"readings depart from proportion by {100 * departure:.1f} %",
            f"at most {100 * LINEAR_WITHIN:g} %",
            "The files carry a curve: develop them linearly.",
        )
    return departure
