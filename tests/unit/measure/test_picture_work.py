"""Work is bounded by the pixels of a picture, and a picture is not more than its bytes."""

import io
import struct
import tracemalloc

import numpy as np
import openpyxl
import pytest

from voidless.errors import InputError
from voidless.measure.files.sheets import read_sheets
from voidless.measure.images.fold import fold
from voidless.measure.images.layer import find_layer_pores
from voidless.measure.images.picture import MAX_SEARCHED, check_searched, open_picture
from voidless.measure.images.read import read_picture_sheet
from voidless.measure.images.stack import slices_of
from voidless.measure.images.void_level import VoidLevel
from voidless.measure.images.voids import find_voids


def jpeg(values, **how):
    from PIL import Image

    held = io.BytesIO()
    Image.fromarray(np.round(np.asarray(values) * 255).astype(np.uint8)).save(held, "JPEG", **how)
    return held.getvalue()


def test_a_jpeg_that_promises_more_pixels_than_its_bytes_hold_is_refused():
    """The decoder fills what is not there with grey and says nothing."""
    whole = jpeg(np.full((96, 112), 0.6))
    assert open_picture("a.jpg", whole).values.shape == (96, 112)
    height = whole.index(b"\xff\xc0") + 5  # marker, length and precision come first: ITU-T T.81, B.2.2
    promised = whole[:height] + (21_850).to_bytes(2, "big") + whole[height + 2 :]
    with pytest.raises(InputError, match="cannot hold 112 x 21850 pixels"):
        open_picture("a.jpg", promised)


def tiff_that_claims(tag, value):
    """Return a TIFF of 400 x 400 pixels whose tag says something else."""
    import tifffile

    held = io.BytesIO()
    tifffile.imwrite(held, np.full((400, 400), 900, np.uint16), photometric="minisblack", rowsperstrip=8)
    with tifffile.TiffFile(io.BytesIO(held.getvalue())) as file:
        place = file.pages[0].tags[tag]
        start, width = place.valueoffset, {"SHORT": 2, "LONG": 4}[place.dtype.name]
    data = bytearray(held.getvalue())
    data[start : start + width] = value.to_bytes(width, "little")
    return bytes(data)


@pytest.mark.parametrize(("tag", "claimed"), [("SamplesPerPixel", 60_000), ("ImageWidth", 4_000_000)])
def test_a_tiff_that_claims_more_than_is_unpacked_is_refused_before_memory_is_asked_for(tag, claimed):
    for read in (lambda data: open_picture("m.tif", data), lambda data: list(slices_of([("m.tif", data)])())):
        tracemalloc.start()
        with pytest.raises(InputError, match="million pixels"):
            read(tiff_that_claims(tag, claimed))
        assert tracemalloc.get_traced_memory()[1] < 50e6
        tracemalloc.stop()


def test_a_tiff_with_many_numbers_for_one_side_is_refused_before_memory_is_asked_for():
    """A whole number times a tuple is a tuple of so many: four million high, sixteen widths."""
    data = bytearray(tiff_that_claims("ImageLength", 4_000_000))
    entry = int.from_bytes(data[4:8], "little") + 2
    assert data[entry : entry + 2] == (256).to_bytes(2, "little")  # ImageWidth is the first: TIFF 6.0
    data[entry : entry + 12] = struct.pack("<HHII", 256, 4, 16, 8)
    for read in (lambda data: open_picture("m.tif", data), lambda data: list(slices_of([("m.tif", data)])())):
        tracemalloc.start()
        with pytest.raises(InputError, match="no number"):
            read(bytes(data))
        assert tracemalloc.get_traced_memory()[1] < 50e6
        tracemalloc.stop()


@pytest.mark.parametrize(
    ("measure", "said"),
    [
        ("micrograph", "mm_per_px = 0.0"),
        ("micrograph", "mm_per_px = 1e300"),
        ("layer_photo", "largest_px = -1.0"),
    ],
)
def test_geometry_that_no_bench_has_is_refused_by_name(measure, said):
    words = (
        f'run = "R"\nbuild = "B"\nmeasure = "{measure}"\n[geometry]\n{said}\n[frames]\npicture = "m.png"\n'
    )
    with pytest.raises(InputError, match=said.split()[0]):
        read_picture_sheet("m.toml", words.encode(), {})


def test_whatever_the_decoder_of_spreadsheets_raises_is_one_clear_error(monkeypatch):
    def stops(*_, **__):
        raise SyntaxError("Start tag expected, '<' not found")

    held = io.BytesIO()
    book = openpyxl.Workbook()
    book.active.append([1.0, 2.0])
    book.save(held)
    monkeypatch.setattr("openpyxl.load_workbook", stops)
    with pytest.raises(InputError, match="truncated or damaged"):
        read_sheets("t.xlsx", held.getvalue())


