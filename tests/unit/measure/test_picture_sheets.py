"""Sheets of pictures: what each measure gives, with conditions, and what refuses a frame or a sheet."""

import io
import sys
from pathlib import Path

import numpy as np
import pytest
from scipy import ndimage
from scipy.special import stdtrit

from voidless.campaign.types import Bound
from voidless.errors import InputError, QuestionError
from voidless.measure.images.fold import find_pitch, fold
from voidless.measure.images.picture import open_picture
from voidless.measure.images.points import field_shares, grid_hits
from voidless.measure.images.read import read_picture_sheet
from voidless.measure.images.sheet import MEASURES, NUMBERS, WORDS, is_picture_sheet
from voidless.measure.images.stack import reduce_stack, slices_of
from voidless.measure.images.voids import find_voids
from voidless.measure.optics.clarity import Conditions, reduce_clarity, separate_surface
from voidless.measure.optics.frames import check_linearity
from voidless.physics.optics.contrast import contrast_through_plate

HEAD = 'run = "R03"\nbuild = "B05"\nspecimen = "p1"\nmeasure = "{}"\n'


def tiff(values, bits=16):
    import tifffile

    held = io.BytesIO()
    full = 2**bits - 1
    tifffile.imwrite(
        held,
        np.round(np.asarray(values) * full).astype(np.uint16 if bits == 16 else np.uint8),
        photometric="rgb" if np.ndim(values) == 3 else "minisblack",
    )
    return held.getvalue()


def coded(values, kind):
    from PIL import Image

    held = io.BytesIO()
    Image.fromarray(np.round(np.asarray(values) * 255).astype(np.uint8)).save(held, kind)
    return held.getvalue()


def frames(haze=0.10, through=0.85, veil=0.01, side=240, radius=90.0):
    """Return four even frames of a plaque of one haze, and their dark frame."""
    rows, columns = np.mgrid[0:side, 0:side] - (side - 1) / 2
    dark_disc = np.hypot(rows, columns) < radius
    black = np.full((side, side), 0.004)
    shown = {
        "open": np.ones((side, side)),
        "plaque": np.full((side, side), through),
        "spot": np.where(dark_disc, 0.0, 1.0),
        "plaque_spot": np.where(dark_disc, through * haze, through),
    }
    lit = {"open": 1.0, "spot": 1.0, "plaque": through, "plaque_spot": through}
    files = {f"{name}.tif": tiff(0.6 * (each + veil * lit[name]) + black) for name, each in shown.items()}
    return {**files, "dark.tif": tiff(black)}


HAZE = HEAD.format("haze") + (
    "[geometry]\ndistance_mm = 100\nspot_mm = 8.732\npanel_mm = 2000\npupil_deg = 0.2\nindex = 1.57\nthickness_mm = 3\n"
    '[frames]\ndark = "dark.tif"\nopen = ["open.tif"]\nplaque = ["plaque.tif"]\nspot = ["spot.tif"]\n'
    'plaque_spot = ["plaque_spot.tif"]\n'
)


def read(sheet, files):
    return read_picture_sheet("sheet.toml", sheet.encode(), files)


def test_haze_and_transmittance_of_four_frames():
    """Veil and black are taken off; a panel of 20 distances loses 1 % of a wide lobe, half of it put back."""
    found = read(HAZE, frames())
    haze, through = found.observations
    assert (haze.run, haze.build, haze.specimen) == ("R03", "B05", "p1")
    assert (haze.key.quantity, haze.bound) == ("haze_pct", Bound.EXACT)
    assert ("thickness_mm", "3") in haze.key.conditions
    assert haze.value == pytest.approx(10.0 / 1.01 * 1.0, abs=0.15)
    assert through.value == pytest.approx(85.0, abs=1.0)
    numbers = found.reduced[0]
    assert numbers["veil_pct"] == pytest.approx(100 * 0.01 / 1.01, abs=0.02)
    assert numbers["picture"]["curves"]
    assert {"no control plate", "no linearity"} <= {
        part for part in ("no control plate", "no linearity") if any(part in word for word in found.warnings)
    }


