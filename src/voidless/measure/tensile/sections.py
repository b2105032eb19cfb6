"""Original cross-section from readings of width and thickness, with its uncertainty."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from voidless.errors import InputError
from voidless.measure.curves.read import Curve
from voidless.measure.series.trend import coverage_factor

__all__ = ["Section", "section_of", "side_doubt", "stated_section"]

COARSEST_MM = 0.1
"""Coarsest last digit of a size that a header states. [mm] Our choice."""


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
    stated : bool
        Whether its uncertainty is that of an instrument; False where the last printed digits alone count.
    """

    value_mm2: float
    uncertainty_mm2: float | None = None
    source: str = ""
    stated: bool = True

    @property
    def share(self) -> float | None:
        """Standard uncertainty as a share of the value. [1]"""
        return None if self.uncertainty_mm2 is None else self.uncertainty_mm2 / self.value_mm2


def side_doubt(curve: Curve, side: str, said: Mapping[str, float]) -> float:
    """
    Return the standard uncertainty of a size that a curve's header states.

    Parameters
    ----------
    curve : Curve
        A curve that states it.
    side : str
        `width_mm` or `thickness_mm`.
    said : mapping of str to float
        Facts that a person says: `size_uncertainty_mm` rules.

    Returns
    -------
    doubt : float
        By the last printed digit, a tenth of a millimetre at most: exports drop zeros at the end. [mm]
    """
    return said.get("size_uncertainty_mm", min(curve.steps.get(side, 0.0), COARSEST_MM) / 12**0.5)


def stated_section(curve: Curve, said: Mapping[str, float]) -> Section | None:
    """
    Return the section that a curve's header states, as such or by width and thickness.

    Parameters
    ----------
    curve : Curve
        A curve.
    said : mapping of str to float
        Facts that a person says: `size_uncertainty_mm`, `section_uncertainty_pct`.

    Returns
    -------
    section : Section or None
        None where the header states none; its uncertainty is None where `section_uncertainty_pct` rules.
    """
    facts = curve.facts
    ruled = "section_uncertainty_pct" in said
    if "section_mm2" in facts:
        unsure = None if ruled else curve.steps.get("section_mm2", 0.0) / 12**0.5
        return Section(facts["section_mm2"], unsure, "stated in the file's header", ruled)
    if not {"width_mm", "thickness_mm"} <= facts.keys():
        return None
    product = facts["thickness_mm"] * facts["width_mm"]
    words = "thickness times width of the file's header"
    if ruled and "size_uncertainty_mm" not in said:
        return Section(product, None, words, True)
    shares = [side_doubt(curve, side, said) / facts[side] for side in ("width_mm", "thickness_mm")]
    return Section(product, product * float(np.linalg.norm(shares)), words, "size_uncertainty_mm" in said)


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
