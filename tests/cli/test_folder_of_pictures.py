"""A folder of pictures: what it was taken for stays readable, and counts are told."""

import io

import numpy as np
import pytest
from PIL import Image


@pytest.fixture
def pictures(tmp_path):
    """A photo of three bubbles with its sheet, and twelve frames that belong to no sheet."""
    folder = tmp_path / "bench"
    folder.mkdir()
    across = np.arange(400.0)
    light = np.full((400, 400), 0.8)
    for x, y in ((80, 90), (200, 300), (310, 150)):
        light[(across[None, :] - x) ** 2 + (across[:, None] - y) ** 2 < 15.0**2] = 0.2
    light += np.random.default_rng(3).normal(0.0, 0.01, light.shape)
    Image.fromarray((255 * light).astype(np.uint8)).save(folder / "window.png")
    for number in range(12):
        held = io.BytesIO()
        Image.fromarray(np.full((20, 20), 100 + number, dtype=np.uint8)).save(held, "PNG")
        (folder / f"frame_{number:02d}.png").write_bytes(held.getvalue())
    (folder / "window.toml").write_text(
        'run = "R01"\nbuild = "B01"\nspecimen = "w"\nmeasure = "bubbles"\n[geometry]\n'
        'mm_per_px = 0.01\nthickness_mm = 3\ntone = "linear"\n[frames]\npicture = ["window.png"]\n',
        encoding="utf-8",
    )
    return folder


def test_frames_that_came_to_the_same_stand_in_one_line_and_bubbles_are_told(voidless, planned, pictures):
    code, out, _ = voidless("read", planned, pictures, "--dry")
    assert code == 0
    lines = " ".join(out.split())
    assert "frame_00.png to" in lines
    assert "frame_11.png, 12 files" in lines
    assert "frame_05" not in lines
    # 3 bubbles in 4 mm x 4 mm x 3 mm.
    assert "window.toml: 3 bubbles, 0.0625 a mm3" in lines
    data = voidless.json("read", planned, pictures, "--dry")
    assert sum("frame_" in file["file"] for file in data["files"]) == 12
