"""Pores on a photo of a printed layer: dark marks in a brighter surface, for counting."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from voidless.errors import InputError
from voidless.measure.images.levels import otsu

__all__ = ["LayerPores", "find_layer_pores"]

Floats = NDArray[np.float64]
Mask = NDArray[np.bool_]

CONTRAST = 0.25
"""How much darker than the surface about it a pore is, as share. [1] Common practice, no source."""
SEED = 0.42
"""How dark its darkest part is. [1] Common practice, no source."""
CROWD = 0.2
"""Share of dark marks about a place above which it is no surface with pores. [1] Common practice, no source."""
DIM = 0.7
"""Brightness of the dimmest surface over the level that splits the photo. [1] Common practice, no source."""
_BLUR = 1.5
_SMALLEST = 30
_RIM = 3
"""Width of the rim about a mark. [px]"""
_OPEN = 0.1
"""Most of a pore's rim that is as dark as a pore. [1] Assumed, no source."""
_LONGEST = 3
"""Longest pore over the largest width of one. [1] Longer is what the surface ends at. Assumed, no source."""


@dataclass(frozen=True)
class LayerPores:
    """
    Pores of a layer photo.

    Attributes
    ----------
    mask : (h, w) bool array
        Pores, glints in them filled.
    surface : (h, w) bool array
        What was taken for the printed surface.
    area : (k,) float array
        Of each pore. [px²]
    row, column : (k,) float array
        Centres. [px]
    share : float
        Pores over surface. [1]
    """

    mask: Mask
    surface: Mask
    area: Floats
    row: Floats
    column: Floats
    share: float


def find_layer_pores(
    grey: Floats, where: str = "photo", largest: int = 60, surface: Mask | None = None
) -> LayerPores:
    """
    Return the pores of a photo of a layer.

    Parameters
    ----------
    grey : (h, w) float array
        Photo, JPEG will do. [1]
    where : str
        Name for errors.
    largest : int
        Largest width of a pore across its narrow side. [px]
    surface : (h, w) bool array or None
        The printed surface; None takes what is bright over the width of a pore.

    Returns
    -------
    pores : LayerPores
        Counts and areas of a picture, not a measure of void share: light, gloss and focus decide what looks dark.

    Raises
    ------
    InputError
        The photo is small or shows no surface.

    Notes
    -----
    A pore is darker than the surface all about it within its width (a closing) by a share, and part of it by more. The
    shares were chosen on four photos of one printer; the figures in docs/methods/micrographs.md are of those.
    """
    from scipy import ndimage

    if grey.ndim != 2 or min(grey.shape) < 4 * largest or not np.all(np.isfinite(grey)):
        raise InputError(
            where, f"a photo of {grey.shape}", f"{4 * largest} pixels or more a side", "Check it."
        )
    soft = ndimage.gaussian_filter(grey, _BLUR)
    # glints are brighter than the surface: they are cut to what is usual about them
    # a sixteenth of a pore's width is fine enough for that, and keeps the work per pixel the same for wide pores
    step = max(4, largest // 15)
    usual = ndimage.percentile_filter(soft[::step, ::step], 60, size=largest // step + 1)
    usual = _enlarged(usual, step, soft.shape)
    level = np.minimum(soft, usual)
    closed = ndimage.grey_closing(level, size=(largest, largest))
    dark = 1.0 - level / np.maximum(closed, 1e-6)
    inside = _surface(usual) if surface is None else surface
    # where dark marks crowd it is the bed or a rough skin, not a surface with pores
    crowd = ndimage.uniform_filter((dark > CONTRAST).astype(float), 2 * largest)
    inside = inside & (crowd < CROWD)
    if inside.sum() < largest**2:
        raise InputError(where, "no bright surface", "a photo of a printed layer", "State the region.")
    mask = ndimage.binary_fill_holes(_pores(level, closed, dark, inside, largest))
    inside = inside | mask
    labels, count = ndimage.label(mask)
    index = np.arange(1, count + 1)
    centres = np.array(ndimage.center_of_mass(mask, labels, index)).reshape(-1, 2)
    area = np.asarray(ndimage.sum_labels(mask, labels, index), dtype=float).reshape(-1)
    return LayerPores(mask, inside, area, centres[:, 0], centres[:, 1], float(mask.sum() / inside.sum()))


def _pores(level: Floats, closed: Floats, dark: Floats, inside: Mask, largest: int) -> Mask:
    """
    Return dark marks that are pores: on the surface at least in part, dark enough, closed all round, not too long.

    A mark counts whole or not at all: cut at the surface's border, the bed beside it would leave slivers like pores.
    """
    from scipy import ndimage

    marks = dark > CONTRAST
    labels, count = ndimage.label(marks)
    if count == 0:
        return marks
    index = np.arange(1, count + 1)
    size = np.bincount(labels.ravel(), minlength=count + 1)[1:]
    within = np.bincount(labels[inside], minlength=count + 1)[1:]
    length = np.array([max(part.stop - part.start for part in box) for box in ndimage.find_objects(labels)])
    deepest = np.asarray(ndimage.maximum(dark, labels, index))
    # a bay of the bed is as dark as a pore, but on one side what is about it is dark too
    near = ndimage.grey_dilation(labels, size=(2 * _RIM + 1, 2 * _RIM + 1))
    rim = (near > 0) & (labels == 0)
    about = np.asarray(ndimage.mean(closed, labels, index))
    open_ = level[rim] < (1.0 - CONTRAST) * about[near[rim] - 1]
    around = np.bincount(near[rim], minlength=count + 1)[1:]
    share = np.bincount(near[rim], open_, count + 1)[1:] / np.maximum(around, 1)
    kept = (deepest > SEED) & (size >= _SMALLEST) & (within > 0) & (length <= _LONGEST * largest)
    kept &= share <= _OPEN
    return np.asarray(np.concatenate([[False], kept])[labels])


def _enlarged(small: Floats, step: int, shape: tuple[int, ...]) -> Floats:
    from scipy import ndimage

    rows, columns = ((np.arange(side) - 0.5 * (step - 1)) / step for side in shape)
    return np.asarray(
        ndimage.map_coordinates(small, np.meshgrid(rows, columns, indexing="ij"), order=1, mode="nearest")
    )


def _surface(usual: Floats) -> Mask:
    """Return what is bright over the width of a pore: the printed surface, if the rest is dark."""
    if not np.ptp(usual) > 1e-6 * float(usual.max()):
        return np.ones(usual.shape, dtype=bool)
    counts, edges = np.histogram(usual, 256)
    level = edges[otsu(counts).level + 1]
    return np.asarray(usual > DIM * level)
