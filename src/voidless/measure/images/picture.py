"""A picture from its bytes: grey or colour values, and what its file says of how they were made."""

from __future__ import annotations

import contextlib
import io
import logging
import math
import warnings
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from voidless.errors import InputError
from voidless.measure.files.camera_raw import is_camera_raw, refusal
from voidless.measure.files.limits import check_size
from voidless.measure.files.photo import photo_format

__all__ = [
    "MAX_PIXELS",
    "Picture",
    "check_pixels",
    "check_searched",
    "complaints",
    "luminance",
    "open_picture",
    "srgb_to_linear",
    "unpacked",
]

Floats = NDArray[np.float64]

MAX_PIXELS = 160_000_000
"""Most pixels of one picture that are unpacked: more than any one camera takes, and in colour 4 GB at work."""
MAX_SEARCHED = 40_000_000
"""Most pixels of one picture that are searched for voids: about a minute, and 200 bytes each."""
_PIXELS_A_BYTE = 512
"""Most pixels that a byte of a JPEG can hold: one bit at least for each square of 8 x 8 (ITU-T T.81, its codes)."""
_EXPOSURE, _APERTURE, _SENSITIVITY, _PROGRAM, _MODE = 0x829A, 0x829D, 0x8827, 0x8822, 0xA402
"""Tags of Exif 2.32 (CIPA DC-008): exposure time, f-number, sensitivity, exposure program and mode."""
_LUMA = np.array([0.2126, 0.7152, 0.0722])
"""Shares of red, green, blue in luminance: ITU-R BT.709, as in IEC 61966-2-1."""


@dataclass(frozen=True)
class Picture:
    """
    A picture and what its file says of it.

    Attributes
    ----------
    name : str
        Name of the file.
    values : (h, w) or (h, w, 3) array
        As the file has them, whole numbers up to `full`, or floats.
    full : float
        Largest value that a pixel can hold; 1 for floats. [1]
    kind : str
        `JPEG`, `PNG` or `TIFF`.
    bits : int
        Bits a channel. [1]
    exposure : tuple of (str, float)
        Exposure time [s], f-number [1] and sensitivity [1] where the file states them.
    automatic : bool
        Whether the file says that the camera chose the exposure.
    """

    name: str
    values: NDArray[Any]
    full: float
    kind: str
    bits: int
    exposure: tuple[tuple[str, float], ...] = ()
    automatic: bool = False


def srgb_to_linear(coded: Floats) -> Floats:
    """
    Return light from values coded for a screen.

    Parameters
    ----------
    coded : (n,) float array
        0 to 1. [1]

    Returns
    -------
    light : (n,) float array
        IEC 61966-2-1. [1]

    Examples
    --------
    >>> [round(float(x), 7) for x in srgb_to_linear(np.array([128, 200]) / 255)]
    [0.2158605, 0.5775804]
    """
    coded = np.asarray(coded, dtype=float)
    return np.asarray(np.where(coded <= 0.04045, coded / 12.92, ((coded + 0.055) / 1.055) ** 2.4))


def luminance(picture: Picture) -> Floats:
    """
    Return the grey values of a picture, 0 to 1.

    Parameters
    ----------
    picture : Picture
        Grey, or red, green and blue.

    Returns
    -------
    grey : (h, w) float array
        Colours weighted by the eye; the tone of the file is kept. [1]
    """
    values = np.asarray(picture.values, dtype=float) / picture.full
    return np.asarray(values @ _LUMA if values.ndim == 3 else values)


def open_picture(name: str, data: bytes) -> Picture:
    """
    Return the picture that bytes hold.

    Parameters
    ----------
    name : str
        Name of the file.
    data : bytes
        JPEG, PNG or TIFF; of several pages the first.

    Returns
    -------
    picture : Picture
        Values as the file has them.

    Raises
    ------
    InputError
        The file is damaged, too large, or of a kind that is not read.
    """
    check_size(name, len(data))
    if is_camera_raw(name, data):
        raise refusal(name)
    kind = photo_format(data)
    if not kind:
        raise InputError(name, "not a picture that is read", "TIFF, PNG or JPEG", "Export it as 16-bit TIFF.")
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            return _open_tiff(name, data) if kind == "TIFF" else _open_pillow(name, data, kind)
    except InputError:
        raise
    except MemoryError as fault:
        raise _damaged(name, "it asks for more memory than there is") from fault
    except Exception as fault:
        raise _damaged(name, str(fault)) from fault


