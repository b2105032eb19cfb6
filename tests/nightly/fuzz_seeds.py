"""Good files of every kind that `read` takes, small and invented here but for the machine files in tests/data: what fuzzing damages."""

from __future__ import annotations

import io
import struct
import zipfile
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from voidless.measure.results import Answers, Kind, RawFile

DATA = Path(__file__).parents[1] / "data"


@dataclass(frozen=True)
class Given:
    """Files that are read together, and what a person answers of them."""

    files: tuple[RawFile, ...]
    answers: Answers = field(default_factory=Answers)


def _text(name: str, text: str, **facts: float) -> Given:
    return Given((RawFile(name, text.encode()),), Answers(facts=facts))


def _rows(head: str, rows) -> str:
    return head + "\n" + "".join(",".join(str(cell) for cell in row) + "\n" for row in rows)


TABLE = """run,build,specimen,response,value,unit,uncertainty,feature,bound,exposure_h,build_outcome
R01,B01,s1,clarity,0.61,1,0.01,,exact,1.5,ok
R01,B01,s2,strength_z_mpa,38.2,MPa,,,lower,1.5,ok
R02,B02,s1,size_error_mm,-0.04,mm,,x,exact,2,ok
R03,B03,,,,,,,,,cold
"""
WEIGHINGS = """run,build,specimen,role,spool,mass_air_g,mass_water_g,water_c
R01,B01,a,,S,5.0,1.071,23
R02,B02,b,,S,5.1,1.093,23
,,f,reference,S,4.0,0.866,23
"""