def test_haze_below_its_detection_limit_is_an_upper_bound():
    found = read(HAZE, frames(haze=0.0005))
    assert found.observations[0].bound is Bound.UPPER
    assert any("below the detection limit" in word for word in found.warnings)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (
            lambda files: {**files, "open.tif": coded(np.full((240, 240), 0.6), "JPEG")},
            "coded for the eye, sharpened",
        ),
        (lambda files: {**files, "open.tif": coded(np.full((240, 240), 0.6), "PNG")}, "8 bits a channel"),
        (lambda files: {**files, "open.tif": tiff(np.full((240, 240), 0.995))}, "burnt-out"),
        (lambda files: {**files, "plaque.tif": tiff(np.full((240, 240), 0.62))}, "two smooth faces"),
        (lambda files: {**files, "spot.tif": files["open.tif"]}, "no black spot"),
        (lambda files: {**files, "plaque.tif": tiff(np.full((100, 240), 0.5))}, "another size"),
        (lambda files: {**files, "plaque.tif": files["plaque.tif"][:500]}, "cannot be unpacked"),
        (lambda files: {**files, "plaque.tif": files["dark.tif"]}, "too little light|without light"),
        (
            lambda files: {name: data for name, data in files.items() if name != "spot.tif"},
            "no file 'spot.tif'",
        ),
    ],
)
def test_frames_that_are_no_measure_of_light_are_refused(change, words):
    with pytest.raises(InputError, match=words):
        read(HAZE, change(frames()))


def test_a_picture_with_missing_strips_is_refused_not_blackened():
    import tifffile

    held = io.BytesIO()
    tifffile.imwrite(held, np.full((64, 64), 40000, np.uint16), photometric="minisblack", rowsperstrip=8)
    whole = held.getvalue()
    assert open_picture("a.tif", whole).values.min() == 40000
    with pytest.raises(InputError, match="cannot be unpacked"):
        open_picture("a.tif", whole[: len(whole) - 2000])
    # one strip where the tags promise eight: the decoder only logs it
    held = io.BytesIO()
    tifffile.imwrite(held, np.full((64, 64), 40000, np.uint16), photometric="minisblack", rowsperstrip=64)
    with tifffile.TiffFile(io.BytesIO(held.getvalue())) as file:
        place = file.pages[0].tags["RowsPerStrip"].valueoffset
    promised = bytearray(held.getvalue())
    promised[place : place + 2] = (8).to_bytes(2, "little")
    with pytest.raises(InputError, match="cannot be unpacked"):
        open_picture("a.tif", bytes(promised))


def test_an_automatic_exposure_is_refused():
    import tifffile

    held = io.BytesIO()
    tifffile.imwrite(
        held,
        np.full((240, 240), 40000, np.uint16),
        extratags=[(0xA402, "H", 1, 0, True)],
        photometric="minisblack",
    )
    assert open_picture("a.tif", held.getvalue()).automatic
    with pytest.raises(InputError, match="chose the exposure itself"):
        read(HAZE, {**frames(), "open.tif": held.getvalue()})


def test_a_control_plate_that_reads_wrong_stops_the_day():
    sheet = HAZE + 'control = ["control.tif"]\ncontrol_spot = ["control_spot.tif"]\n'
    good = frames(haze=0.002, through=0.92)  # more than a plaque of index 1.57 may, what PMMA does
    both = {**frames(), "control.tif": good["plaque.tif"], "control_spot.tif": good["plaque_spot.tif"]}
    assert read(sheet, both).observations
    with pytest.raises(InputError, match="the control plate reads"):
        read(sheet.replace("index = 1.57", "index = 1.57\ncontrol_transmittance_pct = 70"), both)


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ('"haze"', '"haziness"', "measure 'haziness'"),
        ("spot_mm = 8.732", "spot_mm = 6", "half-angle 1.70"),
        ("spot_mm = 8.732\n", "", "no spot_mm"),
        ("pupil_deg = 0.2", "pupil_deg = nan", "finite number"),
        ('run = "R03"', 'run = ""', "no run or build"),
        ("distance_mm", "distanze_mm", "not a key here"),
        ('spot = ["spot.tif"]', 'spot = ["spot.tif", "spot.tif"]', "sets that are not whole"),
        ('spot = ["spot.tif"]', "spot = [3]", "no list of names"),
        ("[frames]", "[frames", "sheet.toml"),
    ],
)
def test_a_wrong_sheet_is_refused(old, new, words):
    assert old in HAZE
    with pytest.raises(InputError, match=words):
        read(HAZE.replace(old, new), frames())


