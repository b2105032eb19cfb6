"""
Hand `read` damaged, shuffled and invented files for some minutes; every one must end in an answer or in one clear error.

    python tests/nightly/fuzz_read.py [MINUTES] [SEED]

Files are made by damaging good ones (tests/data and tables made here): cut, bytes changed, lines shuffled or doubled,
cells replaced by nasty ones, packed in zips. A refused file must leave the campaign exactly as it was.
"""

from __future__ import annotations

import contextlib
import hashlib
import io
import json
import shutil
import sys
import tempfile
import time
import traceback
import warnings
import zipfile
from collections import Counter
from collections.abc import Callable
from pathlib import Path

import numpy as np

from voidless.cli.app import run
from voidless.records.store import Store

DATA = Path(__file__).parents[1] / "data"
CAMPAIGN = """
[campaign]
name = "fuzzed"
material = "petg"
machine = "bench-0.4"
[factors.flow_pct]
low = 90.0
high = 110.0
[specifications.clarity]
min = 0.6
[specimens]
block = 1
"""
TABLE = """run,build,specimen,response,value,unit,uncertainty,feature,bound,exposure_h,build_outcome
R01,B01,s1,clarity,0.61,,0.01,,exact,1.5,ok
R01,B01,s2,strength_z_mpa,38.2,MPa,,,lower,1.5,ok
R02,B02,s1,size_error_mm,-0.04,mm,,x,exact,2,ok
R03,B03,,,,,,,,,cold
"""
WEIGHING = """specimen,run,build,mass_air_g,mass_liquid_g,liquid,temperature_c
s1,R01,B01,4.512,0.955,water,21.5
s2,R02,B02,4.498,0.951,water,21.5
"""
READINGS = {
    "blows.csv": "energy_j,width_mm,thickness_mm,method,break_type\n0.5,8,4,iso179_1eA,C\n0.6,8,4,iso179_1eA,N\n",
    "cap.csv": "time_s,pressure_kpa,temperature_c,volume_cm3\n"
    + "".join(f"{t},{200 - t / 2000},23,100\n" for t in range(0, 200, 10)),
    "bath.csv": "bubbles,time_s,diameter_mm\n10,60,2\n0,600,2\n",
    "callipers.csv": "feature,nominal_mm,measured_mm\nx,20,20.05\nx,20,20.07\nbore,5,4.9\n",
    "plate.csv": "x_mm,y_mm,height_mm\n"
    + "".join(f"{x},{y},{x * y / 9e3}\n" for x in (0, 20, 40) for y in (0, 20, 40)),
    "trace.csv": "position_mm,height_um\n" + "".join(f"{n / 200},{n % 7}\n" for n in range(800)),
    "days.csv": "group,reading\nmon,1\nmon,1.2\ntue,1.1\ntue,1.4\n",
    "sides.csv": "specimen,width_mm,thickness_mm\nz_1,10,4\nz_1,10.1,4.02\n",
    "give.csv": "force_n,give_mm,give_uncertainty_mm\n100,0.05,0.001\n200,0.09,0.001\n300,0.13,0.001\n",
    "drying.csv": "time_h,mass_g\n0,10.1\n4,10.02\n8,10.0\n20,9.99\n",
}
NASTY = (
    "", " ", "nan", "inf", "-inf", "1e400", "-1", "0", "1,5", "=1+1", "R99", "B99", "[red]x[/red]", "<script>", "\x00", "é",
    "9" * 400, "x" * 10_000, '"', "\ufeff", "\u202e", "True", "2031-01-01", "kN", "psi", "#DIV/0!", "\x1b[31m", "\n",
)  # fmt: skip
Bytes = Callable[[bytes, np.random.Generator], bytes]


def cut(data: bytes, rng: np.random.Generator) -> bytes:
    """Return the beginning of a file."""
    return data[: int(rng.integers(0, len(data) + 1))]


def flip(data: bytes, rng: np.random.Generator) -> bytes:
    """Return a file with some bytes changed."""
    found = bytearray(data)
    for _ in range(int(rng.integers(1, 20)) if found else 0):
        found[int(rng.integers(len(found)))] = int(rng.integers(256))
    return bytes(found)


def lines(data: bytes, rng: np.random.Generator) -> bytes:
    """Return a file with lines shuffled, doubled or left out."""
    rows = data.split(b"\n")
    chosen = rng.integers(0, len(rows), size=int(rng.integers(1, len(rows) + 2)))
    return b"\n".join(rows[i] for i in (chosen if rng.random() < 0.5 else np.sort(chosen)))


def cells(data: bytes, rng: np.random.Generator) -> bytes:
    """Return a table with cells replaced by nasty ones."""
    rows = data.split(b"\n")
    for _ in range(int(rng.integers(1, 6))):
        at = int(rng.integers(len(rows)))
        parts = rows[at].split(b",")
        parts[int(rng.integers(len(parts)))] = str(rng.choice(NASTY)).encode()
        rows[at] = b",".join(parts)
    return b"\n".join(rows)


def recode(data: bytes, rng: np.random.Generator) -> bytes:
    """Return a text in another coding."""
    coding = str(rng.choice(["utf-16", "utf-16-le", "utf-32", "utf-8-sig", "cp1252"]))
    return data.decode("latin-1").encode(coding, errors="replace")


