"""Sheets of pictures and single photos come in through `read`, with what is asked and what is refused."""

import io

import numpy as np
import pytest

SHEET = """
run = "R01"
build = "B01"
specimen = "p1"
measure = "haze"
[geometry]
distance_mm = 100
spot_mm = 8.732
panel_mm = 2000
pupil_deg = 0.2
index = 1.57
thickness_mm = 3
[frames]
dark = "dark.tif"
open = "open.tif"
plaque = "plaque.tif"
spot = "spot.tif"
plaque_spot = "plaque_spot.tif"
"""


def _tiff(values):
    import tifffile

    held = io.BytesIO()
    tifffile.imwrite(held, np.round(np.asarray(values) * 65535).astype(np.uint16), photometric="minisblack")
    return held.getvalue()


def _jpeg(values):
    from PIL import Image

    held = io.BytesIO()
    Image.fromarray(np.round(np.asarray(values) * 255).astype(np.uint8)).save(held, "JPEG")
    return held.getvalue()


def _frames(haze=0.10, through=0.85, side=240, radius=90.0):
    """Return four even frames of a plaque of one haze, and their dark frame (invented)."""
    rows, columns = np.mgrid[0:side, 0:side] - (side - 1) / 2
    disc = np.hypot(rows, columns) < radius
    shown = {
        "open": np.ones((side, side)),
        "plaque": np.full((side, side), through),
        "spot": np.where(disc, 0.0, 1.0),
        "plaque_spot": np.where(disc, through * haze, through),
    }
    files = {f"{name}.tif": _tiff(0.6 * each + 0.004) for name, each in shown.items()}
    return {**files, "dark.tif": _tiff(np.full((side, side), 0.004))}


@pytest.fixture
def haze(tmp_path):
    """A folder with a sheet and its five frames."""
    folder = tmp_path / "optics"
    folder.mkdir()
    (folder / "p1.toml").write_text(SHEET, encoding="utf-8")
    for name, data in _frames().items():
        (folder / name).write_bytes(data)
    return folder


def test_a_folder_of_frames_gives_haze_with_its_conditions(voidless, planned, haze):
    answer = voidless.json("read", planned, haze)
    found = {entry["file"].split("/")[-1]: entry for entry in answer["files"]}
    assert {entry["status"] for entry in found.values()} == {"stored"}
    assert found["p1.toml"]["taken_for"] == "picture_sheet"
    results = {row["response"]: row for row in found["p1.toml"]["results"]}
    assert results["haze_pct"]["value"] == pytest.approx(9.9, abs=0.3)  # 1 % of a wide lobe is not seen
    assert results["haze_pct"]["build"] == "B01"
    assert "a frame of a sheet" in found["open.tif"]["why"]
    assert found["open.tif"]["warnings"] == []


def test_a_sheet_alone_finds_the_frames_beside_it_and_keeps_them(voidless, planned, haze):
    answer = voidless.json("read", planned, haze / "p1.toml")
    assert [entry["status"] for entry in answer["files"]] == ["stored"]
    assert answer["files"][0]["extra"]["frames"] == "5"
    assert len(list((planned / "raw").glob("*/*"))) == 6


def test_frames_taken_anew_under_a_stored_sheet_are_told(voidless, planned, haze):
    voidless.json("read", planned, haze)
    again = voidless.json("read", planned, haze)
    assert not any("other frames" in note for entry in again["files"] for note in entry["warnings"])
    (haze / "plaque_spot.tif").write_bytes(_frames(haze=0.2)["plaque_spot.tif"])
    third = voidless.json("read", planned, haze)
    (sheet,) = (entry for entry in third["files"] if entry["taken_for"] == "picture_sheet")
    assert sheet["status"] == "already_stored"
    assert any("other frames" in note for note in sheet["warnings"])


def test_what_a_sheet_leaves_out_is_asked_and_answered(voidless, planned, haze):
    text = SHEET.replace("index = 1.57\n", "")
    (haze / "p1.toml").write_text(text, encoding="utf-8")
    asked = voidless.json("read", planned, haze / "p1.toml", status=2)
    (question,) = asked["files"][0]["questions"]
    assert "--fact index=" in question["expected"]
    told = voidless.json("read", planned, haze / "p1.toml", "--fact", "index=1.57")
    assert told["files"][0]["status"] == "stored"


def test_a_jpeg_is_refused_for_photometry_with_the_reason(voidless, planned, haze):
    (haze / "p1.toml").write_text(SHEET.replace('open = "open.tif"', 'open = "open.jpg"'), encoding="utf-8")
    (haze / "open.jpg").write_bytes(_jpeg(np.full((240, 240), 0.6)))
    refused = voidless.json("read", planned, haze / "p1.toml", status=2)
    assert "JPEG" in refused["error"]["what"] + refused["error"]["remedy"]
    assert not list((planned / "raw").glob("*/*"))


def test_a_photo_is_measured_as_what_a_person_says_it_is(voidless, planned, tmp_path):
    """A void of 40 px by 40 px on a face of 400 px by 400 px is 1 % of it."""
    face = np.full((400, 400), 0.7) + np.random.default_rng(3).normal(0.0, 0.01, (400, 400))
    face[180:220, 180:220] -= 0.6
    photo = tmp_path / "R01_B01_face.tif"
    photo.write_bytes(_tiff(face))
    kept = voidless.json("read", planned, photo, "--dry")["files"][0]
    assert "--as micrograph" in kept["warnings"][0]
    told = voidless.json("read", planned, photo, "--as", "micrograph=*face*", "--fact", "mm_per_px=0.002")
    (row,) = told["files"][0]["results"]
    assert (row["response"], row["run"], row["build"], row["specimen"]) == ("void_pct", "R01", "B01", "face")
    assert row["value"] == pytest.approx(1.0, abs=0.02)
    assert told["files"][0]["reduced"][0]["diameters_um"] == pytest.approx([90.3], abs=1.0)


def test_a_note_says_the_name_of_its_file_once(voidless, planned, tmp_path):
    photo = tmp_path / "bench.tif"
    photo.write_bytes(_tiff(np.full((20, 20), 0.5)))
    (entry,) = voidless.json("read", planned, photo)["files"]
    assert entry["file"].endswith("bench.tif")
    assert entry["warnings"][0].startswith("kept, not measured")