def test_which_file_is_a_sheet():
    assert is_picture_sheet(HAZE)
    assert not is_picture_sheet("run,build,response,value\n")


def test_linearity():
    assert check_linearity([0.1, 0.2, 0.402], [1, 2, 4], "x") < 0.01
    with pytest.raises(InputError, match="depart from proportion"):
        check_linearity([0.1, 0.17, 0.28], [1, 2, 4], "x")  # a gamma of 0.75
    with pytest.raises(InputError, match="three or more"):
        check_linearity([0.1, 0.2], [1, 2], "x")


CLARITY = HEAD.format("clarity") + (
    '[geometry]\ndistance_mm = 10\nfrequency_per_mm = 1\nthickness_mm = 3\nmm_per_px = 0.05\ntarget = "{}"\n'
    '[frames]\ntarget = ["a.tif", "b.tif"]\nplaque = ["c.tif", "d.tif"]\n'
)


@pytest.mark.parametrize("target", ["bars", "edge"])
def test_clarity_by_bars_and_by_an_edge_is_the_same_number(target):
    """A plate of unscattered share 0.6 and 1° at 10 mm and 1 line pair a mm: 0.819241 (derived, six digits)."""
    side, scale = 200, 0.05
    rows, columns = np.mgrid[0:side, 0:side]
    if target == "bars":
        sharp = 0.5 + 0.4 * np.sign(np.sin(2 * np.pi * columns * scale + 0.3))
    else:
        a = np.radians(5.0)
        sharp = 0.1 + 0.8 * ((columns - 100) * np.cos(a) - (rows - 100) * np.sin(a) > 0)
    lens = ndimage.gaussian_filter(sharp, 1.2, mode="nearest")
    blur = 10.0 * np.radians(1.0) / scale
    hazed = 0.9 * (0.6 * lens + 0.4 * ndimage.gaussian_filter(lens, blur, mode="nearest"))
    rng = np.random.default_rng(1)
    files = {
        name: tiff(0.8 * each + 0.001 * rng.standard_normal(each.shape) + 0.01)
        for name, each in (("a.tif", lens), ("b.tif", lens), ("c.tif", hazed), ("d.tif", hazed))
    }
    found = read(CLARITY.format(target), files)
    observed = found.observations[0]
    assert float(contrast_through_plate(0.6, np.radians(1.0), 0.01, 1e3)) == pytest.approx(0.819241, abs=5e-7)
    # black of 0.01 is not taken off here, which lowers both contrasts by nearly the same
    assert observed.value == pytest.approx(0.819241, abs=0.012)
    assert (observed.key.quantity, observed.key.method) == ("clarity", f"contrast_{target}")
    assert dict(observed.key.conditions) == {
        "axis": "z", "distance_mm": "10", "frequency_per_mm": "1", "surface": "as_printed", "thickness_mm": "3",
    }  # fmt: skip


def test_an_edge_that_is_taken_for_bars_is_refused():
    """Bars are what a sheet means that does not say; an edge, or bars of another period, are none of that period."""
    side = 200
    edge = 0.1 + 0.8 * (np.arange(side)[None, :] - 0.09 * np.arange(side)[:, None] > 90)
    other = 0.5 + 0.4 * np.sin(2 * np.pi * np.arange(side)[None, :] * 0.03) * np.ones((side, 1))
    for target in (edge, other):
        files = {name: tiff(0.8 * target) for name in ("a.tif", "b.tif", "c.tif", "d.tif")}
        with pytest.raises(InputError, match=r"no bars of 20 px: they make \d+ % .* target = \"edge\""):
            read(CLARITY.format("bars").replace('target = "bars"\n', ""), files)


def test_lengths_that_no_bench_has_are_refused():
    side = 200
    bars = 0.5 + 0.4 * np.sin(2 * np.pi * np.arange(side)[None, :] * 0.05) * np.ones((side, 1))
    files = {name: tiff(bars) for name in ("a.tif", "b.tif", "c.tif", "d.tif")}
    with pytest.raises(InputError, match=r"distance_mm is 1e-300 \(expected 0, or 1e-09 to 100000"):
        read(CLARITY.format("bars").replace("distance_mm = 10", "distance_mm = 1e-300"), files)