def _tables() -> dict[str, Given]:
    hours = (0, 1, 2, 4, 8, 16, 32, 64, 128)
    grid = (0, 20, 40)
    duties = (0, 10, 20, 30, 40, 60, 80, 100)
    return {
        "result_table": _text("table.csv", TABLE),
        "weighings": _text("weighings.csv", WEIGHINGS),
        "moisture": _text(
            "drying.csv",
            _rows(
                "piece,time_h,mass_g,temperature_c,humidity_pct,diameter_mm",
                [("c", t, f"{50 + 0.1 * (1 - 2.0 ** (-t / 9)):.4f}", 23, 50, 1.75) for t in hours],
            ),
        ),
        "impact": _text(
            "blows.csv",
            "run,build,specimen,energy_j,width_mm,thickness_mm,method,break_type,pendulum_j\n"
            "R01,B01,a,0.5,8,4,iso179_1eA,C,2\nR01,B01,b,0.6,8,4,iso179_1eA,N,2\nR01,B01,c,0.7,10.16,4,astm_d256,H,2\n",
        ),
        "pressure": _text(
            "R01_B01_cap.csv",
            _rows(
                "time_s,pressure_kpa,temperature_c,volume_cm3",
                [
                    (t, f"{200 - t / 2000 + 0.002 * np.sin(t):.4f}", f"{23 + 1e-3 * np.cos(t):.4f}", 100)
                    for t in range(0, 400, 10)
                ],
            ),
        ),
        "expansion": _text(
            "cap_volume.csv",
            "before_known_pa,before_object_pa,after_pa\n200000,100000,150000\n200100,100000,150060\n",
            known_volume_cm3=100.0,
            known_volume_uncertainty_cm3=0.5,
        ),
        "bubbles": _text(
            "R01_B01_bath.csv", "bubbles,time_s,diameter_mm,overpressure_kpa\n10,60,2,50\n0,600,2,\n"
        ),
        "sizes": _text(
            "R01_B01_callipers.csv",
            "feature,nominal_mm,measured_mm,side\nx,20,20.05,outside\nx,20,20.07,outside\ny,50,50.01,outside\nz,80,79.9,outside\n"
            "bore,5,4.9,inside\n",
            size_uncertainty_mm=0.01,
        ),
        "heights": _text(
            "R01_B01_plate.csv",
            _rows("x_mm,y_mm,height_mm", [(x, y, f"{x * y / 9e3:.4f}") for x in grid for y in grid]),
        ),
        "profile": _text(
            "R01_B01_trace.csv", _rows("position_mm,height_um", [(n / 200, n % 7) for n in range(800)])
        ),
        "points": _text("R01_B01_counted.csv", "field,hits,points\n1,2,100\n2,0.5,100\n3,1,100\n"),
        "gauge": _text("gauge.csv", "group,part,reading\na,1,2\na,1,2.1\na,2,3\na,2,3\nb,1,2\nb,1,2\nb,2,3.1\nb,2,3\n"),
        "true_flow": _text("flows.csv", "build,volume_mm3,mass_g\nB01,8000,10.1\nB02,8000,9.9\n", density_g_cm3=1.27),
        "precision": _text("days.csv", "group,reading\nmon,1\nmon,1.2\ntue,1.1\ntue,1.4\n"),
        "realised": _text(
            "thermometer.csv",
            "setting,commanded,reading\nnozzle_c,220,216.1\nnozzle_c,240,235.2\nnozzle_c,260,254.8\nbed_c,60,57\nbed_c,80,76.2\n"
            "bed_c,100,95.1\n",
            reading_uncertainty=0.5,
        ),
        "feed": _text(
            "feed.csv",
            _rows("rate_mm3_s,volume_mm3,mass_g", [(r, 800, f"{1.01 - r * r / 4e3:.4f}") for r in range(2, 16, 2)]),
            density_g_cm3=1.27,
            density_uncertainty_g_cm3=0.002,
            mass_uncertainty_g=0.001,
        ),
        "filament": _text(
            "filament.csv",
            _rows("place,diameter_mm", [(n // 2, 1.74 + 0.01 * (n % 3)) for n in range(12)]),
            size_uncertainty_mm=0.005,
        ),
        "fan": _text(
            "fan.csv",
            _rows("duty_pct,air", [(d, 0.0 if d < 20 else round(0.09 * d - 1, 2)) for d in duties]),
            air_uncertainty=0.05,
        ),
        "gap": _text(
            "gap.csv",
            _rows("x_mm,y_mm,thickness_mm", [(x, y, 0.21 + x / 2e3 - y / 4e3) for x in grid for y in grid]),
            commanded_mm=0.2,
            size_uncertainty_mm=0.005,
        ),
        "lag": _text(
            "lag.csv",
            _rows(
                "distance_mm,width_mm",
                [(n / 4, f"{0.45 + 0.15 * (1 - np.exp(-n / 8)):.4f}") for n in range(60)],
            ),
            speed_mm_s=50.0,
        ),
    }  # fmt: skip


def _pull(modulus: float = 2000.0, section: float = 20.0) -> str:
    """Return a tensile record in N and mm with a toe, a maximum and a break."""
    travel = np.arange(0.0, 3.0, 0.01)
    strain = np.maximum(travel - 0.1, 0.0) / 50.0
    force = section * 45.0 * np.tanh(modulus * strain / 45.0) + 0.3 * np.sin(7.0 * np.arange(travel.size))
    force[-3:] = 1.0
    rows = zip(0.1 * np.arange(travel.size), travel, force, strict=True)
    return _rows(
        "Time [s],Extension [mm],Force [N]", [(f"{t:.2f}", f"{x:.4f}", f"{f:.3f}") for t, x, f in rows]
    )


def workbook(rows) -> bytes:
    """Return a workbook of one sheet."""
    import openpyxl

    held, book = io.BytesIO(), openpyxl.Workbook()
    for row in rows:
        book.active.append(list(row))
    book.save(held)
    return held.getvalue()


def _cells(text: str):
    for line in text.splitlines():
        yield [
            float(cell) if cell.replace(".", "").replace("-", "").isdigit() else cell
            for cell in line.split(",")
        ]


def zipped(members: Mapping[str, bytes]) -> bytes:
    """Return a zip archive of files by name."""
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in members.items():
            archive.writestr(name, data)
    return held.getvalue()


def _curves() -> dict[str, tuple[Given, ...]]:
    asked = Answers(units={"Force": "N"}, sections={"": 20.0}, facts={"gauge_length_mm": 50.0})
    bars = {"span_mm": 64.0, "width_mm": 10.0, "thickness_mm": 4.0}
    bend = _rows("time [s],extension [mm],force [N]", [(i / 10, i / 200, f"{i / 4:.3f}") for i in range(400)])
    machine = [
        Given((RawFile(f"R01_B01_{path.name}", path.read_bytes()),), asked)
        for folder in ("machine-files-dialects/text", "machine-files-small-stage", "machine-files-acrylic")
        for path in sorted((DATA / folder).glob("*"))
        if path.suffix.lower() in (".tra", ".mtr", ".dat")
    ]
    books = [
        Given((RawFile(path.name, path.read_bytes()),), asked)
        for path in sorted((DATA / "machine-files-dialects" / "xlsx").glob("*.xlsx"))
    ]
    table = _cells(TABLE)
    folder = DATA / "strength-xy-z" / "filament-03_PETG"
    trials = tuple(
        RawFile(f"f/{path.name}", path.read_bytes())
        for path in [folder / "summary.txt", *sorted(folder.glob("*-trial-1*"))]
    )
    pull = _pull().encode()
    give = _rows(
        "force_n,give_mm,give_uncertainty_mm", [(100, 0.05, 0.001), (200, 0.09, 0.001), (300, 0.13, 0.001)]
    )
    sides = "specimen,width_mm,thickness_mm\nz_1,5,4\nz_1,5.02,4.02\n"
    curve = RawFile("d/R01_B01_z_1.csv", pull)
    own = Answers(facts={"gauge_length_mm": 50.0})
    return {
        "machine_curve": (Given((RawFile("R01_B01_z_1.csv", pull),), asked), *machine),
        "flexure_curve": (Given((RawFile("R01_B01_bend_xy_1.csv", bend.encode()),), Answers(facts=bars)),),
        "strength_summary": (Given(trials, asked),),
        "sections": (Given((RawFile("d/sides.csv", sides.encode()), curve), own),),
        "compliance": (Given((RawFile("d/give.csv", give.encode()), curve), asked),),
        "spreadsheet": (
            Given((RawFile("table.xlsx", workbook(table)),)),
            Given((RawFile("R01_B01_z_1.xlsx", workbook(_cells(_pull()))),), asked),
            *books,
        ),
        "archive": (
            Given((RawFile("d.zip", zipped({"d/table.csv": TABLE.encode(), "d/w.csv": WEIGHINGS.encode()})),)),
            Given((RawFile("c.zip", zipped({"R01_B01_z_1.csv": pull, "in.zip": zipped({"R01_B01_z_2.csv": pull})})),), asked),
        ),
    }  # fmt: skip


def tiff(values, bits: int = 16, **more) -> bytes:
    """Return a TIFF of values between 0 and 1."""
    import tifffile

    held = io.BytesIO()
    whole = np.round(np.clip(np.asarray(values), 0.0, 1.0) * (2**bits - 1))
    tifffile.imwrite(
        held, whole.astype(np.uint16 if bits == 16 else np.uint8),
        photometric="rgb" if np.ndim(values) == 3 else "minisblack", **more,
    )  # fmt: skip
    return held.getvalue()


def coded(values, kind: str) -> bytes:
    """Return a PNG or JPEG of values between 0 and 1."""
    from PIL import Image

    held = io.BytesIO()
    Image.fromarray(np.round(np.clip(values, 0.0, 1.0) * 255).astype(np.uint8)).save(held, kind)
    return held.getvalue()


def _sheet(measure: str, geometry: str, frames: str, files: Mapping[str, bytes]) -> Given:
    text = f'run = "R01"\nbuild = "B01"\nspecimen = "p"\nmeasure = "{measure}"\n[geometry]\n{geometry}[frames]\n{frames}'
    return Given(
        (
            RawFile(f"d/{measure}.toml", text.encode()),
            *(RawFile(f"d/{name}", data) for name, data in files.items()),
        )
    )


def _haze() -> Given:
    rows, columns = np.mgrid[0:120, 0:120] - 59.5
    disc = np.hypot(rows, columns) < 45.0
    black = np.full(disc.shape, 0.004)
    lit = {"open": 1.0, "plaque": 0.85, "spot": 1.0, "plaque_spot": 0.85}
    shown = {
        "open": np.ones(disc.shape),
        "plaque": np.full(disc.shape, 0.85),
        "spot": np.where(disc, 0.0, 1.0),
        "plaque_spot": np.where(disc, 0.085, 0.85),
    }
    files = {f"{name}.tif": tiff(0.6 * (each + 0.01 * lit[name]) + black) for name, each in shown.items()}
    return _sheet(
        "haze",
        "distance_mm = 100\nspot_mm = 8.732\npanel_mm = 2000\npupil_deg = 0.2\nindex = 1.57\nthickness_mm = 3\n",
        'dark = "dark.tif"\nopen = "open.tif"\nplaque = "plaque.tif"\nspot = "spot.tif"\nplaque_spot = "plaque_spot.tif"\n',
        {**files, "dark.tif": tiff(black)},
    )  # fmt: skip


def _clarity(target: str) -> Given:
    side = 120
    rows, columns = np.mgrid[0:side, 0:side]
    if target == "bars":
        sharp = 0.5 + 0.4 * np.sin(2 * np.pi * columns * 0.05)
    else:
        tilt = np.radians(5.0)
        sharp = 0.5 + 0.4 * np.tanh(((columns - 60) * np.cos(tilt) - (rows - 60) * np.sin(tilt)) / 2.0)
    noise = 0.001 * np.random.default_rng(1).standard_normal(sharp.shape)
    files = {"a.tif": tiff(0.8 * sharp + noise), "c.tif": tiff(0.8 * (0.45 + 0.6 * (sharp - 0.5)) + noise)}
    return _sheet(
        "clarity",
        f'distance_mm = 10\nfrequency_per_mm = 1\nthickness_mm = 3\nmm_per_px = 0.05\ntarget = "{target}"\n',
        'target = ["a.tif", "a.tif"]\nplaque = ["c.tif", "c.tif"]\n',
        files,
    )


def _section() -> np.ndarray:
    """Return the grey of a section whose voids lie between layers 30 px thick."""
    rng = np.random.default_rng(2)
    y, x = np.mgrid[0:150, 0:150]
    grey = np.full(y.shape, 0.7)
    for row in range(30, 121, 30):
        for column in rng.uniform(20, 130, 4):
            cover = np.clip(4.5 - np.hypot(y - row, x - column), 0, 1)
            grey = grey * (1 - cover) + 0.15 * cover
    return grey + 0.005 * rng.standard_normal(grey.shape)


def _stack() -> Given:
    z, y, x = np.mgrid[0:24, 0:40, 0:40] - np.array([11.5, 19.5, 19.5]).reshape(3, 1, 1, 1)
    block = np.clip(16.5 - np.maximum(abs(x), abs(y)), 0, 1) * (abs(z) < 9)
    void = np.clip(6.5 - np.sqrt(x**2 + y**2 + z**2), 0, 1)
    grey = 0.15 + 0.6 * block * (1 - void) + 0.01 * np.random.default_rng(6).standard_normal(block.shape)
    names = [f"s{n:02d}.tif" for n in range(len(grey))]
    listed = ", ".join(f'"{name}"' for name in names)
    files = {name: tiff(each, bits=8) for name, each in zip(names, grey, strict=True)}
    return _sheet("stack", "voxel_mm = 0.02\nclosing_px = 1\n", f"slices = [{listed}]\n", files)


def _pictures() -> dict[str, tuple[Given, ...]]:
    grey = _section()
    chess = np.sign(np.outer(*[np.sin(2 * np.pi * (np.arange(150) + 0.5) / 30)] * 2))
    forms = {
        "m.tif": tiff(grey, compression="zlib"),
        "m.png": coded(grey, "PNG"),
        "m.jpg": coded(grey, "JPEG"),
    }
    scale = 'mm_per_px = 0.005\nlayer_mm = 0.15\nlayer_origin_px = 0\ntone = "linear"\n'
    deep = 'mm_per_px = 0.01\nthickness_mm = 3\ntone = "linear"\n'
    colour = np.full((30, 30, 3), 0.7)
    found = {
        "haze": (_haze(),),
        "clarity": (_clarity("bars"), _clarity("edge")),
        "colour": (
            _sheet("colour", "thickness_mm = 3\n", 'open = "o.tif"\nplaque = "p.tif"\n',
                   {"o.tif": tiff(colour), "p.tif": tiff(colour * [0.9, 0.88, 0.75])}),
        ),
        "micrograph": tuple(_sheet("micrograph", scale, f'picture = "{n}"\n', {n: forms[n]}) for n in ("m.tif", "m.png")),
        "grid": (
            _sheet("micrograph", "grid_mm = 0.2\ngrid_px = 30\n", 'picture = "m.tif"\ngrid = "g.tif"\n',
                   {"m.tif": forms["m.tif"], "g.tif": tiff(0.5 + 0.3 * chess)}),
        ),
        "bubbles_in_light": tuple(_sheet("bubbles", deep, f'picture = "{n}"\n', {n: forms[n]}) for n in ("m.tif", "m.jpg")),
        "layer_photo": (_sheet("layer_photo", "largest_px = 20\n", 'picture = "m.jpg"\n', {"m.jpg": forms["m.jpg"]}),),
        "stack": (_stack(),),
    }  # fmt: skip
    for name, kind, facts in (
        ("micrograph_said", Kind.MICROGRAPH, {"mm_per_px": 0.005, "layer_mm": 0.15}),
        ("bubble_photo_said", Kind.BUBBLE_PHOTO, {"mm_per_px": 0.01, "thickness_mm": 3.0}),
        ("layer_photo_said", Kind.LAYER_PHOTO, {"largest_px": 20.0}),
    ):
        said = Answers(facts=facts, kinds=(("R01_*", kind),))
        found[name] = tuple(Given((RawFile(f"R01_B01_{n}", data),), said) for n, data in forms.items())
    return found | {"photo": tuple(Given((RawFile(n, data),)) for n, data in forms.items())}


def _camera_raw() -> tuple[Given, ...]:
    """Return raw files of cameras as far as they are looked at: their marks and first directory."""
    entries = ((262, 3, 1, 32803), (330, 4, 1, 60), (50706, 4, 1, 0x0104))
    block = struct.pack("<H", len(entries)) + b"".join(struct.pack("<HHII", *each) for each in entries)
    plain = b"II*\x00" + struct.pack("<I", 8) + block + b"\x00" * 400
    return (
        Given((RawFile("a.dng", plain),)),
        Given((RawFile("b.cr2", b"II*\x00\x10\x00\x00\x00CR\x02\x00" + bytes(300)),)),
        Given((RawFile("c.nef", b"MM\x00*" + struct.pack(">I", 8) + struct.pack(">HHHII", 1, 262, 3, 1, 32803 << 16) + bytes(300)),)),
        Given((RawFile("d.orf", b"IIRO" + bytes(300)),)),
        Given((RawFile("e.raf", b"\x00raw" + bytes(300)),)),
    )  # fmt: skip


SOURCES: tuple[Callable[[], Mapping[str, Given | tuple[Given, ...]]], ...] = (
    _tables,
    _curves,
    _pictures,
    lambda: {"camera_raw": _camera_raw()},
)


def readers() -> dict[str, tuple[Given, ...]]:
    """Return, by reader, the good files that it takes."""
    found: dict[str, tuple[Given, ...]] = {}
    for source in SOURCES:
        for name, given in source().items():
            found[name] = given if isinstance(given, tuple) else (given,)
    return found