def pack(data: bytes, rng: np.random.Generator) -> bytes:
    """Return a file in a zip, whose bytes may be damaged."""
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr(
            str(rng.choice(["a.csv", "x/../b.csv", "../../c.csv", "/abs.csv", "d" * 200 + ".csv"])), data
        )
    return flip(held.getvalue(), rng) if rng.random() < 0.5 else held.getvalue()


def splice(data: bytes, rng: np.random.Generator) -> bytes:
    """Return two pieces of a file with noise between."""
    at = int(rng.integers(0, len(data) + 1))
    return data[:at] + rng.bytes(int(rng.integers(0, 300))) + data[at:]


WAYS: tuple[Bytes, ...] = (cut, flip, lines, cells, cells, cells, recode, pack, splice)


def seeds() -> list[tuple[str, bytes]]:
    """Return the good files that damage starts from: name and content, none over 400 kB."""
    found = [("table.csv", TABLE.encode()), ("weighings.csv", WEIGHING.encode())] * 6
    found += [(name, text.encode()) for name, text in READINGS.items()] * 2
    for folder in ("machine-files-dialects", "machine-files-small-stage", "machine-files-acrylic"):
        found += [(p.name, p.read_bytes()) for p in sorted((DATA / folder).rglob("*")) if p.is_file()]
    for path in sorted((DATA / "strength-xy-z").glob("filament-0[1-4]*/*"))[:30:3]:
        found.append((path.name, path.read_bytes()))
    return [(name, data) for name, data in found if len(data) < 400_000]


def content(campaign: Path) -> dict[str, str]:
    """Return a checksum of every file of a campaign, and of the counts of its records."""
    found = {
        str(path.relative_to(campaign)): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in campaign.rglob("*")
        if path.is_file() and not path.name.startswith("records.sqlite")
    }
    with Store.open(campaign) as store:
        return {**found, "counts": json.dumps(store.counts(), sort_keys=True)}


def read(campaign: Path, path: Path) -> tuple[int, str]:
    """Return exit status and standard output of reading one file."""
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        status = run(["read", str(campaign), str(path), "--json"])
    return status, out.getvalue()


def judge(campaign: Path, before: dict[str, str], path: Path) -> str:
    """Return how one file ended; anything but `stored`, `question` or `refused` is a fault of the program."""
    try:
        status, out = read(campaign, path)
    except Exception:  # noqa: BLE001 - whatever escapes is what this script looks for
        return "ESCAPED " + traceback.format_exc().strip().splitlines()[-1][:200]
    if out.count("\n") != 1:
        return f"NOT ONE OBJECT {out[:200]!r}"
    answer = json.loads(out)
    if status == 0:
        return "stored"
    if status != 2 or not all(answer["error"].get(part) for part in ("where", "what", "expected")):
        return f"UNCLEAR {status} {answer['error']}"
    if content(campaign) != before:
        return f"CHANGED THE CAMPAIGN {answer['error']}"
    return str(answer["files"][0]["status"]) if "files" in answer else "refused"


def fuzz(seconds: float, seed: int, keep: Path) -> Counter[str]:
    """Return how often files ended how; those that show a fault are kept in a folder."""
    rng = np.random.default_rng(seed)
    good = seeds()
    ended: Counter[str] = Counter()
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        (folder / "c.toml").write_text(CAMPAIGN, encoding="utf-8")
        made, campaign = folder / "made", folder / "campaign"
        with contextlib.redirect_stdout(io.StringIO()):
            run(["new", str(made), "--from", str(folder / "c.toml"), "--json"])
            run(["plan", str(made), "--runs", "4", "--seed", "1", "--json"])
        shutil.copytree(made, campaign)
        before = content(campaign)
        until = time.monotonic() + seconds
        while time.monotonic() < until:
            name, data = good[int(rng.integers(len(good)))]
            for _ in range(int(rng.integers(1, 4))):
                data = WAYS[int(rng.integers(len(WAYS)))](data, rng)
            path = folder / "given" / name
            path.parent.mkdir(exist_ok=True)
            path.write_bytes(data)
            started = time.monotonic()
            end = judge(campaign, before, path)
            slow = time.monotonic() - started
            if slow > 10.0:
                end = f"SLOW {slow:.0f} s"
            ended[end] += 1
            if end[:2].isupper():
                keep.mkdir(exist_ok=True)
                shutil.copyfile(path, keep / f"{sum(ended.values())}-{name}")
            if end not in ("question", "refused"):
                shutil.rmtree(campaign)
                shutil.copytree(made, campaign)
                before = content(campaign)
    return ended


def main() -> int:
    """Run, print how the files ended, and return 1 when a fault was found."""
    warnings.simplefilter("default")
    minutes = float(sys.argv[1]) if len(sys.argv) > 1 else 10.0
    seed = int(sys.argv[2]) if len(sys.argv) > 2 else int(time.time())
    keep = Path(tempfile.gettempdir()) / f"voidless-fuzz-{seed}"
    ended = fuzz(60.0 * minutes, seed, keep)
    print(f"seed {seed}, {sum(ended.values())} files")
    for end, count in ended.most_common():
        print(f"{count:6d} {end}")
    return int(any(end[:2].isupper() for end in ended))


if __name__ == "__main__":
    sys.exit(main())
