"""Filter and roughness parameters of a profile."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from voidless.errors import InputError

__all__ = ["CUTOFFS_MM", "Roughness", "gaussian_mean_line", "roughness"]

Floats = NDArray[np.float64]

ALPHA = float(np.sqrt(np.log(2.0) / np.pi))
"""Constant of the Gaussian filter: half of a wave of the cutoff's length passes. [1] ISO 16610-21."""
CUTOFFS_MM = ((0.1e-3, 0.25), (2e-3, 0.8), (10e-3, 2.5), (float("inf"), 8.0))
"""Largest Ra [mm] and the cutoff for it [mm]: ISO 4288 for profiles without a period, from memory."""
SECTIONS = 5
FEWEST = 100


@dataclass(frozen=True)
class Roughness:
    """
    Roughness of a profile.

    Attributes
    ----------
    ra_um, rq_um : float
        Mean and root mean square of the heights. [µm]
    rz_um : float
        Mean over the sections of the highest less the lowest point of each. [µm]
    rt_um : float
        Highest less lowest point of the whole evaluation length. [µm]
    rdq : float
        Root mean square slope. [1]
    cutoff_mm : float
        Of the filter. [mm]
    sections : int
        Whole lengths of the cutoff that were evaluated. [1]
    rz_scatter_um : float
        Standard deviation of the sections' heights over the root of their number: how even the face is. [µm]
    flags : tuple of str
        What to know.
    """

    ra_um: float
    rq_um: float
    rz_um: float
    rt_um: float
    rdq: float
    cutoff_mm: float
    sections: int
    rz_scatter_um: float
    flags: tuple[str, ...]


def gaussian_mean_line(height: Floats, step: float, cutoff: float) -> Floats:
    """
    Return the waviness of an evenly spaced profile.

    Parameters
    ----------
    height : (n,) float array
        Heights. [any unit]
    step : float
        Spacing. [unit of length]
    cutoff : float
        Length of the wave of which half passes. [unit of length]

    Returns
    -------
    line : (n,) float array
        Weighted means; within half a cutoff of an end they hold no more than half a window. [unit of height]

    Notes
    -----
    ISO 16610-21: weight exp(-pi (x / (alpha cutoff))²) / (alpha cutoff), alpha = sqrt(ln 2 / pi).
    """
    half = int(np.ceil(cutoff / step))
    place = np.arange(-half, half + 1) * step
    weight = np.exp(-np.pi * (place / (ALPHA * cutoff)) ** 2)
    length = height.size + weight.size - 1
    size = 1 << (length - 1).bit_length()
    kernel = np.fft.rfft(weight, size)
    total = np.fft.irfft(np.fft.rfft(height, size) * kernel, size)[half : half + height.size]
    share = np.fft.irfft(np.fft.rfft(np.ones(height.size), size) * kernel, size)[half : half + height.size]
    return np.asarray(total / share)


def roughness(position_mm: Floats, height_um: Floats, cutoff_mm: float | None = None) -> Roughness:
    """
    Return the roughness of a profile.

    Parameters
    ----------
    position_mm : (n,) float array
        Rising, evenly spaced within 1 %. [mm]
    height_um : (n,) float array
        Heights. [µm]
    cutoff_mm : float or None
        None chooses it by Ra. [mm]

    Returns
    -------
    roughness : Roughness
        Half a cutoff at each end is left out, as ISO 16610-21 warns of its ends.

    Raises
    ------
    InputError
        Fewer than 100 points, uneven spacing, or a profile shorter than two cutoffs.

    Notes
    -----
    ISO 21920-2 names (text not reached; from memory): Ra, Rq, Rt over the evaluation length, Rz the mean of
    section heights, Rdq the root mean square of the local slope by the seven-point formula of ISO 4287. A straight line
    is taken out before the filter. No short-wave filter is applied: the instrument's own resolution limits Rdq.
    """
    x, z = np.asarray(position_mm, dtype=float), np.asarray(height_um, dtype=float)
    if x.size < FEWEST or x.size != z.size or not np.all(np.isfinite(z)):
        raise InputError(
            "profile", f"{x.size} points", f"at least {FEWEST} finite heights", "Trace a longer profile."
        )
    steps = np.diff(x)
    step = float(np.ptp(x)) / (x.size - 1)
    if not (step > 0 and np.all(np.abs(steps - step) <= 0.01 * step + 1e-9)):
        raise InputError(
            "profile", "positions that are not evenly spaced and rising", "even steps", "Export it so."
        )
    z = z - np.polynomial.Polynomial.fit(x, z, 1)(x)
    chosen = cutoff_mm if cutoff_mm is not None else _cutoff(z, step)
    if not 0 < 2.0 * chosen <= float(np.ptp(x)):
        raise InputError(
            "profile", f"{np.ptp(x):.3g} mm for a cutoff of {chosen:g} mm", "two cutoffs", "Trace longer."
        )
    rough = z - gaussian_mean_line(z, step, chosen)
    cut = round(chosen / 2.0 / step)
    return _parameters(rough[cut : rough.size - cut], step, chosen)


def _cutoff(height: Floats, step: float) -> float:
    """Return the first cutoff whose own Ra lies in its class."""
    for largest, cutoff in CUTOFFS_MM:
        rough = height - gaussian_mean_line(height, step, cutoff)
        if float(np.mean(np.abs(rough - rough.mean()))) * 1e-3 <= largest:
            return cutoff
    return CUTOFFS_MM[-1][1]


def _parameters(rough: Floats, step: float, cutoff: float) -> Roughness:
    rough = rough - rough.mean()
    per = round(cutoff / step)
    sections = max(min(rough.size // per, SECTIONS), 1)
    part = rough[: sections * per]
    heights = np.array([np.ptp(section) for section in np.array_split(part, sections)])
    flags = []
    if sections < SECTIONS:
        flags.append(f"{sections} section(s) of the cutoff {cutoff:g} mm; ISO 21920 asks for {SECTIONS}")
    if per < 50:
        flags.append(f"{per} points a cutoff: slopes and crests are coarse")
    slope = (
        rough[6:] - 9 * rough[5:-1] + 45 * rough[4:-2] - 45 * rough[2:-4] + 9 * rough[1:-5] - rough[:-6]
    ) / (60.0 * step * 1e3)
    scatter = float(heights.std(ddof=1)) / sections**0.5 if sections > 1 else float("nan")
    return Roughness(
        float(np.mean(np.abs(part))),
        float(np.sqrt(np.mean(part**2))),
        float(heights.mean()),
        float(np.ptp(part)),
        float(np.sqrt(np.mean(slope**2))),
        cutoff,
        sections,
        scatter,
        tuple(flags),
    )