def check_searched(name: str, pixels: int) -> None:
    """
    Pass a picture that can be searched for voids within about a minute.

    Parameters
    ----------
    name : str
        Name of the file.
    pixels : int
        What is to be searched. [1]

    Raises
    ------
    InputError
        There are more pixels.
    """
    if not pixels <= MAX_SEARCHED:
        raise InputError(
            name,
            f"{pixels / 1e6:.0f} million pixels to search",
            f"up to {MAX_SEARCHED // 10**6} million",
            "Cut it into fields or give a region.",
        )


def _damaged(name: str, why: str) -> InputError:
    shown = " ".join(why.split())[:120] or "no reason given"
    return InputError(name, f"the picture cannot be unpacked ({shown})", "a whole file", "Export it again.")


def check_pixels(name: str, pixels: int) -> None:
    """
    Pass a picture of a size that is unpacked.

    Raises
    ------
    InputError
        It has no pixels or more than `MAX_PIXELS`.
    """
    if not 0 < pixels <= MAX_PIXELS:
        raise InputError(
            name, f"{pixels / 1e6:.0f} million pixels", f"1 to {MAX_PIXELS // 10**6} million", "Cut it."
        )


def _checked(name: str, values: NDArray[Any], kind: str, facts: dict[str, Any]) -> Picture:
    if values.ndim == 3 and values.shape[2] in (2, 4):
        values = values[:, :, : values.shape[2] - 1]  # the last channel is opacity
    if values.ndim == 3 and values.shape[2] == 1:
        values = values[:, :, 0]
    if values.ndim not in (2, 3) or (values.ndim == 3 and values.shape[2] != 3) or values.size == 0:
        raise InputError(name, f"a picture of shape {values.shape}", "grey or red, green, blue", "Export it.")
    if values.dtype.kind == "b":
        values = values.astype(np.uint8) * np.uint8(255)
    if values.dtype.kind == "f":
        if not np.all(np.isfinite(values)):
            raise InputError(name, "pixels that are no numbers", "numbers", "Export it again.")
        return Picture(name, values, 1.0, kind, 8 * values.dtype.itemsize, **facts)
    if values.dtype.kind != "u":
        raise InputError(
            name, f"pixels of type {values.dtype}", "unsigned whole numbers or floats", "Export it."
        )
    bits = 8 * values.dtype.itemsize
    return Picture(name, values, float(2**bits - 1), kind, bits, **facts)


def unpacked(name: str, page: Any) -> NDArray[Any]:
    """
    Return the values of a page of a TIFF, as the file has them.

    Parameters
    ----------
    name : str
        Name of the file.
    page : tifffile.TiffPage or tifffile.TiffFrame
        A page.

    Raises
    ------
    InputError
        It says that it holds more than `MAX_PIXELS`, in pixels of up to four channels or in one of its pieces, or a
        side is no number.
    """
    if not all(isinstance(side, int) for side in (*page.shape, *page.chunks)):
        raise _damaged(name, "a side of the picture is no number")
    # sizes are what the file claims: the decoder would ask for as much memory before it finds out
    for claimed in (page.shape[:2], (*page.shape, 0.25), (*page.chunks, 0.25)):
        check_pixels(name, math.ceil(math.prod(claimed)))
    return np.asarray(page.asarray())