def test_an_even_jpeg_is_not_refused():
    """With codes made for it, an even square takes two bits: 256 pixels a byte."""
    assert open_picture("a.jpg", jpeg(np.full((2000, 2000), 0.6), optimize=True)).values.shape == (2000, 2000)


def test_more_pixels_than_can_be_searched_are_refused():
    check_searched("a.tif", MAX_SEARCHED)
    with pytest.raises(InputError, match="million pixels to search"):
        check_searched("a.tif", MAX_SEARCHED + 1)


@pytest.mark.parametrize("count", [990, 1010])
def test_the_chance_of_a_gathering_is_the_same_drawn_and_as_a_normal_law(count):
    """
    Voids of one pixel, one in 200 of them put at one phase: the length of their sum against Rayleigh's law.

    exp(-R²/n) for n arrows of length 1; 999 draws know 0.2 to 0.025 at two standard errors.
    """
    rng = np.random.default_rng(8)
    voids = np.zeros((400, 400))
    spots = rng.choice(200 * 200, count, replace=False)
    voids[2 * (spots // 200), 2 * (spots % 200)] = 1.0
    found = fold(voids, 40.0, rng)
    law = np.exp(-((found.gathered * count) ** 2) / count)
    assert found.chance == pytest.approx(law, abs=0.035)
    assert 0.05 < law < 0.95


def test_pores_of_a_photo_do_not_depend_on_its_size():
    """The same surface at four times the pixels, pores four times as wide: the same pores to a tenth of their area."""
    rng = np.random.default_rng(2)
    y, x = np.mgrid[:400, :400]
    small = 0.3 + x / 800.0
    for row, column in rng.uniform(80, 320, (5, 2)):
        small[np.hypot(y - row, x - column) < 9.0] *= 0.3
    fine = find_layer_pores(small)
    coarse = find_layer_pores(np.kron(small, np.ones((4, 4))), largest=240)
    assert len(fine.area) == len(coarse.area) > 0
    assert 0.7 < fine.surface.mean() < 0.95
    assert coarse.surface.mean() == pytest.approx(fine.surface.mean(), abs=0.02)
    assert np.sort(coarse.area) / 16.0 == pytest.approx(np.sort(fine.area), rel=0.1)


def test_the_bed_beside_a_surface_is_no_pore():
    """A wavy edge has bays as wide as pores; four pores on the surface, none at its border."""
    y, x = np.mgrid[:500, :500]
    photo = np.where(x < 330 + 12 * np.sin(y / 9.0), 0.7, 0.12)
    planted = [(120, 100), (220, 190), (320, 120), (400, 230)]
    for row, column in planted:
        photo[np.hypot(y - row, x - column) < 9.0] = 0.2
    found = find_layer_pores(photo)
    seen = sorted(zip(np.round(found.row), np.round(found.column), strict=True))
    assert np.allclose(seen, planted, atol=2)


def test_a_photo_of_one_grey_has_no_pores():
    assert len(find_layer_pores(np.full((300, 300), 0.5)).area) == 0


def test_voids_whose_edges_weigh_nothing_do_not_stop_a_micrograph():
    grey = np.full((150, 150), 0.6)
    grey[40:70, 40:70] = 0.1
    grey[99:103, 99:103] = 1.0  # a sharpened edge about a void of four pixels, brighter than the void is dark
    grey[100:102, 100:102] = 0.3
    assert find_voids(grey).area.min() < 0.0
    sheet = 'run = "R1"\nbuild = "B1"\nmeasure = "micrograph"\n[geometry]\nmm_per_px = 0.005\n[frames]\npicture = "p"\n'
    held = io.BytesIO()
    from PIL import Image

    Image.fromarray(np.round(grey * 255).astype(np.uint8)).save(held, "PNG")
    assert read_picture_sheet("s.toml", sheet.encode(), {"p": held.getvalue()}).observations


@pytest.mark.parametrize(("pitch", "side"), [(8, 2), (8, 3), (7, 3), (8, 4)])
def test_voids_that_leave_no_plain_solid_between_them_are_as_sure_as_noise_and_light(pitch, side):
    row, column = np.mgrid[:120, :120]
    voids = (row % pitch < side) & (column % pitch < side)
    off, stated = [], []
    for seed in range(12):
        grey = np.where(voids, 0.2, 1.0) + np.random.default_rng(seed).normal(0.0, 0.02, voids.shape)
        found = find_voids(grey, void_level=VoidLevel(0.2, 0.0, "stated"))
        off.append(found.share - voids.mean())
        stated.append(found.uncertainty)
    assert 0.4 < np.sqrt(np.mean(np.square(off))) / np.mean(stated) < 1.5