def test_a_frame_as_bright_on_both_sides_holds_no_edge():
    ramp = np.linspace(0.0, 1.0, 60)
    tent = np.concatenate([0.1 + 0.8 * ramp, 0.9 - 0.8 * ramp])[None, :] * np.ones((120, 1))
    files = {name: tiff(tent) for name in ("a.tif", "b.tif", "c.tif", "d.tif")}
    with pytest.raises(InputError, match="expected"):
        read(CLARITY.format("edge"), files)


def test_a_plaque_in_contact_proves_nothing_and_one_that_sharpens_is_refused():
    side = 200
    bars = 0.5 + 0.4 * np.sin(2 * np.pi * np.arange(side)[None, :] * 0.05) * np.ones((side, 1))
    files = {name: tiff(bars) for name in ("a.tif", "b.tif", "c.tif", "d.tif")}
    near = read(CLARITY.format("bars").replace("distance_mm = 10", "distance_mm = 0"), files)
    assert any("in contact" in word for word in near.warnings)
    soft = tiff(0.5 + 0.5 * (bars - 0.5))
    with pytest.raises(InputError, match="times that without the plaque"):
        read(CLARITY.format("bars"), {**files, "a.tif": soft, "b.tif": soft})


def test_wetting_tells_faces_from_inside():
    assert "on the faces" in separate_surface(20.0, 0.5, 0.4, 0.3).verdict
    assert "inside" in separate_surface(20.0, 0.5, 19.6, 0.5).verdict
    both = separate_surface(20.0, 0.5, 10.0, 0.5)
    assert both.verdict.startswith("both")
    assert (1 - both.inside_pct / 100) * (1 - both.faces_pct / 100) == pytest.approx(0.8)


def test_yellowness_of_colour_frames():
    """T 0.9, 0.88, 0.75: YI 13.70 (derived with the stand-in matrix)."""
    open_, plaque = np.full((40, 40, 3), 0.7), np.full((40, 40, 3), 0.7) * [0.9, 0.88, 0.75]
    sheet = (
        HEAD.format("colour") + '[geometry]\nthickness_mm = 3\n[frames]\nopen = "o.tif"\nplaque = "p.tif"\n'
    )
    found = read(sheet, {"o.tif": tiff(open_), "p.tif": tiff(plaque)})
    assert found.observations[0].value == pytest.approx(13.70, abs=0.02)
    brown = found.reduced[0]["browning_per_mm"]
    assert brown == pytest.approx((np.log10(0.9) - np.log10(0.75)) / 3, abs=1e-4)
    with pytest.raises(InputError, match="grey frames"):
        read(sheet, {"o.tif": tiff(open_[:, :, 0]), "p.tif": tiff(plaque[:, :, 0])})


def section(pitch=40, side=400, radius=4.0):
    """Return a section whose voids all lie on the interfaces of layers 40 px thick, and their share."""
    rng = np.random.default_rng(2)
    y, x = np.mgrid[0:side, 0:side]
    grey = np.full((side, side), 0.7)
    for row in range(pitch, side - pitch + 1, pitch):
        for column in rng.uniform(20, side - 20, 4):
            cover = np.clip(radius - np.hypot(y - row, x - column) + 0.5, 0, 1)
            grey = grey * (1 - cover) + 0.15 * cover
    cover = (0.7 - grey) / 0.55
    return grey + 0.005 * rng.standard_normal(grey.shape), float(cover.mean())


MICROGRAPH = HEAD.format("micrograph") + (
    '[geometry]\nmm_per_px = 0.005\nlayer_mm = 0.2\nlayer_origin_px = 0\ntone = "linear"\n[frames]\npicture = "m.tif"\n'
)


def test_a_micrograph_says_how_much_and_where():
    grey, share = section()
    found = read(MICROGRAPH, {"m.tif": tiff(grey)})
    observed, numbers = found.observations[0], found.reduced[0]
    assert observed.value == pytest.approx(100 * share, abs=2 * observed.uncertainty + 1e-3)
    assert np.median(numbers["diameters_um"]) == pytest.approx(40.0, rel=0.03)
    assert numbers["layer_gathered"] > 0.9
    assert min(numbers["layer_place"], 1 - numbers["layer_place"]) < 0.03
    assert numbers["layer_chance"] <= 0.01
    assert any("speaks for one place" in word for word in found.warnings)


