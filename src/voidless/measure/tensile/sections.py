"""Original cross-section from readings of width and thickness, with its uncertainty."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from voidless.errors import InputError
from voidless.measure.series.trend import coverage_factor

__all__ = ["Section", "section_of"]


@dataclass(frozen=True)
class Section:
    """
    A cross-section.

    Attributes
    ----------
    value_mm2 : float
        [mm²]
    uncertainty_mm2 : float or None
        Standard uncertainty, None where nothing is known of it. [mm²]
    source : str
        Where it is from.
    """

    value_mm2: float
    uncertainty_mm2: float | None = None
    source: str = ""

    @property
    def share(self) -> float | None:
        """Standard uncertainty as a share of the value. [1]"""
        return None if self.uncertainty_mm2 is None else self.uncertainty_mm2 / self.value_mm2


def section_of(
    width_mm: Sequence[float],
    thickness_mm: Sequence[float],
    reading_uncertainty_mm: float,
    source: str = "width times thickness",
) -> Section:
    """
    Return the cross-section of a flat bar from repeated readings.

    Parameters
    ----------
    width_mm, thickness_mm : sequence of float
        Readings along the gauge length; ISO 16012 asks for three (from memory). [mm]
    reading_uncertainty_mm : float
        Standard uncertainty of the instrument, common to all readings of one side. [mm]
    source : str
        Where they are from.

    Returns
    -------
    section : Section
        Product of the means.

    Raises
    ------
    InputError
        There is no reading, one is not above 0, or the uncertainty is negative.

    Notes
    -----
    Each side has the scatter of its mean (enlarged for few readings) beside the uncertainty of the
    instrument; the two sides are taken as independent, as they are with two instruments (GUM, JCGM 100:2008).
    Beads make a wavy side: callipers touch its crests, so a printed section is overestimated; this
    is not corrected.
    """
    sides = [np.asarray(side, dtype=float) for side in (width_mm, thickness_mm)]
    if not all(side.size and np.all(side > 0) and np.all(np.isfinite(side)) for side in sides):
        raise InputError(source, "a side without a reading above 0 mm", "widths and thicknesses", "Measure.")
    if not reading_uncertainty_mm >= 0:
        raise InputError(source, f"{reading_uncertainty_mm:g} mm", "0 or above", "Correct the uncertainty.")
    shares = []
    for side in sides:
        scatter = 0.0
        if side.size > 1:
            scatter = float(side.std(ddof=1)) / side.size**0.5 * coverage_factor(side.size - 1)
        shares.append(np.hypot(scatter, reading_uncertainty_mm) / float(side.mean()))
    value = float(sides[0].mean() * sides[1].mean())
    return Section(value, float(np.hypot(*shares)) * value, source)
