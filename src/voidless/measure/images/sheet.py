"""The sheet that says of pictures what they show: build, geometry, and which file is which frame."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from voidless.errors import InputError, QuestionError
from voidless.measure.files.limits import LARGEST
from voidless.measure.images.picture import Picture, open_picture
from voidless.tomlfile import Document, finite, known_keys, parse_document, typed

__all__ = ["MEASURES", "Sheet", "is_picture_sheet", "parse_sheet"]

MEASURES: dict[str, tuple[tuple[str, ...], tuple[str, ...]]] = {
    "haze": (
        ("open", "plaque", "spot", "plaque_spot"),
        ("dark", "linearity", "control", "control_spot"),
    ),
    "clarity": (("target", "plaque"), ("dark", "grid")),
    "colour": (("open", "plaque"), ("dark",)),
    "micrograph": (("picture",), ("flat", "grid")),
    "bubbles": (("picture",), ("flat", "grid")),
    "layer_photo": (("picture",), ("grid",)),
    "stack": (("slices",), ()),
}
"""Frames that a measure needs, and frames that it takes too."""

GRID = ("grid_mm", "grid_uncertainty_mm", "grid_px")
"""Of a frame `grid`: distance after which it repeats, its uncertainty, and about how many pixels that is."""

NUMBERS: dict[str, tuple[str, ...]] = {
    "haze": (
        "distance_mm", "distance_uncertainty_mm", "spot_mm", "spot_uncertainty_mm", "panel_mm", "plaque_mm",
        "pupil_deg", "index", "thickness_mm", "control_transmittance_pct", "control_haze_pct",
    ),
    "clarity": (
        "distance_mm", "distance_uncertainty_mm", "frequency_per_mm", "thickness_mm", "mm_per_px",
        *GRID,
    ),
    "colour": ("thickness_mm", "haze_pct"),
    "micrograph": (
        "mm_per_px", "layer_mm", "pitch_mm", "layer_origin_px", "pitch_origin_px", "void_grey",
        "void_grey_uncertainty", "smallest_px", *GRID,
    ),
    "bubbles": (
        "mm_per_px", "thickness_mm", "void_grey", "void_grey_uncertainty", "smallest_px", *GRID,
    ),
    "layer_photo": ("mm_per_px", "largest_px", *GRID),
    "stack": ("voxel_mm", "closing_px"),
}  # fmt: skip
"""Geometry that a measure takes."""

_SPANS = (
    ("mm_per_px", 1e-7, 1e3),
    ("largest_px", 2.0, 1e6),
    ("_px", 0.0, 1e6),
    ("_mm", 0.0, 1e5),
    ("", 0.0, LARGEST),
)
"""Least and largest size of a number by the end of its name, the first that fits. [unit in the name]"""
# What is not zero and smaller than this in any unit of the bench is a slip, and its square may be no number.
_LEAST = 1e-9


def _span(name: str) -> tuple[float, float]:
    """Return the least and the largest size that a number of this name can have."""
    return next((low, high) for end, low, high in _SPANS if name.endswith(end))


WORDS: dict[str, tuple[str, ...]] = {
    "haze": ("side", "surface", "axis"),
    "clarity": ("target", "surface", "axis"),
    "colour": ("axis",),
    "micrograph": ("tone", "plane"),
    "bubbles": ("tone",),
    "layer_photo": (),
    "stack": (),
}
_HEAD = ("run", "build", "specimen", "measure", "linear", "invert", "region_px", "exposures")
_MOST_FRAMES = 4000


@dataclass(frozen=True)
class Sheet:
    """
    What a sheet says.

    Attributes
    ----------
    where : str
        Name of the file.
    run, build, specimen, measure : str
        Labels, and a key of `MEASURES`.
    numbers : mapping of str to float
        Geometry. [unit in the name]
    words : mapping of str to str
        Surface, axis, side, target, tone, plane.
    frames : mapping of str to tuple of str
        File names by what they are.
    linear : bool
        Whether a person declares 8-bit values proportional to light.
    invert : bool or None
        Whether voids are bright; None is not stated, and dark ones are sought.
    region : (int, int, int, int) or None
        Left, top, right, bottom of what is looked at. [px]
    exposures : tuple of float
        Of the frames of `linearity`.
    """

    where: str
    run: str
    build: str
    specimen: str
    measure: str
    numbers: Mapping[str, float]
    words: Mapping[str, str]
    frames: Mapping[str, tuple[str, ...]]
    linear: bool
    invert: bool | None
    region: tuple[int, int, int, int] | None
    exposures: tuple[float, ...]

    def __post_init__(self) -> None:
        """Pass numbers that a bench can have."""
        for name, value in self.numbers.items():
            low, high = _span(name)
            allowed = low == 0.0 if value == 0.0 else max(low, _LEAST) <= abs(value) <= high
            if not allowed:
                expected = f"{low:g} to {high:g}" if low else f"0, or {_LEAST:g} to {high:g}"
                raise InputError(self.where, f"{name} is {value:g}", expected, "Correct it, or leave it out.")

    def number(self, name: str, default: float | None = None) -> float:
        """Return a number of the geometry; one without default that is not there is asked for."""
        value = self.numbers.get(name, default)
        if value is None:
            option = f"--fact {name}=NUMBER or {name} in [geometry]"
            raise QuestionError(self.where, f"no {name}", option, "Measure it on the bench or the scale bar.")
        return value

    def pictures(self, role: str, files: Mapping[str, bytes]) -> list[Picture]:
        """Return the pictures of a role, opened; a file that was not given is an error."""
        return [open_picture(name, self.file(name, role, files)) for name in self.frames.get(role, ())]

    def file(self, name: str, role: str, files: Mapping[str, bytes]) -> bytes:
        """Return the content of a file of a role; one that was not given is an error."""
        if name not in files:
            raise InputError(
                self.where, f"no file {name!r} for {role}", "it beside the sheet", "Give it too."
            )
        return files[name]


def is_picture_sheet(text: str) -> bool:
    """
    Return whether a text is a sheet of pictures.

    Parameters
    ----------
    text : str
        Beginning of a text file.

    Returns
    -------
    sheet : bool
        True where it states a measure of pictures and has a table of frames.
    """
    stated = any(line.replace(" ", "").startswith("measure=") for line in text.splitlines()[:40])
    return stated and "[frames]" in text


def parse_sheet(name: str, text: str) -> Sheet:
    """
    Return what a sheet says.

    Parameters
    ----------
    name : str
        Name of the file.
    text : str
        TOML: `run`, `build`, `specimen`, `measure`, [geometry] and [frames].

    Returns
    -------
    sheet : Sheet
        Checked but for the pictures themselves.

    Raises
    ------
    InputError
        A key is not known, missing or of a wrong kind.
    """
    whole = parse_document(text, name)
    known_keys(whole, (*_HEAD, "geometry", "frames"))
    measure = typed(whole.data.get("measure"), str, f"one of {', '.join(MEASURES)}", whole, "measure")
    if measure not in MEASURES:
        raise InputError(
            whole.place("measure"), f"measure {measure!r}", f"one of {', '.join(MEASURES)}", "Correct it."
        )
    geometry, frames = whole.section("geometry"), whole.section("frames")
    known_keys(geometry, (*NUMBERS[measure], *WORDS[measure]))
    needed, taken = MEASURES[measure]
    known_keys(frames, (*needed, *taken))
    numbers = {
        key: finite(geometry.data[key], geometry, key) for key in NUMBERS[measure] if key in geometry.data
    }
    words = {
        key: str(typed(geometry.data[key], str, "a word", geometry, key))
        for key in WORDS[measure]
        if key in geometry.data
    }
    named = {key: _names(frames, key) for key in (*needed, *taken) if key in frames.data}
    for key in needed:
        if not named.get(key):
            raise InputError(
                whole.place("frames"), f"no frames {key}", f"{', '.join(needed)}", "Name the files."
            )
    run, build, specimen = (
        str(typed(whole.data.get(key, ""), str, "a label", whole, key))
        for key in ("run", "build", "specimen")
    )
    if not (run and build):
        raise InputError(name, "no run or build", 'run = "R03", build = "B05"', "State them.")
    linear, invert = (
        typed(whole.data[key], bool, "true or false", whole, key) if key in whole.data else None
        for key in ("linear", "invert")
    )
    return Sheet(
        name, run, build, specimen, measure, numbers, words, named, bool(linear), invert, _region(whole),
        _exposures(whole),
    )  # fmt: skip


def _names(frames: Document, key: str) -> tuple[str, ...]:
    value = frames.data[key]
    listed = (
        [value]
        if isinstance(value, str)
        else typed(value, list, "a file name or a list of them", frames, key)
    )
    if len(listed) > _MOST_FRAMES or not all(isinstance(each, str) and each for each in listed):
        raise InputError(frames.place(key), f"{key} is no list of names", "file names", "Correct it.")
    return tuple(listed)


def _region(whole: Document) -> tuple[int, int, int, int] | None:
    value = whole.data.get("region_px")
    if value is None:
        return None
    edges = typed(value, list, "[left, top, right, bottom]", whole, "region_px")
    good = len(edges) == 4 and all(isinstance(each, int) and not isinstance(each, bool) for each in edges)
    if not (good and 0 <= edges[0] < edges[2] and 0 <= edges[1] < edges[3]):
        raise InputError(
            whole.place("region_px"), f"region_px {edges}", "[left, top, right, bottom]", "Correct it."
        )
    return (edges[0], edges[1], edges[2], edges[3])


def _exposures(whole: Document) -> tuple[float, ...]:
    value = typed(whole.data.get("exposures", []), list, "a list of times", whole, "exposures")
    return tuple(finite(each, whole, "exposures") for each in value)