def test_voids_at_random_places_do_not_gather():
    rng = np.random.default_rng(8)
    mask = np.zeros((400, 400))
    for row, column in rng.integers(10, 390, (60, 2)):
        mask[row - 3 : row + 3, column - 3 : column + 3] = 1
    chances = [fold(np.roll(mask, k, axis=0), 40.0 + k, rng).chance for k in range(6)]
    assert np.median(chances) > 0.05
    with pytest.raises(InputError, match="pitches of"):
        fold(mask, 300.0, rng)


def test_the_pitch_of_a_picture():
    rows = np.arange(300)[:, None]
    wave = np.cos(2 * np.pi * rows / 17.3) * np.ones((1, 50))
    assert find_pitch(wave, 8.0, 40.0) == pytest.approx(17.3, abs=0.02)


def test_a_void_free_micrograph_is_an_upper_bound_below_a_hundredth_of_a_per_cent():
    rng = np.random.default_rng(4)
    found = read(MICROGRAPH, {"m.tif": tiff(0.6 + 0.02 * rng.standard_normal((500, 500)))})
    assert found.observations[0].bound is Bound.UPPER
    assert found.observations[0].value < 0.01


def test_bright_voids_are_asked_about_and_not_called_none():
    """A dark-field picture: without a word on it the dark voids sought were none, below 0.001 %."""
    grey, share = section()
    bright = tiff(grey.max() + grey.min() - grey)
    with pytest.raises(QuestionError, match=r"no dark voids but \d+ bright marks, .* are the voids bright\?"):
        read(MICROGRAPH, {"m.tif": bright})
    said = read(MICROGRAPH.replace("[geometry]", "invert = true\n[geometry]"), {"m.tif": bright})
    observed = said.observations[0]
    assert observed.value == pytest.approx(100 * share, abs=2 * observed.uncertainty + 1e-3)
    none = read(MICROGRAPH.replace("[geometry]", "invert = false\n[geometry]"), {"m.tif": bright})
    assert none.observations[0].bound is Bound.UPPER


def test_fields_and_grid_points_agree_with_the_mask():
    mask = np.zeros((200, 200), dtype=bool)
    mask[:100] = True
    assert field_shares(mask, (100, 50)).tolist() == [1.0] * 4 + [0.0] * 4
    hits, points = grid_hits(mask, 10, np.random.default_rng(0))
    assert (hits, points) == (200, 400)


def test_bubbles_are_counted_in_a_jpeg_too():
    grey, _ = section()
    sheet = HEAD.format("bubbles") + (
        '[geometry]\nmm_per_px = 0.01\nthickness_mm = 3\ntone = "linear"\n[frames]\npicture = "m.jpg"\n'
    )
    found = read(sheet, {"m.jpg": coded(np.clip(grey, 0, 1), "JPEG")})
    linear = read(sheet.replace("m.jpg", "m.tif"), {"m.tif": tiff(grey)})
    assert found.reduced[0]["count"] == linear.reduced[0]["count"] > 30
    assert not found.observations
    with pytest.raises(InputError, match="a depth of 0 mm"):
        read(
            sheet.replace("thickness_mm = 3", "thickness_mm = 0"),
            {"m.jpg": coded(np.clip(grey, 0, 1), "JPEG")},
        )


def ball(side=60, radius=8.0, half=22):
    """Yield slices of a block with one round void, blurred by half a voxel."""
    z, y, x = np.mgrid[0:side, 0:side, 0:side] - (side - 1) / 2
    block = np.clip(half + 0.5 - np.maximum(np.maximum(abs(x), abs(y)), abs(z)), 0, 1)
    void = np.clip(radius + 0.5 - np.sqrt(x**2 + y**2 + z**2), 0, 1)
    rng = np.random.default_rng(6)
    grey = 40 + 150 * block * (1 - void) + 3 * rng.standard_normal(block.shape)
    return np.round(grey).astype(np.uint8), 4 / 3 * np.pi * radius**3 / block.sum()


def test_a_stack_of_slices(tmp_path):
    import tifffile

    volume, share = ball()
    found = reduce_stack(lambda: iter(volume))
    assert found.share == pytest.approx(share, rel=0.02)
    assert np.nanmax(found.by_slice) > 4 * found.share
    path = tmp_path / "stack.tif"
    tifffile.imwrite(path, volume, photometric="minisblack")
    assert reduce_stack(slices_of([(path.name, path)])).share == found.share
    with pytest.raises(InputError, match="do not stand apart"):
        reduce_stack(lambda: iter(np.random.default_rng(0).normal(120, 9, (4, 50, 50)).astype(np.uint8)))
    with pytest.raises(InputError, match="one size"):
        reduce_stack(lambda: iter([volume[0], volume[0, :30]]))


