"""Clarity: the contrast of a target seen through the plaque over that of the target alone."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import log, sqrt

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import stdtrit

from voidless.errors import InputError
from voidless.measure.optics.edge import edge_transfer

__all__ = [
    "Clarity",
    "Conditions",
    "Matched",
    "bar_contrast",
    "check_bars",
    "edge_contrast",
    "reduce_clarity",
    "separate_surface",
]

Floats = NDArray[np.float64]

_CYCLES = 3


@dataclass(frozen=True)
class Conditions:
    """
    Under which a clarity holds.

    Attributes
    ----------
    distance_mm, distance_uncertainty_mm : float
        From the target to the plaque; in contact everything looks clear. [mm]
    frequency_per_mm : float
        Spatial frequency on the target, line pairs. [1/mm]
    thickness_mm : float
        Of the plaque. [mm]
    axis : str
        Viewing axis, `z` for through the layers.
    surface : str
        `as_printed`, `polished`, `wet_water`, `wet_oil`.
    """

    distance_mm: float
    frequency_per_mm: float
    thickness_mm: float
    axis: str = "z"
    surface: str = "as_printed"
    distance_uncertainty_mm: float = 0.2

    def pairs(self) -> tuple[tuple[str, str], ...]:
        """Return the conditions as sorted pairs of texts, as a response is keyed by."""
        return (
            ("axis", self.axis),
            ("distance_mm", f"{self.distance_mm:g}"),
            ("frequency_per_mm", f"{self.frequency_per_mm:g}"),
            ("surface", self.surface),
            ("thickness_mm", f"{self.thickness_mm:g}"),
        )


@dataclass(frozen=True)
class Clarity:
    """
    A clarity with its conditions.

    Attributes
    ----------
    value, uncertainty : float
        Contrast with the plaque over contrast without, and its standard uncertainty, enlarged for few frames: 1.96
        times it is the 95 % interval. [1]
    low, high : float
        95 % interval. [1]
    with_plaque, without : float
        The two contrasts. [1]
    conditions : Conditions
        Distance, frequency, thickness, axis, surface.
    warnings : tuple of str
        What a person should know.
    """

    value: float
    uncertainty: float
    low: float
    high: float
    with_plaque: float
    without: float
    conditions: Conditions
    warnings: tuple[str, ...]


def bar_contrast(light: ArrayLike, period_px: float, where: str = "bars") -> float:
    """
    Return the contrast of a picture of bars that run along its columns or rows.

    Parameters
    ----------
    light : (h, w) float array
        Linear light, dark taken off. [1]
    period_px : float
        Of the bars. [px]
    where : str
        Name for errors.

    Returns
    -------
    contrast : float
        Amplitude of the fundamental over the mean; for a sine it is Michelson's (max - min)/(max + min). [1]

    Raises
    ------
    InputError
        Fewer than three periods are in the picture, or no light.

    Notes
    -----
    Fitted with a trend, so that uneven light does not count; a veil of light lowers it as it must. Sharp full bars
    give 4/π: it cancels in the ratio with and without the plaque, and so does the lens.
    """
    profile = _across(np.asarray(light, dtype=float), period_px)
    if not (len(profile) >= _CYCLES * period_px and period_px >= 4.0):
        raise InputError(
            where,
            f"{len(profile)} px and a period of {period_px:g} px",
            "three periods of 4 px or more",
            "Zoom.",
        )
    if not profile.mean() > 0:
        raise InputError(where, "no light", "a lit target", "Check the frames.")
    return float(abs(_amplitude(profile, period_px)) / profile.mean())


def check_bars(light: ArrayLike, period_px: float, where: str = "bars") -> None:
    """
    Pass a picture of a target alone that shows bars of a period, and nothing else of weight.

    Parameters
    ----------
    light : (h, w) float array
        Linear light. [1]
    period_px : float
        Of the bars. [px]
    where : str
        Name for errors.

    Raises
    ------
    InputError
        Bars of this period make less than half of what varies.

    Notes
    -----
    Sharp bars hold 81 % of their variance in the fundamental and 9 % in the third harmonic (Fourier); blur raises it.
    """
    profile = _across(np.asarray(light, dtype=float), period_px)
    design, fit = _fitted(profile, period_px)
    trend = design[:, :3] @ np.linalg.lstsq(design[:, :3], profile, rcond=None)[0]
    varies, left = float(np.var(profile - trend)), float(np.var(profile - design @ fit))
    if not left <= 0.5 * varies:
        raise InputError(
            where,
            f"no bars of {period_px:.4g} px: they make {100 * (1 - left / varies):.0f} % of what varies",
            "bars of 1 / (frequency_per_mm x mm_per_px) along a side of the picture",
            'Correct frequency and scale, or state target = "edge" in [geometry] for a slanted edge.',
        )


def _across(values: Floats, period: float) -> Floats:
    """Return the mean along the bars, whichever side they run along."""
    profiles = values.mean(axis=0), values.mean(axis=1)
    return max(profiles, key=lambda profile: abs(_amplitude(profile, period)))


def _fitted(profile: Floats, period: float) -> tuple[Floats, Floats]:
    """Return a trend, a wave of a period and its third harmonic, and how much of each a profile holds."""
    if not period > 0:
        raise InputError("bars", f"a period of {period:g} px", "above 0", "Correct it.")
    x = np.arange(len(profile), dtype=float)
    wave = 2 * np.pi * x / period
    centred = (x - x.mean()) / len(x)
    design = np.column_stack(
        [np.ones_like(x), centred, centred**2, np.cos(wave), np.sin(wave), np.cos(3 * wave), np.sin(3 * wave)]
    )
    return design, np.linalg.lstsq(design, profile, rcond=None)[0]


def _amplitude(profile: Floats, period: float) -> complex:
    fit = _fitted(profile, period)[1]
    return complex(fit[3], -fit[4])


def edge_contrast(light: ArrayLike, frequency_per_px: float, where: str = "edge") -> float:
    """
    Return the contrast of a slanted edge at a frequency.

    Parameters
    ----------
    light : (h, w) float array
        Linear light about one edge, dark taken off. [1]
    frequency_per_px : float
        Spatial frequency in the picture. [1/px]
    where : str
        Name for errors.

    Returns
    -------
    contrast : float
        Michelson contrast of the far levels times the transfer at the frequency: a veil counts too. [1]

    Raises
    ------
    InputError
        There is no slanted straight edge, or the frequency is beyond half a cycle a pixel.
    """
    if not 0 < frequency_per_px <= 0.5:
        raise InputError(
            where, f"{frequency_per_px:g} cycles a pixel", "above 0 to 0.5", "Zoom in on the target."
        )
    edge = edge_transfer(light, where)
    return edge.contrast * edge.at(frequency_per_px)


def reduce_clarity(
    with_plaque: Sequence[float], without: Sequence[float], conditions: Conditions, where: str = "clarity"
) -> Clarity:
    """
    Return the clarity of a plaque from contrasts of one target, repeated.

    Parameters
    ----------
    with_plaque, without : sequence of float
        Contrasts of repeated frames, by `bar_contrast` or `edge_contrast`, the same for both. [1]
    conditions : Conditions
        Distance, frequency, thickness, axis, surface.
    where : str
        Name for errors.

    Returns
    -------
    clarity : Clarity
        Ratio of the means; the lens and the target cancel.

    Raises
    ------
    InputError
        A contrast is not positive or the plaque seems to add contrast.

    Notes
    -----
    The distance enters by the lobe of scattered light: with the small-angle law S + (1-S) exp(-2π²(zθf)²) and no light
    unscattered the ratio moves by 2 C ln(1/C) dz/z, which bounds other lobes and is used.
    """
    seen, alone = np.asarray(with_plaque, dtype=float), np.asarray(without, dtype=float)
    if seen.size == 0 or alone.size == 0 or not (np.all(seen >= 0) and np.all(alone > 0)):
        raise InputError(
            where, "contrasts that are not above 0", "frames with and without plaque", "Check them."
        )
    if not (conditions.distance_mm >= 0 and conditions.frequency_per_mm > 0 and conditions.thickness_mm > 0):
        raise InputError(where, f"conditions {conditions}", "distance, frequency, thickness", "State them.")
    value = float(seen.mean() / alone.mean())
    relative = [
        float(each.std(ddof=1)) / each.mean() / sqrt(each.size) if each.size > 1 else _lone(each)
        for each in (seen, alone)
    ]
    own = value * sqrt(sum(part**2 for part in relative))
    fewest = min(seen.size, alone.size)
    t = float(stdtrit(fewest - 1, 0.975)) if fewest > 1 else 1.96
    bounded = min(max(value, 1e-6), 1.0)
    moved = 0.0
    if conditions.distance_mm > 0:
        moved = (
            2.0 * bounded * log(1.0 / bounded) * conditions.distance_uncertainty_mm / conditions.distance_mm
        )
    half = sqrt((t * own) ** 2 + (1.96 * moved) ** 2)
    if not value - half <= 1.0:
        raise InputError(
            where,
            f"a contrast {value:.3f} times that without the plaque",
            "at most 1",
            "Focus both frames on the target again, and compare the same part of it.",
        )
    return Clarity(
        value,
        half / 1.96,
        value - half,
        value + half,
        float(seen.mean()),
        float(alone.mean()),
        conditions,
        _cautions(conditions, fewest, where),
    )


def _lone(contrast: Floats) -> float:
    """Return the relative uncertainty of a single frame: 1 %, focus and placing (assumed, no source)."""
    del contrast
    return 0.01


def _cautions(conditions: Conditions, frames: int, where: str) -> tuple[str, ...]:
    words = []
    if conditions.distance_mm < 1.0:
        words.append(f"{where}: target in contact with the plaque; everything looks clear in contact")
    if frames < 3:
        words.append(f"{where}: {frames} frame(s) each; three or more, refocused, show their scatter")
    return tuple(words)


@dataclass(frozen=True)
class Matched:
    """
    What is inside a plaque and what is on its faces.

    Attributes
    ----------
    inside_pct, inside_uncertainty_pct : float
        Haze that stays when the faces are wetted: an upper bound of the inside's, with its uncertainty. [%]
    faces_pct : float
        What wetting took away. [%]
    verdict : str
        In words.
    """

    inside_pct: float
    inside_uncertainty_pct: float
    faces_pct: float
    verdict: str


def separate_surface(
    dry_pct: float, dry_uncertainty_pct: float, wet_pct: float, wet_uncertainty_pct: float
) -> Matched:
    """
    Return how much of a haze is inside a plaque, from readings dry and wetted between flat windows.

    Parameters
    ----------
    dry_pct, dry_uncertainty_pct : float
        Haze as printed, and its standard uncertainty. [%]
    wet_pct, wet_uncertainty_pct : float
        Haze with both faces wetted by a liquid of nearly the plaque's index. [%]

    Returns
    -------
    matched : Matched
        If the wet haze is not far below the dry one, voids, gaps or crystals inside make it.

    Raises
    ------
    InputError
        A value is no haze.

    Notes
    -----
    Clear shares multiply, so 1 - faces = (1 - dry)/(1 - wet). Water leaves 17 % of the scatter of fine roughness on
    index 1.57, oil of 1.47 leaves 3 %.
    """
    for value in (dry_pct, wet_pct):
        if not -5.0 <= value < 100.0:
            raise InputError("separate_surface", f"haze {value:g} %", "0 to 100 %", "Check the readings.")
    faces = 100.0 * (1.0 - (1.0 - dry_pct / 100.0) / (1.0 - wet_pct / 100.0))
    doubt = sqrt(dry_uncertainty_pct**2 + wet_uncertainty_pct**2)
    if dry_pct - wet_pct <= 2.0 * doubt:
        verdict = "wetting changed nothing that can be told: the haze is inside (voids, gaps, crystals)"
    elif wet_pct <= 2.0 * wet_uncertainty_pct:
        verdict = "wetting took the haze away: it is on the faces"
    else:
        verdict = "both: part of the haze is on the faces, the rest inside"
    return Matched(wet_pct, wet_uncertainty_pct, faces, verdict)
