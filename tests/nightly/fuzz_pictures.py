"""
Hand the readers of pictures, sheets, weighings and moisture damaged files for some minutes; each must end in one clear error.

    python tests/nightly/fuzz_pictures.py [MINUTES] [SEED]
"""

import io
import sys
import time
import traceback
import warnings
from collections import Counter
from pathlib import Path

import numpy as np

from voidless.errors import InputError
from voidless.measure.images.picture import open_picture
from voidless.measure.images.read import read_picture_sheet
from voidless.measure.moisture.read import read_moisture
from voidless.measure.weighing.read import read_weighings

DATA = Path(__file__).parents[1] / "data"
MEASURES = {
    "micrograph": '[geometry]\nmm_per_px = 0.005\nlayer_mm = 0.2\n[frames]\npicture = "p"\n',
    "bubbles": '[geometry]\nmm_per_px = 0.01\nthickness_mm = 3\n[frames]\npicture = "p"\n',
    "layer_photo": '[geometry]\nlargest_px = 20\n[frames]\npicture = "p"\n',
    "stack": '[geometry]\nclosing_px = 1\n[frames]\nslices = ["p", "p"]\n',
    "colour": '[geometry]\nthickness_mm = 3\n[frames]\nopen = "q"\nplaque = "p"\n',
    "clarity": "[geometry]\ndistance_mm = 10\nfrequency_per_mm = 1\nthickness_mm = 3\nmm_per_px = 0.05\n"
    '[frames]\ntarget = "q"\nplaque = "p"\n',
    "haze": "[geometry]\ndistance_mm = 100\nspot_mm = 8.732\npanel_mm = 600\npupil_deg = 0.2\nindex = 1.57\nthickness_mm = 3\n"
    '[frames]\nopen = "q"\nplaque = "p"\nspot = "q"\nplaque_spot = "p"\n',
}
WEIGHINGS = b"run,build,specimen,role,spool,mass_air_g,mass_water_g,water_c\nR1,B1,a,,S,5.0,1.071,23\n,,f,reference,S,4.0,0.866,23\n"
MOISTURE = b"piece,time_h,mass_g,temperature_c,humidity_pct,diameter_mm\n" + b"".join(
    f"c,{t},{50 + 0.1 * (1 - 2.0 ** (-t / 9)):.4f},23,50,1.75\n".encode()
    for t in (0, 1, 2, 4, 8, 16, 32, 64, 128)
)


def pictures(rng):
    import tifffile
    from PIL import Image

    base = np.clip(0.7 + 0.02 * rng.standard_normal((90, 110)), 0, 1)
    base[30:40, 40:55] = 0.2
    found = []
    for kind in ("PNG", "JPEG", "TIFF"):
        held = io.BytesIO()
        Image.fromarray((255 * base).astype(np.uint8)).save(held, kind)
        found.append(held.getvalue())
    for shape in ("grey", "rgb"):
        held = io.BytesIO()
        values = (65535 * base).astype(np.uint16)
        values = np.stack([values] * 3, -1) if shape == "rgb" else values
        tifffile.imwrite(
            held, values, photometric="rgb" if shape == "rgb" else "minisblack", compression="zlib"
        )
        found.append(held.getvalue())
    return found


def damaged(data, rng):
    found = bytearray(data)
    for _ in range(int(rng.integers(0, 12))):
        found[int(rng.integers(len(found)))] = int(rng.integers(256))
    if rng.random() < 0.3:
        found = found[: int(rng.integers(1, len(found) + 1))]
    if rng.random() < 0.1:
        at = int(rng.integers(len(found)))
        found[at:at] = rng.bytes(30)
    return bytes(found)


def one(rng, good):
    """Return how one damaged file ended."""
    way = int(rng.integers(5))
    picture = good[int(rng.integers(len(good)))]
    if way == 0:
        open_picture("p", damaged(picture, rng))
    elif way == 1:
        read_weighings("w.csv", damaged(WEIGHINGS, rng))
    elif way == 2:
        read_moisture("m.csv", damaged(MOISTURE, rng))
    else:
        measure = str(rng.choice(list(MEASURES)))
        sheet = f'run = "R1"\nbuild = "B1"\nmeasure = "{measure}"\n{MEASURES[measure]}'.encode()
        if way == 3:
            sheet = damaged(sheet, rng)
        files = {
            "p": damaged(picture, rng) if rng.random() < 0.7 else picture,
            "q": good[int(rng.integers(len(good)))],
        }
        read_picture_sheet("s.toml", sheet, files)
    return "taken"


def main():
    minutes = float(sys.argv[1]) if len(sys.argv) > 1 else 10.0
    seed = int(sys.argv[2]) if len(sys.argv) > 2 else int(time.time())
    warnings.simplefilter("error")
    rng = np.random.default_rng(seed)
    good, ended = pictures(rng), Counter()
    until = time.monotonic() + 60 * minutes
    while time.monotonic() < until:
        started = time.monotonic()
        try:
            end = one(rng, good)
        except InputError as fault:
            end = "refused" if fault.what and fault.where else f"UNCLEAR {fault!r}"[:200]
        except Exception:  # noqa: BLE001 - whatever escapes is what this script looks for
            end = "ESCAPED " + " | ".join(traceback.format_exc().strip().splitlines()[-3:])[:300]
        if time.monotonic() - started > 10.0:
            end = "SLOW"
        ended[end] += 1
    print(f"seed {seed}, {sum(ended.values())} files")
    for end, count in ended.most_common():
        print(f"{count:6d} {end}")
    return int(any(end.split()[0].isupper() for end in ended))


if __name__ == "__main__":
    sys.exit(main())