@contextlib.contextmanager
def complaints(name: str) -> Iterator[None]:
    """
    Turn what the TIFF decoder would only log into an error: it fills missing parts with black.

    Raises
    ------
    InputError
        Something was logged, other than a text that is no text.
    """
    log = logging.getLogger("tifffile")
    heard: list[str] = []
    handler = logging.Handler()
    handler.emit = lambda record: heard.append(record.getMessage())  # type: ignore[method-assign]
    passed, log.propagate = log.propagate, False
    log.addHandler(handler)
    try:
        yield
    finally:
        log.removeHandler(handler)
        log.propagate = passed
    serious = [words for words in heard if "coercing" not in words]
    if serious:
        raise _damaged(name, serious[0])


def _open_tiff(name: str, data: bytes) -> Picture:
    import tifffile

    with complaints(name), tifffile.TiffFile(io.BytesIO(data)) as file:
        page = file.pages[0]
        values = unpacked(name, page)
        if page.axes in ("SYX", "CYX"):
            values = np.moveaxis(values, 0, -1)
        if not isinstance(page, tifffile.TiffPage):
            raise InputError(name, "a page that lacks its tags", "a whole TIFF", "Export it again.")
        tags = {tag.code: tag.value for tag in page.tags.values()}
        exif = tags.get(0x8769)
        named = exif if isinstance(exif, dict) else {}
    said = {
        _EXPOSURE: named.get("ExposureTime", tags.get(_EXPOSURE)),
        _APERTURE: named.get("FNumber", tags.get(_APERTURE)),
        _SENSITIVITY: named.get(
            "ISOSpeedRatings", named.get("PhotographicSensitivity", tags.get(_SENSITIVITY))
        ),
        _PROGRAM: named.get("ExposureProgram", tags.get(_PROGRAM)),
        _MODE: named.get("ExposureMode", tags.get(_MODE)),
    }
    return _checked(name, values, "TIFF", _facts(said))


def _open_pillow(name: str, data: bytes, kind: str) -> Picture:
    from PIL import Image

    with Image.open(io.BytesIO(data), formats=(kind,)) as image:
        check_pixels(name, image.width * image.height)
        if kind == "JPEG" and image.width * image.height > _PIXELS_A_BYTE * len(data):
            # the decoder would fill what is not there with grey
            raise _damaged(name, f"{len(data)} bytes cannot hold {image.width} x {image.height} pixels")
        exif = image.getexif()
        said = {**exif, **exif.get_ifd(0x8769)} if kind == "JPEG" else {}
        if kind == "PNG" and data[24:25] == b"\x10" and data[25:26] in (b"\x02", b"\x06"):
            raise InputError(
                name,
                "a PNG with 16 bits in colour, of which the decoder would keep 8",
                "a 16-bit TIFF, or a grey PNG",
                "Export it as TIFF.",
            )
        if image.mode in ("P", "CMYK", "YCbCr", "LAB", "HSV", "RGBA", "PA"):
            values = np.asarray(image.convert("RGB"))
        else:
            values = np.asarray(image)
    if values.dtype == np.int32:  # how the decoder hands on 16-bit grey
        values = values.astype(np.uint16)
    return _checked(name, values, kind, _facts(said))


def _facts(said: dict[int, Any]) -> dict[str, Any]:
    """Return exposure facts as plain numbers; a tag that is no number is not stated."""
    found = []
    for words, code in (("exposure_s", _EXPOSURE), ("f_number", _APERTURE), ("sensitivity", _SENSITIVITY)):
        value = _number(said.get(code))
        if value is not None:
            found.append((words, value))
    # Exif: mode 0 is automatic; programs 2 to 8 let the camera choose, 1 is manual, 0 not stated.
    mode, program = _number(said.get(_MODE)), _number(said.get(_PROGRAM))
    automatic = mode in (0.0, 2.0) or (mode is None and program is not None and program >= 2)
    return {"exposure": tuple(found), "automatic": automatic}


def _number(value: Any) -> float | None:
    if isinstance(value, tuple | list) and len(value) == 2 and value[1]:
        value = value[0] / value[1]
    elif isinstance(value, tuple | list) and len(value) == 1:
        value = value[0]
    try:
        return float(value)
    except (TypeError, ValueError, ZeroDivisionError):
        return None
