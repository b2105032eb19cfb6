"""Voids of a micrograph: share of the area, each void's size and shape, and how well they are known."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, inf, sqrt

import numpy as np
from numpy.typing import NDArray

from voidless.errors import InputError
from voidless.measure.images.levels import even_light, robust_spread
from voidless.measure.images.void_level import BAND, CERTAIN, VoidLevel, own_level

__all__ = ["Voids", "find_voids"]

Floats = NDArray[np.float64]
Mask = NDArray[np.bool_]

HALF_CERTAIN = 5.5
"""Standard deviations of noise between the solid and the mid-level, so that noise alone makes no void. [1]"""
_SMOOTH = (0.0, 0.7, 1.0, 1.5, 2.0, 3.0)
"""Widths of smoothing tried before the threshold, the least that will do. [px]"""
_NEAR = 16.0
"""Width over which the solid beside a void is averaged. [px]"""
_SHIFTS = 48
_LIGHT_ROUNDS = 2
_UNSEEN = 3.0
"""How many of the smallest voids may be there unseen. [1]"""
_OPEN = 0.3
"""Share of plain solid beside seams below which voids count as lying everywhere. [1]"""
_CROWDED = 3.0
"""Error of the sum over the seams of voids that lie everywhere, over that of as many independent pixels: the light is
known from the same noise (1.9 to 3.1 in simulated lattices of voids). [1]"""
_PLAIN = 0.2
"""Share of the picture that plain solid should have for its light to be known. [1]"""


@dataclass(frozen=True)
class Voids:
    """
    What a picture shows of voids.

    Attributes
    ----------
    share, uncertainty : float
        Share of the area of interest, and its standard uncertainty as a measure of this picture. [1]
    limit : float
        Share below which voids may be there unseen: three of the smallest that count. [1]
    pixels : int
        Area of interest. [1]
    level : VoidLevel or None
        None where nothing is dark enough to be a void.
    noise : float
        Standard deviation of the solid over its grey. [1]
    smoothing : float
        Width of the smoothing before the threshold. [px]
    mask : (h, w) bool array
        Voids, their glints filled.
    area : (k,) float array
        Each void's area, edges weighed by their grey. [px²]
    row, column : (k,) float array
        Centres. [px]
    long, short : (k,) float array
        Axes of the ellipse of the same second moments. [px]
    angle : (k,) float array
        Direction of the long axis against the columns, -π/2 to π/2. [rad]
    whole : (k,) bool array
        Whether a void lies inside the area of interest and does not touch its border.
    shares : tuple of (str, float)
        Sources of the uncertainty of the share, each with its effect. [1]
    """

    share: float
    uncertainty: float
    limit: float
    pixels: int
    level: VoidLevel | None
    noise: float
    smoothing: float
    mask: Mask
    area: Floats
    row: Floats
    column: Floats
    long: Floats
    short: Floats
    angle: Floats
    whole: Mask
    shares: tuple[tuple[str, float], ...]


def _smoothed(flat: Floats, width: float) -> Floats:
    from scipy import ndimage

    return flat if width == 0.0 else np.asarray(ndimage.gaussian_filter(flat, width, mode="reflect"))


def _dark(flat: Floats, inside: Mask) -> Mask:
    """Return pixels that are surely darker than the solid, as they are or smoothed."""
    found = np.zeros(flat.shape, dtype=bool)
    for width in (0.0, 1.5):
        soft = _smoothed(flat, width)
        centre = float(np.median(soft[inside]))
        spread = robust_spread(soft[inside & ~found])
        below = inside & (soft < centre - CERTAIN * max(spread, 1e-6))
        # the smoothing mirrors a picture at its edge, where noise is therefore averaged over half as many pixels
        edge = ceil(3.0 * width)
        judged = np.s_[edge : flat.shape[0] - edge, edge : flat.shape[1] - edge]
        found[judged] |= below[judged]
    return found


def _flat(grey: Floats, inside: Mask, light: Floats | None, where: str) -> tuple[Floats, Mask]:
    """Return grey over the light that falls there, and what is surely dark."""
    dark = np.zeros(grey.shape, dtype=bool)
    for left in reversed(range(_LIGHT_ROUNDS)):
        solid = _far(dark, inside)
        falls = even_light(grey, solid) if light is None else light
        if left and light is None:  # at first dark marks count as light, and its slope may lead below nothing
            falls = np.where(falls > 0, falls, float(np.median(grey[inside])))
        if falls.shape != grey.shape or not np.all(falls > 0):
            raise InputError(
                where,
                f"places of {grey.shape} pixels without light",
                "light everywhere, and a flat picture of the same size",
                "Light it evenly, or state a region.",
            )
        flat = grey / falls
        if light is not None:
            flat /= float(np.median(flat[solid]))
        dark = _dark(flat, inside)
    return flat, dark


def _far(dark: Mask, inside: Mask) -> Mask:
    """Return solid that is as far from dark pixels as leaves a fifth of the picture."""
    from scipy import ndimage

    if not dark.any():
        return inside
    for width in (BAND, 2, 1):
        far = inside & ~ndimage.binary_dilation(dark, iterations=width)
        if far.sum() >= _PLAIN * inside.sum():
            return far
    return inside & ~dark


def _width(flat: Floats, solid: Mask, contrast: float, where: str) -> tuple[float, Floats]:
    """Return the least smoothing that keeps noise from crossing the mid-level, and the smoothed picture."""
    for width in _SMOOTH:
        soft = _smoothed(flat, width)
        if HALF_CERTAIN * robust_spread(soft[solid]) <= 0.5 * contrast:
            return width, soft
    raise InputError(
        where,
        f"voids differ from the solid by {100 * contrast:.0f} % and the solid scatters by "
        f"{100 * robust_spread(flat[solid]):.0f} %",
        "a contrast above eleven times the noise, once smoothed over 3 px",
        "Polish, light evenly, average frames, or count points by eye.",
    )


def find_voids(
    grey: Floats,
    where: str = "picture",
    inside: Mask | None = None,
    void_level: VoidLevel | None = None,
    light: Floats | None = None,
    smallest: float = 1.0,
) -> Voids:
    """
    Return the voids of a micrograph whose voids are darker than its solid.

    Parameters
    ----------
    grey : (h, w) float array
        Picture, proportional to light. [1]
    where : str
        Name of the picture, for errors.
    inside : (h, w) bool array or None
        Area of interest; None is all of it.
    void_level : VoidLevel or None
        Grey of a reference void over that of the solid; None takes it from the larger voids.
    light : (h, w) float array or None
        Picture of an even surface under the same light; None takes the light from the solid.
    smallest : float
        Smallest area that counts as a void. [px²]

    Returns
    -------
    voids : Voids
        Share with its uncertainty as a measure of this picture; what the specimen holds elsewhere is
        a matter of fields (`voidless.measure.images.points`).

    Raises
    ------
    InputError
        The picture is too small or too dark, the contrast is too low for its noise, or voids show no level of
        their own.

    Notes
    -----
    A pixel belongs to a void below the mid-level between solid and void, after the least smoothing that keeps
    noise from making voids. Areas are not counts of those pixels: within a seam about each edge a pixel counts
    by how far its grey has gone from solid to void, which blur does not change. Uncertainty: the seam laid
    elsewhere on the solid at random places (noise, texture and uneven light, with all their correlation), and
    the level of voids.
    """
    region = np.ones(grey.shape, dtype=bool) if inside is None else inside
    if grey.ndim != 2 or min(grey.shape) < 16 or region.sum() < 256:
        raise InputError(where, f"a picture of {grey.shape}", "16 x 16 pixels or more", "Check the region.")
    if not (np.all(np.isfinite(grey)) and float(np.median(grey[region])) > 0):
        raise InputError(
            where, "the solid is black", "a solid brighter than its voids", "Invert the picture."
        )
    flat, dark = _flat(grey, region, light, where)
    noise = robust_spread(flat[region & ~dark])
    if void_level is None and dark.sum() <= _UNSEEN * max(smallest, 1.0):
        return _none(region, noise, smallest)
    level = void_level or own_level(flat, dark, region, where)
    contrast = 1.0 - level.value
    if not 0.02 < contrast < inf:
        raise InputError(
            where, f"a void grey of {level.value:.3g} of the solid's", "below 0.98", "Correct it."
        )
    width, soft = _width(flat, region & ~dark, contrast, where)
    below = soft < 1.0 - 0.5 * contrast
    if width > 0.0:
        _refuse_fine_voids(flat, below, region, contrast, where)
    return _measured(flat, below & region, region, level, noise, width, smallest)


def _refuse_fine_voids(flat: Floats, below: Mask, region: Mask, contrast: float, where: str) -> None:
    """Refuse where dark pixels away from the voids outnumber bright ones: voids that smoothing has wiped out."""
    from scipy import ndimage

    away = flat[region & ~ndimage.binary_dilation(below, iterations=BAND)]
    lost, mirrored = int((away < 1.0 - 0.5 * contrast).sum()), int((away > 1.0 + 0.5 * contrast).sum())
    excess, seen = lost - mirrored, int((below & region).sum())
    if excess > CERTAIN * sqrt(lost + mirrored + 1) and excess > 0.05 * seen:
        raise InputError(
            where,
            f"dark marks finer than the noise lets see (voids or scratches), about "
            f"{100 * excess / region.sum():.2g} % of the area",
            "voids of several pixels, or less noise",
            "Average frames, take the picture at a larger scale, or state void_grey where they are faint scratches.",
        )


def _none(region: Mask, noise: float, smallest: float) -> Voids:
    empty, pixels = np.zeros(0), int(region.sum())
    limit = _UNSEEN * max(smallest, 1.0) / pixels
    return Voids(
        0.0, limit / 3.0, limit, pixels, None, noise, 0.0, np.zeros(region.shape, dtype=bool),
        empty, empty, empty, empty, empty, empty, np.zeros(0, dtype=bool), (("unseen", limit / 3.0),),
    )  # fmt: skip


def _measured(
    flat: Floats, below: Mask, region: Mask, level: VoidLevel, noise: float, width: float, smallest: float
) -> Voids:
    from scipy import ndimage

    mask = ndimage.binary_fill_holes(below & region)
    labels, count = ndimage.label(mask, structure=np.ones((3, 3)))
    if smallest > 1.0 and count:
        sizes = np.bincount(labels.ravel())
        mask &= (sizes >= smallest)[labels]
        labels, count = ndimage.label(mask, structure=np.ones((3, 3)))
    if count == 0:
        return _none(region, noise, smallest)
    core = ndimage.binary_erosion(mask, iterations=BAND, border_value=1)
    seam = ndimage.binary_dilation(mask, iterations=BAND) & ~core & region
    free = region & ~ndimage.binary_dilation(mask, iterations=BAND)
    filled = (1.0 - flat / _beside(flat, free)) / (1.0 - level.value)
    weight = np.where(core, 1.0, np.where(seam, filled, 0.0))
    near = ndimage.distance_transform_edt(labels == 0, return_distances=False, return_indices=True)
    owner = np.where(seam | core, labels[tuple(near)], 0)
    pixels = int(region.sum())
    share = float(weight.sum()) / pixels
    in_seam = float(filled[seam].sum()) / pixels
    effects = (
        ("noise and uneven light", _elsewhere(filled, seam, free, noise / (1.0 - level.value)) / pixels),
        ("level of voids", in_seam * level.uncertainty / (1.0 - level.value)),
        ("unseen", 1.0 / pixels),
    )
    total = sqrt(sum(effect**2 for _, effect in effects))
    border = np.unique(labels[ndimage.binary_dilation(~region, border_value=1) & mask])
    whole = ~np.isin(np.arange(1, count + 1), border)
    limit = _UNSEEN * max(smallest, 1.0) / pixels
    area, row, column, long, short, angle = _shapes(weight, owner, count)
    return Voids(
        share, total, limit, pixels, level, noise, width, mask,
        area, row, column, long, short, angle, whole, effects,
    )  # fmt: skip


def _beside(flat: Floats, free: Mask) -> Floats:
    """Return the grey of the plain solid about each pixel: what the tiles of even light leave, curvature above all."""
    from scipy import ndimage

    weight = ndimage.gaussian_filter(free.astype(float), _NEAR)
    seen = ndimage.gaussian_filter(np.where(free, flat, 0.0), _NEAR)
    return np.where(weight > 0.05, seen / np.maximum(weight, 0.05), 1.0)


def _elsewhere(filled: Floats, seam: Mask, free: Mask, noise: float) -> float:
    """
    Return the standard deviation of what the seam sums to when it is laid over plain solid. [px]

    The seam is moved to random places; what falls on voids or outside is left out and made up for. Where voids
    leave hardly any plain solid between their seams, the noise between them and what it does to the light count.
    """
    rng = np.random.default_rng(0)  # places only: the same picture gives the same answer
    rows, columns = np.nonzero(seam)
    height, width = seam.shape
    sums = []
    for down, right in rng.integers((0, 0), (height, width), (_SHIFTS, 2)):
        place = ((rows + down) % height, (columns + right) % width)
        there = free[place]
        kept = int(there.sum())
        if kept >= 0.2 * len(rows):
            sums.append(float(filled[place][there].sum()) * sqrt(len(rows) / kept))
    if len(sums) < _SHIFTS // 4 or free.sum() < _OPEN * (free.sum() + len(rows)):
        return _CROWDED * noise * sqrt(float(len(rows)))
    return sqrt(float(np.mean(np.square(sums))))


def _shapes(
    weight: Floats, owner: NDArray[np.int_], count: int
) -> tuple[Floats, Floats, Floats, Floats, Floats, Floats]:
    """Return area, row, column, long and short axis and angle of each void, by weighted moments."""
    rows, columns = np.nonzero(owner)
    who, each = owner[rows, columns] - 1, np.maximum(weight[rows, columns], 0.0)

    def summed(values: Floats) -> Floats:
        return np.bincount(who, weights=values, minlength=count).astype(float)

    area = summed(weight[rows, columns])
    mass = np.maximum(summed(each), 1e-9)
    row, column = summed(each * rows) / mass, summed(each * columns) / mass
    down, right = rows - row[who], columns - column[who]
    # a pixel is itself a twelfth of a pixel wide
    vertical, level = summed(each * down**2) / mass + 1 / 12, summed(each * right**2) / mass + 1 / 12
    mixed = summed(each * down * right) / mass
    mean, half = 0.5 * (vertical + level), np.hypot(0.5 * (level - vertical), mixed)
    long, short = 4.0 * np.sqrt(mean + half), 4.0 * np.sqrt(np.maximum(mean - half, 0.0))
    return area, row, column, long, short, 0.5 * np.arctan2(2.0 * mixed, level - vertical)
