"""A stack of slices to void share, one slice in memory at a time."""

from __future__ import annotations

import io
from collections import deque
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import chain
from math import sqrt
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from voidless.errors import InputError
from voidless.measure.files.limits import LARGEST
from voidless.measure.images.levels import otsu, trust_split
from voidless.measure.images.picture import complaints, open_picture, unpacked

__all__ = ["StackVoids", "reduce_stack", "slices_of"]

Floats = NDArray[np.float64]
Mask = NDArray[np.bool_]
Slices = Callable[[], Iterable[NDArray[Any]]]
"""Gives the slices anew each time it is called."""

_CLASSES = 1024
PEAK = 0.8
"""Share of a peak's height above which it is averaged. [1] Our choice."""
_RIM = 2
_EDGE = 3
"""Voxels on both sides of an edge that count by their grey. [1]"""


@dataclass(frozen=True)
class StackVoids:
    """
    Voids of a stack.

    Attributes
    ----------
    share : float
        Closed voids over the part, voids included. [1]
    uncertainty : float
        Standard uncertainty from the levels of solid and void alone. [1]
    by_slice : (n,) float array
        Share of each slice, NaN where it holds no part. [1]
    part : (n,) float array
        Voxels of the part, voids included, by slice. [1]
    solid, void : float
        Levels. [grey]
    warnings : tuple of str
        What a person should know.
    """

    share: float
    uncertainty: float
    by_slice: Floats
    part: Floats
    solid: float
    void: float
    warnings: tuple[str, ...]


def slices_of(files: Sequence[tuple[str, bytes | Path]]) -> Slices:
    """
    Return the slices of a stack as something that gives them anew, one unpacked at a time.

    Parameters
    ----------
    files : sequence of (str, bytes or Path)
        Name, and content or place: one file of many pages (TIFF), or one file a slice in their order.

    Returns
    -------
    slices : callable
        Each call reads the files from the start; faults show while they are read.

    Raises
    ------
    InputError
        There is no file.
    """
    if not files:
        raise InputError("stack", "no files", "a TIFF of many pages, or one file a slice", "Name the files.")

    def read() -> Iterator[NDArray[Any]]:
        if len(files) == 1:
            yield from _pages(*files[0])
            return
        for name, held in files:
            values = open_picture(name, held if isinstance(held, bytes) else held.read_bytes()).values
            yield values if values.ndim == 2 else values.mean(axis=2)

    return read


def _pages(name: str, held: bytes | Path) -> Iterator[NDArray[Any]]:
    """Give the pages of a TIFF, as the file has them; what is wrong with one is one clear error."""
    import tifffile

    try:
        with (
            complaints(name),
            tifffile.TiffFile(io.BytesIO(held) if isinstance(held, bytes) else held) as file,
        ):
            for page in file.pages:
                values = unpacked(name, page)
                yield values if values.ndim == 2 else values.mean(axis=-1)
    except InputError:
        raise
    except Exception as fault:
        shown = " ".join(str(fault).split())[:120]
        raise InputError(name, f"the stack cannot be read ({shown})", "a TIFF", "Export it again.") from fault


def reduce_stack(slices: Slices, where: str = "stack", closing: int = 0) -> StackVoids:
    """
    Return the share of closed voids of a part in a stack of slices, bright solid and dark voids.

    Parameters
    ----------
    slices : callable
        Gives (h, w) arrays anew each time; it is called twice, and once more where values are no whole numbers.
    where : str
        Name for errors.
    closing : int
        Width of gaps in the outline that are bridged, so that a void open by so little counts. [px]

    Returns
    -------
    voids : StackVoids
        A void that is open to the outside within its slice is outside.

    Raises
    ------
    InputError
        There are no slices, they differ in size, or solid and void are not two grey levels.

    Notes
    -----
    First pass: one histogram of all, between the least and the largest value (floats need a pass to find these). Solid
    and dark levels are the modes on both sides of the split, and the split is believed only where its classes stand
    apart. Second pass: the part is each slice's solid with its holes filled; a voxel within two of an edge, in its
    slice or across slices, counts by its grey, so that blur costs no volume. Memory: a few slices.
    """
    counts, low, high, shape, number = _histogram(slices, where)
    split = otsu(counts)
    if not trust_split(split):
        raise InputError(
            where,
            f"two grey levels that do not stand apart ({split.separation:.1f} deviations, {100 * split.share:.2g} %)",
            "solid and air, three deviations apart, each 2 % of the stack or more",
            "Leave some air about the part, or denoise the stack.",
        )
    width = (high - low) / _CLASSES
    centre: Floats = low + (np.arange(_CLASSES, dtype=np.float64) + 0.5) * width
    dark = float(centre[: split.level + 1] @ counts[: split.level + 1] / counts[: split.level + 1].sum())
    above = counts[split.level + 1 :]
    bright = _peak(centre[split.level + 1 :], above)
    below = counts[: split.level + 1]
    dark = min(dark, _peak(centre[: split.level + 1], below))
    shares, parts, seams = [], [], 0.0
    for window in _windows(_seen(values, dark, bright, closing) for values in slices()):
        held, part, seam = _slice(window, dark, bright)
        shares.append(held / part if part else float("nan"))
        parts.append(part)
        seams += seam
    total = float(np.sum(parts))
    if not total > 0:
        raise InputError(where, "no part in the stack", "bright solid", "Invert it.")
    by_slice, part_voxels = np.array(shares), np.array(parts, dtype=float)
    share = float(np.nansum(by_slice * part_voxels) / total)
    spread = width * 2.0 / (bright - dark) * seams / total
    words = [
        f"{where}: voids finer than about two voxels are not seen; {shape[0]} x {shape[1]} x {number} voxels"
    ]
    return StackVoids(
        share, sqrt(spread**2 + (1.0 / total) ** 2), by_slice, part_voxels, bright, dark, tuple(words)
    )


