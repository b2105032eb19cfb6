"""Raw files of cameras are known for what they are, kept, and never measured by the preview inside them."""

import io

import numpy as np
import pytest
import tifffile

from voidless.errors import InputError
from voidless.measure.files.camera_raw import is_camera_raw
from voidless.measure.images.picture import open_picture
from voidless.measure.results import RawFile
from voidless.measure.take import take_files

GREY = np.full((8, 8), 1000, dtype=np.uint16)
PREVIEW = np.full((4, 4, 3), 90, dtype=np.uint8)


def _mosaic(order="<", dng=False):
    """Return a TIFF whose first directory is a preview and whose mosaic lies below it, as ISO 12234-2 has it."""
    held = io.BytesIO()
    tags = [(50706, 1, 4, (1, 4, 0, 0), True)] if dng else []
    with tifffile.TiffWriter(held, byteorder=order) as made:
        made.write(PREVIEW, photometric="rgb", subifds=1, extratags=tags)
        made.write(GREY, photometric="minisblack" if dng else 32803, subfiletype=0)
    return held.getvalue()


def _tiff(**more):
    held = io.BytesIO()
    tifffile.imwrite(held, np.stack([GREY] * 3, axis=-1), photometric="rgb", **more)
    return held.getvalue()


@pytest.mark.parametrize(
    ("name", "data"),
    [
        ("a.tif", _mosaic()),
        ("a.tif", _mosaic(">")),
        ("a.tif", _mosaic(dng=True)),
        ("a.tif", b"II*\x00\x10\x00\x00\x00CR\x02\x00" + bytes(100)),
        ("a.raw", b"IIU\x00" + bytes(100)),
        ("a.CR3", b"\x00\x00\x00\x18ftyp" + bytes(100)),
    ],
)
def test_a_raw_file_is_kept_and_not_measured(name, data):
    (found,) = take_files([RawFile(name, data)])
    assert (found.taken_for, found.status) == ("photo", "ok")
    assert "Develop all frames alike: linear" in found.warnings[0]
    with pytest.raises(InputError, match="raw file of a camera"):
        open_picture(name, data)


@pytest.mark.parametrize(
    ("name", "data"),
    [
        ("a.tif", _tiff()),
        ("a.tif", _tiff(compression="zlib")),
        ("a.dng", b"not a picture at all"),
        ("a.tif", b"II*\x00\xff\xff\xff\x7f"),
        ("a.tif", b"II*\x00\x08\x00\x00\x00\x01\x00" + b"\x4a\x01\x04\x00\xff\xff\xff\xff\x08\x00\x00\x00"),
    ],
)
def test_other_files_are_none(name, data):
    assert not is_camera_raw(name, data)
