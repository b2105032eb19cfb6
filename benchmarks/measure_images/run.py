"""
Time, memory and error of pictures: four 24-megapixel frames to haze, and a stack of slices to void share.

    python benchmarks/measure_images/run.py haze
    python benchmarks/measure_images/run.py stack [SIDE]

Frames and slices are invented here; the stack is made slice by slice, as a reader of files would hand it on.
"""

import io
import resource
import sys
import time

import numpy as np
import tifffile
from scipy import ndimage

from voidless.measure.images.read import read_picture_sheet
from voidless.measure.images.stack import reduce_stack

SHEET = """
run = "R01"
build = "B01"
measure = "haze"
[geometry]
distance_mm = 100
spot_mm = 8.732
panel_mm = 600
pupil_deg = 0.25
index = 1.57
thickness_mm = 3
[frames]
open = "open.tif"
plaque = "plaque.tif"
spot = "spot.tif"
plaque_spot = "plaque_spot.tif"
"""


def peak_mb():
    """Return the largest memory that this process has held. [MB]"""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / (1e6 if sys.platform == "darwin" else 1e3)


def frames():
    """Return four frames of 6000 x 4000 pixels in three colours, 16 bits, and the true haze. [%]"""
    rows, columns = np.mgrid[0:4000, 0:6000]
    dark = np.hypot(rows - 1999.5, columns - 2999.5) < 900.0
    rng = np.random.default_rng(1)
    files = {}
    for name, lit, hidden in (
        ("open", 1.0, 1.0),
        ("plaque", 0.85, 0.85),
        ("spot", 1.0, 0.0),
        ("plaque_spot", 0.85, 0.085),
    ):
        grey = np.where(dark, hidden, lit) * 36_000.0
        values = np.stack(
            [grey + 120.0 * rng.standard_normal(grey.shape, dtype=np.float32) for _ in range(3)], axis=-1
        )
        held = io.BytesIO()
        tifffile.imwrite(held, np.maximum(values, 0).astype(np.uint16), photometric="rgb")
        files[f"{name}.tif"] = held.getvalue()
    return files


def haze():
    files = frames()
    started = time.perf_counter()
    found = read_picture_sheet("sheet.toml", SHEET.encode(), files)
    seconds = time.perf_counter() - started
    print(
        f"four frames of 24 Mpx: {seconds:.2f} s, peak {peak_mb():.0f} MB, haze {found.reduced[0]['haze_pct']:.3f} %"
    )


def stack(side):
    rng = np.random.default_rng(3)
    cell = side // 10
    centres = (np.stack(np.meshgrid(*[np.arange(2, 8)] * 3, indexing="ij"), -1).reshape(-1, 3) + 0.5) * cell
    radii = rng.uniform(0.1, 0.3, len(centres)) * cell
    low, high = side // 8, side - side // 8

    def slices():
        noise = np.random.default_rng(4)
        for z in range(side):
            solid = np.zeros((side, side), dtype=np.float32)
            if low <= z < high:
                solid[low:high, low:high] = 1.0
            for (cz, cy, cx), r in zip(centres, radii, strict=True):
                squared = r**2 - (z - cz) ** 2
                if squared > 0:
                    reach = int(r) + 3
                    y, x = np.mgrid[int(cy) - reach : int(cy) + reach, int(cx) - reach : int(cx) + reach]
                    place = (slice(y[0, 0], y[-1, 0] + 1), slice(x[0, 0], x[0, -1] + 1))
                    rim = np.hypot(y - cy, x - cx) - squared**0.5 + 0.5
                    solid[place] = np.minimum(solid[place], np.minimum(np.maximum(rim, 0), 1))
            grey = 50.0 + 140.0 * ndimage.gaussian_filter(solid, 0.8)
            yield np.minimum(grey + 6 * noise.standard_normal(grey.shape, dtype=np.float32), 255).astype(
                np.uint8
            )

    true = 100.0 * (4 / 3 * np.pi * radii**3).sum() / (high - low) ** 3
    started = time.perf_counter()
    found = reduce_stack(slices)
    seconds = time.perf_counter() - started
    said = f"void share {100 * found.share:.4f} % (true {true:.4f} %)"
    print(f"stack of {side}^3: {seconds:.0f} s with making it twice, peak {peak_mb():.0f} MB, {said}")


if __name__ == "__main__":
    if sys.argv[1] == "haze":
        haze()
    else:
        stack(int(sys.argv[2]) if len(sys.argv) > 2 else 1000)
