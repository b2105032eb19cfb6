"""Pictures among the files of a folder: a sheet finds its frames, and a photo gets what a person says of it."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import PurePosixPath

from voidless.errors import InputError
from voidless.measure.files.labels import folder_of, labels
from voidless.measure.files.text import decode
from voidless.measure.images.read import reduce_sheet
from voidless.measure.images.sheet import NUMBERS, Sheet, parse_sheet
from voidless.measure.results import Answers, Kind, RawFile, Reading

__all__ = ["MEASURED_PHOTOS", "frame_names", "read_photo", "read_sheet"]

MEASURED_PHOTOS = {
    Kind.MICROGRAPH: "micrograph",
    Kind.BUBBLE_PHOTO: "bubbles",
    Kind.LAYER_PHOTO: "layer_photo",
}
"""Measures of one picture alone, for photos that a person says are such; the others need several frames."""


def frame_names(name: str, data: bytes) -> frozenset[str]:
    """
    Return how the files may be called that a sheet of pictures names; none where it cannot be read.

    Parameters
    ----------
    name : str
        Name of the sheet, with its folder.
    data : bytes
        Its content.

    Returns
    -------
    names : frozenset of str
        With all folders, and with the last one only, as a file from disk is called.
    """
    try:
        sheet = parse_sheet(name, decode(name, data).text)
    except InputError:
        return frozenset()  # said when the sheet itself is read
    return frozenset(called for each in _named(sheet) for called in _called(name, each))


def _named(sheet: Sheet) -> list[str]:
    return [each for frames in sheet.frames.values() for each in frames]


def _called(sheet: str, frame: str) -> tuple[str, str]:
    folder, path = folder_of(sheet), frame.replace("\\", "/")
    whole = f"{folder}/{path}" if folder else path
    return whole, "/".join(whole.split("/")[-2:])


def _found(sheet: Sheet, files: Sequence[RawFile]) -> dict[str, bytes]:
    """Return the frames that were given, by the names that the sheet uses."""
    given = {file.name.replace("\\", "/"): file.data for file in files}
    found = {}
    for frame in _named(sheet):
        called = next((each for each in _called(sheet.where, frame) if each in given), None)
        if called is not None:
            found[frame] = given[called]
    return found


def read_sheet(
    name: str, data: bytes, files: Sequence[RawFile], answers: Answers
) -> tuple[Reading, Mapping[str, str]]:
    """
    Return what a sheet of pictures gives, and which frames it came from.

    Parameters
    ----------
    name : str
        Name of the sheet.
    data : bytes
        Its content.
    files : sequence of RawFile
        Everything that was given with it.
    answers : Answers
        Geometry that the sheet leaves out; what it states comes first.

    Returns
    -------
    reading : Reading
        Results with their conditions.
    extra : mapping
        How many frames, and one hash of them all.

    Raises
    ------
    InputError
        The sheet or a frame is wrong or missing, or not fit for the measure.
    QuestionError
        A number of the geometry is neither in the sheet nor said.
    """
    sheet = _said(parse_sheet(name, decode(name, data).text), answers)
    frames = _found(sheet, files)
    reading = reduce_sheet(sheet, frames)
    return reading, {"frames": str(len(frames)), "frames_sha256": _hash(frames)}


def _hash(frames: Mapping[str, bytes]) -> str:
    """Return one hash of the frames of a sheet, whatever their order."""
    each = sorted(f"{name} {hashlib.sha256(data).hexdigest()}" for name, data in frames.items())
    return hashlib.sha256("\n".join(each).encode("utf-8")).hexdigest()


def _said(sheet: Sheet, answers: Answers) -> Sheet:
    """Return a sheet with the numbers that a person says beside it."""
    said = {key: value for key, value in answers.facts.items() if key in NUMBERS[sheet.measure]}
    return replace(sheet, numbers={**said, **sheet.numbers})


def read_photo(kind: Kind, name: str, data: bytes, answers: Answers) -> Reading:
    """
    Return what one photo gives that a person says shows a section, bubbles or a layer.

    Parameters
    ----------
    kind : Kind
        A key of `MEASURED_PHOTOS`.
    name : str
        Name of the file; run, build and specimen are taken from it, as of a curve.
    data : bytes
        Its content.
    answers : Answers
        Scale and geometry.

    Returns
    -------
    reading : Reading
        Results with their conditions.

    Raises
    ------
    InputError
        The picture cannot be read, or is not fit for the measure.
    """
    label = labels(str(PurePosixPath(name.replace("\\", "/")).with_suffix("")))
    sheet = Sheet(
        name, label.run, label.build, label.specimen, MEASURED_PHOTOS[kind], {}, {}, {"picture": (name,)},
        linear=False, invert=None, region=None, exposures=(),
    )  # fmt: skip
    return reduce_sheet(_said(sheet, answers), {name: data})
