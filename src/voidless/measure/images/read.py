"""A sheet and its pictures to results: one reduction a measure, from one table."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict, replace
from math import pi, sqrt

import numpy as np
from numpy.typing import NDArray

from voidless.campaign.types import Bound, Observation, ResponseKey
from voidless.errors import InputError, QuestionError
from voidless.measure.files.text import decode
from voidless.measure.images.fold import fold
from voidless.measure.images.layer import find_layer_pores
from voidless.measure.images.picture import Picture, check_searched, luminance, srgb_to_linear
from voidless.measure.images.points import field_shares, point_count
from voidless.measure.images.scale import grid_scale
from voidless.measure.images.sheet import Sheet, parse_sheet
from voidless.measure.images.stack import reduce_stack, slices_of
from voidless.measure.images.stereology import unfold_circles
from voidless.measure.images.void_level import VoidLevel
from voidless.measure.images.voids import Voids, find_voids
from voidless.measure.optics.sheet import read_clarity, read_colour, read_haze
from voidless.measure.picture import curve_of, photo_of, picture_of
from voidless.measure.results import Reading
from voidless.measure.series.trend import coverage_factor

__all__ = ["read_picture_sheet", "reduce_sheet"]

Floats = NDArray[np.float64]

_FIELDS = 4
_ASKEW = 0.01
"""Skew or distortion of a grid from which on a word is said: one per cent of length, two of area; our choice. [1]"""
_EIGHT = 8
_MARKED = 10.0
"""Bright marks are asked about from so many times what may be there unseen. [1] Our choice."""


def read_picture_sheet(name: str, data: bytes, files: Mapping[str, bytes]) -> Reading:
    """
    Return what a sheet of pictures gives.

    Parameters
    ----------
    name : str
        Name of the sheet.
    data : bytes
        TOML (`voidless.measure.images.sheet`).
    files : mapping of str to bytes
        Pictures by the names that the sheet uses.

    Returns
    -------
    reading : Reading
        Results with their conditions; each entry of `reduced` has a `picture` of how it was reduced.

    Raises
    ------
    InputError
        The sheet or a picture is wrong, missing, or not fit for the measure.
    """
    return reduce_sheet(parse_sheet(name, decode(name, data).text), files)


def reduce_sheet(sheet: Sheet, files: Mapping[str, bytes]) -> Reading:
    """
    Return what the pictures of a sheet give that is already read.

    Parameters
    ----------
    sheet : Sheet
        What is measured, and with which geometry.
    files : mapping of str to bytes
        Pictures by the names that the sheet uses.

    Returns
    -------
    reading : Reading
        As of `read_picture_sheet`.

    Raises
    ------
    InputError
        A picture is wrong, missing, or not fit for the measure.
    """
    scaled, numbers, words = _scaled(sheet, files)
    found = _MEASURES[sheet.measure](scaled, files)
    return replace(found, reduced=(*found.reduced, *numbers), warnings=(*found.warnings, *words))


def _scaled(
    sheet: Sheet, files: Mapping[str, bytes]
) -> tuple[Sheet, tuple[Mapping[str, object], ...], list[str]]:
    """Return a sheet with the scale that its picture of a grid shows; one that has none as it is."""
    grids = sheet.pictures("grid", files)
    if not grids:
        return sheet, (), []
    if len(grids) > 1 or "mm_per_px" in sheet.numbers:
        raise InputError(sheet.where, "more than one scale", "one grid, or mm_per_px", "Leave one out.")
    grey, pitch, about = luminance(grids[0]), sheet.number("grid_mm"), sheet.number("grid_px")
    check_searched(grids[0].name, grey.size)
    found = grid_scale(grey, pitch, sheet.number("grid_uncertainty_mm", 0.0), 0.8 * about, 1.25 * about)
    words = [
        f"{grids[0].name}: {what} of {100 * value:.2g} %: the camera looks askew, or its lens distorts"
        for what, value in (("a skew", abs(found.skew)), ("a distortion", found.distortion))
        if value > _ASKEW
    ]
    middle = grey[len(grey) // 2]
    picture = picture_of(
        f"{grids[0].name}: scale", ("across [px]", "grey [1]"),
        [curve_of("middle line of the grid", np.arange(len(middle), dtype=float), middle)],
        says=f"{1e3 * found.mm_per_px:.5g} ± {1e3 * found.uncertainty_mm:.2g} µm a pixel.",
    )  # fmt: skip
    numbers = {"kind": "scale", **_of(sheet), **asdict(found), "picture": picture}
    return replace(sheet, numbers={**sheet.numbers, "mm_per_px": found.mm_per_px}), (numbers,), words


def _grey(sheet: Sheet, picture: Picture) -> tuple[Floats, bool]:
    """Return the grey of a picture proportional to light, and whether its tone was merely assumed."""
    values = luminance(picture)
    tone = sheet.words.get("tone", "")
    if tone not in ("", "linear", "srgb"):
        raise InputError(sheet.where, f"tone {tone!r}", "linear or srgb", "State how grey follows light.")
    coded = picture.bits <= _EIGHT and picture.kind in ("JPEG", "PNG")
    if tone == "srgb" or (not tone and coded):
        values = srgb_to_linear(values)
    if sheet.region is not None:
        left, top, right, bottom = sheet.region
        if right > values.shape[1] or bottom > values.shape[0]:
            raise InputError(
                sheet.where, f"region_px {sheet.region}", f"within {values.shape[::-1]}", "Correct it."
            )
        values = values[top:bottom, left:right]
    check_searched(picture.name, values.size)
    if sheet.invert:
        values = _turned(values)
    return values, not tone and picture.bits <= _EIGHT


def _level(sheet: Sheet) -> VoidLevel | None:
    if "void_grey" not in sheet.numbers:
        return None
    return VoidLevel(sheet.number("void_grey"), sheet.number("void_grey_uncertainty", 0.02), "stated")


def _voids(sheet: Sheet, files: Mapping[str, bytes]) -> tuple[list[Voids], Floats, list[str]]:
    flats = sheet.pictures("flat", files)
    light = _grey(sheet, flats[0])[0] if flats else None
    found, words, last = [], [], np.zeros((1, 1))
    for picture in sheet.pictures("picture", files):
        last, assumed = _grey(sheet, picture)
        found.append(
            find_voids(last, picture.name, None, _level(sheet), light, sheet.number("smallest_px", 1.0))
        )
        if sheet.invert is None and not len(found[-1].area):
            _ask_of_bright_marks(sheet, picture.name, last)
        if assumed and picture.bits <= _EIGHT:
            words.append(
                f"{picture.name}: tone not stated; 8-bit JPEG and PNG are taken as sRGB, TIFF as linear"
            )
    return found, last, words


def _ask_of_bright_marks(sheet: Sheet, name: str, grey: Floats) -> None:
    """Ask whether voids are bright where no dark one is seen and bright marks stand out."""
    try:
        bright = find_voids(_turned(grey), name, smallest=sheet.number("smallest_px", 1.0))
    except InputError:
        return  # nothing that stands out enough to be measured
    if bright.share <= _MARKED * max(bright.limit, bright.uncertainty):
        return
    raise QuestionError(
        sheet.where,
        f"{name} shows no dark voids but {len(bright.area)} bright marks, {100.0 * bright.share:.2g} % of its area: "
        "are the voids bright?",
        "invert = true (voids are bright) or invert = false (they are not) above [geometry] of a sheet of pictures",
        "Say which; dust and scratches are bright as well.",
    )


def _turned(grey: Floats) -> Floats:
    return np.asarray(grey.max() + grey.min() - grey)


def _read_micrograph(sheet: Sheet, files: Mapping[str, bytes]) -> Reading:
    found, grey, words = _voids(sheet, files)
    shares = np.array([each.share for each in found])
    own = sqrt(sum(each.uncertainty**2 for each in found)) / len(found)
    n = len(shares)
    between = float(shares.std(ddof=1)) / sqrt(n) * coverage_factor(n - 1) if n > 1 else 0.0
    value, spread = 100.0 * float(shares.mean()), 100.0 * max(own, between)
    numbers: dict[str, object] = {
        "kind": "micrograph",
        "void_pct": value,
        "void_uncertainty_pct": spread,
        "unseen_below_pct": 100.0 * max(each.limit for each in found),
        "voids": int(sum(len(each.area) for each in found)),
        "pictures": len(found),
    }
    extra, more, picture = _details(sheet, found)
    numbers |= extra
    numbers |= _of(sheet) | {"picture": _marked(sheet, found, grey)}
    sizes = {"kind": "void_sizes", **_of(sheet), "picture": picture}
    if len(found) == 1:
        words.append(
            f"{sheet.where}: one picture speaks for one place; take fields across the part (ASTM E562)"
        )
    unseen = value == 0.0
    key = ResponseKey("void_pct", "micrograph", "", (("plane", sheet.words.get("plane", "not stated")),))
    bound = Bound.UPPER if unseen else Bound.EXACT
    shown = float(100.0 * max(each.limit for each in found)) if unseen else value
    return Reading((_observed(sheet, key, shown, spread, bound),), (numbers, sizes), (*words, *more))


def _of(sheet: Sheet) -> dict[str, object]:
    return {"run": sheet.run, "build": sheet.build, "specimen": sheet.specimen}


def _marked(sheet: Sheet, found: Sequence[Voids], grey: Floats) -> dict[str, object]:
    """Return the last picture with its voids outlined, bright and dark as they were searched."""
    name, more = sheet.frames["picture"][-1], f"; the last of {len(found)} pictures" if len(found) > 1 else ""
    return picture_of(
        f"{name}: voids",
        ("across [px]", "down [px]"),
        [],
        says=f"{len(found[-1].area)} voids outlined, {100 * found[-1].share:.3g} % of the area{more}.",
        photo=photo_of("voids", grey, found[-1].mask),
    )


def _details(sheet: Sheet, found: Sequence[Voids]) -> tuple[dict[str, object], list[str], dict[str, object]]:
    """Return sizes, shapes, fields and folds of the voids, warnings, and a picture of their sizes."""
    scale = sheet.numbers.get("mm_per_px")
    area = np.concatenate([each.area[each.whole] for each in found])
    diameter = 2.0 * np.sqrt(np.maximum(area, 0.0) / pi) * (1.0 if scale is None else 1e3 * scale)
    unit = "px" if scale is None else "µm"
    long = np.concatenate([each.long[each.whole] for each in found])
    short = np.concatenate([each.short[each.whole] for each in found])
    numbers: dict[str, object] = {f"diameters_{'px' if scale is None else 'um'}": diameter.tolist()}
    words: list[str] = []
    if diameter.size:
        numbers["elongation_median"] = float(np.median(long / np.maximum(short, 1e-9)))
    fields = np.concatenate([field_shares(each.mask, _field_size(sheet, each)) for each in found])
    if len(fields) > 1:
        numbers["fields_reach_pct"] = point_count(100.0 * fields).reach_pct
    seen = diameter[diameter > 0.0]  # the edge of a very small one can weigh less than nothing
    if seen.size and scale is not None:
        pixels = sum(each.pixels for each in found)
        sizes = unfold_circles(seen, pixels * (1e3 * scale) ** 2, where=sheet.where)
        numbers["spheres_per_mm3"] = (1e9 * sizes.number).tolist()
        words += sizes.warnings
    for name, axis in (("layer", 0), ("pitch", 1)):
        length = sheet.numbers.get(f"{name}_mm")
        if length is None:
            continue
        if scale is None:
            raise InputError(
                sheet.where, f"{name}_mm without mm_per_px", "the scale of the picture", "State it."
            )
        origin = sheet.numbers.get(f"{name}_origin_px")
        folded = fold(
            found[0].mask,
            length / scale,
            np.random.default_rng(0),
            axis * pi / 2,
            0.0 if origin is None else origin,
        )
        numbers[f"{name}_fold"] = folded.share.tolist()
        numbers[f"{name}_gathered"] = folded.gathered
        numbers[f"{name}_place"] = folded.place
        numbers[f"{name}_chance"] = folded.chance
        if origin is None:
            words.append(f"{sheet.where}: no {name}_origin_px, so places within a {name} are relative")
    counts, edges = np.histogram(diameter, 20) if diameter.size else (np.zeros(1), np.array([0.0, 1.0]))
    curve = curve_of("voids", 0.5 * (edges[1:] + edges[:-1]), counts.astype(float))
    picture = picture_of(
        "Voids by size", (f"diameter [{unit}]", "voids [1]"), [curve], says=f"{area.size} whole voids"
    )
    return numbers, words, picture


def _field_size(sheet: Sheet, voids: Voids) -> tuple[float, float]:
    """Return a field: a quarter of the picture, rounded to whole layers and pitches where they are known."""
    scale = sheet.numbers.get("mm_per_px")
    sizes = []
    for side, name in zip(voids.mask.shape, ("layer_mm", "pitch_mm"), strict=True):
        size = side / _FIELDS
        length = sheet.numbers.get(name)
        if scale is not None and length is not None and length > 0:
            period = length / scale
            size = min(max(round(size / period), 1) * period, side)
        sizes.append(size)
    return sizes[0], sizes[1]


def _read_bubbles(sheet: Sheet, files: Mapping[str, bytes]) -> Reading:
    found, grey, words = _voids(sheet, files)
    numbers: dict[str, object] = {"kind": "bubbles", "count": int(sum(len(each.area) for each in found))}
    extra, more, picture = _details(sheet, found)
    numbers |= {key: value for key, value in extra.items() if not key.startswith("spheres")}
    numbers |= _of(sheet) | {"picture": _marked(sheet, found, grey)}
    sizes = {"kind": "void_sizes", **_of(sheet), "picture": picture}
    scale, thick = sheet.numbers.get("mm_per_px"), sheet.numbers.get("thickness_mm")
    if scale is not None and thick is not None:
        volume = sum(each.pixels for each in found) * scale**2 * thick
        if not volume > 0.0:
            raise InputError(
                sheet.where, f"a depth of {thick:g} mm seen through", "more than 0", "Correct thickness_mm."
            )
        diameters = 2.0 * np.sqrt(np.concatenate([np.maximum(each.area, 0.0) for each in found]) / pi) * scale
        numbers["bubbles_per_mm3"] = float(len(diameters) / volume)
        numbers["void_pct_if_round"] = float(100.0 * (pi / 6.0 * diameters**3).sum() / volume)
    words.append(
        f"{sheet.where}: bubbles behind one another count once; out of focus they look larger and paler"
    )
    return Reading((), (numbers, sizes), (*words, *(word for word in more if not _of_a_section(word))))


def _of_a_section(word: str) -> bool:
    """Return whether words speak of unfolding circles of a section, which bubbles seen whole are not."""
    return "circles" in word or "class(es)" in word


def _read_layer(sheet: Sheet, files: Mapping[str, bytes]) -> Reading:
    reduced, words = [], []
    for picture in sheet.pictures("picture", files):
        values = luminance(picture)
        check_searched(picture.name, values.size)
        found = find_layer_pores(values, picture.name, int(sheet.number("largest_px", 60.0)))
        reduced.append(
            {
                "kind": "layer_photo",
                "file": picture.name,
                "pores": len(found.area),
                "area_px2": found.area.tolist(),
                "share_of_surface": found.share,
                "picture": picture_of(
                    f"{picture.name}: pores",
                    ("across [px]", "down [px]"),
                    [],
                    says=f"{len(found.area)} pores outlined, {100 * found.share:.2g} % of the surface.",
                    photo=photo_of("pores", values, found.mask),
                ),
            }
        )
        words.append(f"{picture.name}: counts of a top-lit photo; light and gloss decide what looks dark")
    return Reading((), tuple(reduced), tuple(words))


def _read_stack(sheet: Sheet, files: Mapping[str, bytes]) -> Reading:
    given = [(name, sheet.file(name, "slices", files)) for name in sheet.frames["slices"]]
    found = reduce_stack(slices_of(given), sheet.where, int(sheet.number("closing_px", 0.0)))
    curve = curve_of("void share", np.arange(len(found.by_slice), dtype=float), 100.0 * found.by_slice)
    numbers: dict[str, object] = {
        "kind": "stack",
        "void_pct": 100.0 * found.share,
        "void_uncertainty_pct": 100.0 * found.uncertainty,
        "slices": len(found.by_slice),
        "picture": picture_of("Voids by slice", ("slice [1]", "void share [%]"), [curve]),
    }
    key = ResponseKey("void_pct", "slices")
    seen = _observed(sheet, key, 100.0 * found.share, 100.0 * found.uncertainty, Bound.EXACT)
    return Reading((seen,), (numbers,), found.warnings)


def _observed(sheet: Sheet, key: ResponseKey, value: float, spread: float, bound: Bound) -> Observation:
    return Observation(sheet.run, sheet.build, sheet.specimen, key, value, spread, bound)


_MEASURES: dict[str, Callable[[Sheet, Mapping[str, bytes]], Reading]] = {
    "haze": read_haze,
    "clarity": read_clarity,
    "colour": read_colour,
    "micrograph": _read_micrograph,
    "bubbles": _read_bubbles,
    "layer_photo": _read_layer,
    "stack": _read_stack,
}