def test_caps_of_small_voids_count_across_slices():
    """Sixteen spheres of 3 voxels in radius, drawn twice as fine, blurred by 0.8 voxels, with noise of 6 %."""
    z, y, x = (np.arange(2 * size, dtype=np.float32) / 2.0 for size in (24, 72, 72))
    z, y, x = z[:, None, None], y[None, :, None], x[None, None, :]
    part = (z >= 0) & (y >= 10) & (y < 62) & (x >= 10) & (x < 62)
    void = np.zeros(part.shape, dtype=bool)
    for number, (cy, cx) in enumerate([(20 + 10.3 * i, 20 + 10.7 * j) for i in range(4) for j in range(4)]):
        void |= (z - 8.0 - 0.5 * number) ** 2 + (y - cy) ** 2 + (x - cx) ** 2 < 9.0
    solid = (part & ~void).reshape(24, 2, 72, 2, 72, 2).mean(axis=(1, 3, 5))
    grey = ndimage.gaussian_filter(9000.0 + 21000.0 * solid, 0.8)
    grey += np.random.default_rng(8).normal(0.0, 1200.0, grey.shape)
    found = reduce_stack(lambda: iter(grey.astype(np.uint16)))
    assert found.share == pytest.approx(void.sum() / part.sum(), rel=0.02)


def test_heavy_libraries_are_not_imported_by_the_readers():
    """Pillow and tifffile are loaded when a picture is opened, not before."""
    import subprocess

    code = "import sys, voidless.measure.images.read; print([m for m in ('PIL', 'tifffile') if m in sys.modules])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


STACK = HEAD.format("stack") + '[geometry]\nclosing_px = 0\n[frames]\nslices = "v.tif"\n'


def test_a_stack_of_many_pages_is_taken_whole_and_may_begin_with_air():
    """In whole numbers, in floats of any range, and slice by slice: the same share, from all slices."""
    import tifffile

    volume, share = ball()
    assert volume[0].max() < 100  # air alone
    given = {}
    for values in (volume, volume / np.float32(1e3) - 5.0):
        held = io.BytesIO()
        tifffile.imwrite(held, values.astype(values.dtype), photometric="minisblack")
        given["v.tif"] = held.getvalue()
        found = read(STACK, given)
        assert found.reduced[0]["slices"] == len(volume)
        assert found.observations[0].value == pytest.approx(100 * share, rel=0.02)
    names = [f"s{n:02d}.tif" for n in range(len(volume))]
    single = {name: tiff(each / 255.0, bits=8) for name, each in zip(names, volume, strict=True)}
    listed = ", ".join(f'"{name}"' for name in names)
    whole = read(STACK.replace('"v.tif"', f"[{listed}]"), single)
    assert whole.observations[0].value == pytest.approx(100 * share, rel=0.02)


def test_a_picture_with_places_without_light_is_refused():
    grey = np.full((200, 200), 0.5)
    grey[:100, :100] = 0.0
    with pytest.raises(InputError, match="without light"):
        find_voids(grey, light=grey)


def test_every_key_of_a_sheet_stands_in_the_documents():
    text = (Path(__file__).parents[3] / "docs" / "methods" / "optics-measured.md").read_text(encoding="utf-8")
    rows = {line.split("`")[1]: line for line in text.splitlines() if line.startswith("| `")}
    for measure, frames in MEASURES.items():
        keys = {key for group in (*frames, NUMBERS[measure], WORDS[measure]) for key in group}
        assert set(rows[measure].split("`")[3::2]) == keys, measure


FACTOR = {n: float(stdtrit(n - 1, 0.975)) / 1.959964 for n in (2, 3, 5)}


@pytest.mark.parametrize("n", [2, 3, 5])
def test_the_interval_of_a_clarity_holds_for_few_frames(n):
    rng = np.random.default_rng(17)
    conditions = Conditions(10.0, 1.0, 3.0, distance_uncertainty_mm=0.0)
    held = 0
    for _ in range(1000):
        seen, alone = 0.5 + 0.01 * rng.standard_normal(n), 0.9 + 0.003 * rng.standard_normal(n)
        found = reduce_clarity(seen, alone, conditions)
        assert found.uncertainty == pytest.approx((found.high - found.low) / 2 / 1.96)
        held += abs(found.value - 0.5 / 0.9) < 1.96 * found.uncertainty
    assert held / 1000 >= 0.95 - 3 * (0.95 * 0.05 / 1000) ** 0.5