def _peak(centre: Floats, counts: Floats) -> float:
    """Return the middle of the highest peak: the mean of what lies in it above `PEAK` of its height. [grey]"""
    soft = np.convolve(counts, np.ones(9) / 9.0, mode="same")
    top = int(np.argmax(soft))
    low = np.flatnonzero(soft < PEAK * soft[top])
    start = int(low[low < top].max(initial=-1)) + 1
    stop = int(low[low > top].min(initial=soft.size))
    part = slice(start, stop)
    return float(centre[part] @ soft[part]) / float(soft[part].sum())


def _histogram(slices: Slices, where: str) -> tuple[Floats, float, float, tuple[int, int], int]:
    """Return counts over all slices between the least and the largest value their type or data have."""
    low, high = _bounds(slices, where)
    counts, shape, number = np.zeros(_CLASSES), (0, 0), 0
    for values in slices():
        shape = (values.shape[0], values.shape[1]) if number == 0 and values.ndim == 2 else shape
        if values.ndim != 2 or values.shape != shape:
            raise InputError(
                where, f"a slice of {values.shape} after one of {shape}", "one size", "Check the files."
            )
        counts += np.histogram(values, bins=_CLASSES, range=(low, high))[0]
        number += 1
    if number == 0 or not counts.sum() > 0:
        raise InputError(where, "no slices", "one slice or more", "Check the files.")
    return counts, low, high, shape, number


def _bounds(slices: Slices, where: str) -> tuple[float, float]:
    """Return the ends of the histogram: those of the type, or of all slices, for the first may be air alone."""
    low, high = float("inf"), float("-inf")
    for number, values in enumerate(slices()):
        if values.dtype.kind == "u":
            return 0.0, float(np.iinfo(values.dtype).max) + 1.0
        if values.dtype.kind != "f":
            raise InputError(
                where, f"slices of type {values.dtype}", "unsigned whole numbers or floats", "Export it."
            )
        if not (values.size and np.all(np.abs(values) < LARGEST)):
            raise InputError(where, f"slice {number + 1} holds no numbers", "numbers", "Export it again.")
        low, high = min(low, float(values.min())), max(high, float(values.max()))
    return low, high if high > low else low + 1.0


@dataclass(frozen=True)
class _Seen:
    """A slice, its part with holes filled, its holes, and these one voxel wider."""

    values: NDArray[np.float32]
    filled: Mask
    holes: Mask
    wider: Mask


def _seen(values: NDArray[Any], dark: float, bright: float, closing: int) -> _Seen:
    from scipy import ndimage

    grey = np.asarray(values, dtype=np.float32)
    solid = grey > 0.5 * (dark + bright)
    if not solid.any():
        return _Seen(grey, solid, solid, solid)
    shell = ndimage.binary_closing(solid, iterations=closing) if closing else solid
    filled = ndimage.binary_fill_holes(shell)
    holes = filled & ~solid
    return _Seen(grey, filled, holes, ndimage.binary_dilation(holes) if holes.any() else holes)


def _windows(seen: Iterable[_Seen]) -> Iterator[list[_Seen | None]]:
    """Give each slice with its neighbours on both sides, itself in the middle; None beyond the ends."""
    held: deque[_Seen | None] = deque([None] * (2 * _EDGE + 1), maxlen=2 * _EDGE + 1)
    for number, one in enumerate(chain(seen, [None] * _EDGE)):
        held.append(one)
        if number >= _EDGE:
            yield list(held)


def _slice(window: Sequence[_Seen | None], dark: float, bright: float) -> tuple[float, float, float]:
    """Return void volume, part volume and how much of the void volume lies in seams, of the middle slice. [voxels]"""
    from scipy import ndimage

    own = window[_EDGE]
    if own is None or not own.filled.any():
        return 0.0, 0.0, 0.0
    part = float(own.filled.sum())
    # The caps of a void show in the slices above and below it by their grey alone.
    near, core = own.holes.copy(), own.holes
    for place, other in enumerate(window):
        holes = other.holes if other is not None else np.zeros_like(core)
        core = core & holes
        if other is not None and (left := _EDGE - abs(place - _EDGE)):
            near |= ndimage.binary_dilation(other.wider, iterations=left - 1) if left > 1 else other.wider
        near |= holes
    if not near.any():
        return 0.0, part, 0.0
    core = ndimage.binary_erosion(core, iterations=_EDGE)
    inside = ndimage.binary_erosion(own.filled, iterations=_RIM)
    seam = ((near & inside) | own.holes) & ~core
    emptiness = (bright - own.values[seam]) / (bright - dark)
    return float(core.sum() + emptiness.sum()), part, float(np.abs(emptiness).sum())