def test_pictures_of_a_section_that_differ_widen_its_void_share():
    first, second = (section(radius=size)[0] for size in (4.0, 5.0))
    sheet = HEAD.format("micrograph") + '[geometry]\ntone = "linear"\n[frames]\npicture = {}\n'
    one, other = (
        read(sheet.format(f'"{n}.tif"'), {f"{n}.tif": tiff(g)}) for n, g in (("a", first), ("b", second))
    )
    both = read(sheet.format('["a.tif", "b.tif"]'), {"a.tif": tiff(first), "b.tif": tiff(second)})
    shares = [each.observations[0].value for each in (one, other)]
    spread = both.observations[0].uncertainty
    assert spread == pytest.approx(max(np.std(shares, ddof=1) / 2**0.5 * FACTOR[2], 0.0), rel=1e-6)


def test_a_haze_and_its_transmittance_count_few_sets():
    sets = [
        frames(haze=each, through=passed) for each, passed in ((0.100, 0.850), (0.104, 0.853), (0.097, 0.848))
    ]
    files = {f"{name[:-4]}{k}.tif": data for k, each in enumerate(sets) for name, data in each.items()}
    roles = ("open", "plaque", "spot", "plaque_spot")
    names = {role: ", ".join(f'"{role}{k}.tif"' for k in range(3)) for role in roles}
    listed = "\n".join(f"{role} = [{each}]" for role, each in names.items())
    text = HEAD.format("haze") + (
        "[geometry]\ndistance_mm = 100\nspot_mm = 8.732\npanel_mm = 2000\npupil_deg = 0.2\nindex = 1.57\n"
        f'thickness_mm = 3\n[frames]\ndark = "dark0.tif"\n{listed}\n'
    )
    found = read(text, files)
    haze, through = (
        item for item in found.observations if item.key.quantity in ("haze_pct", "transmittance_pct")
    )
    assert haze.uncertainty >= np.std([10.0, 10.4, 9.7], ddof=1) / 3**0.5 * FACTOR[3] * 0.97
    assert through.uncertainty >= np.std([85.0, 85.3, 84.8], ddof=1) / 3**0.5 * FACTOR[3] * 0.97


def test_what_a_lamp_does_to_all_colours_alike_leaves_the_yellowness_alone():
    """A lamp that wanders by 1 %, channels that scatter by 0.05 % for themselves: 95 % intervals hold, narrowly."""
    rng = np.random.default_rng(23)
    passed, sheet = (
        np.array([0.86, 0.84, 0.75]),
        HEAD.format("colour") + "[geometry]\nthickness_mm = 3\n[frames]\n",
    )
    roles = {"open": np.ones(3), "plaque": passed}
    sheet += "".join(f'{role} = ["{role}0.tif", "{role}1.tif", "{role}2.tif"]\n' for role in roles)

    def measured(lamp, own):
        files = {
            f"{role}{k}.tif": tiff(
                np.full((16, 16, 3), 0.6)
                * each
                * (1 + lamp * rng.standard_normal())
                * (1 + own * rng.standard_normal(3))
            )
            for role, each in roles.items()
            for k in range(3)
        }
        return read(sheet, files).observations[0]

    truth = measured(0.0, 0.0).value
    found = [measured(0.01, 5e-4) for _ in range(150)]
    held = np.mean([abs(each.value - truth) < 1.96 * each.uncertainty for each in found])
    assert held >= 0.95 - 3 * (0.95 * 0.05 / 150) ** 0.5
    # Channels alone scatter the yellowness by about 0.07; the lamp, were it not common, by about 1.1.
    assert np.median([each.uncertainty for each in found]) < 0.25
    alone = read(sheet.replace(', "open1.tif", "open2.tif"', ""), {
        f"{role}{k}.tif": tiff(np.full((16, 16, 3), 0.6) * each) for role, each in roles.items() for k in range(3)
    }).observations[0]  # fmt: skip
    assert alone.uncertainty > 0.3
