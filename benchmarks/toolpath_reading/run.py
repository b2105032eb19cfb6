"""
Reading speed and memory of G-code, as ratios within one run.

    python benchmarks/toolpath_reading/run.py [MEGABYTES] [REPEATS]

Files are made by repeating a print of tests/data until they are large enough. Printed per file: how often faster than a
plain Python split-and-float reader the moves alone are scanned, and read with deposit, layers, temperature and fan; how
often slower than numpy reading the file and finding its newlines (each pair taken in turn, the median of the ratios);
what the memory grows by, over the file's size; and the time of look-ahead over the time of reading.
"""

from __future__ import annotations

import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np

from voidless.toolpath.motion import MotionLimits, profile_moves
from voidless.toolpath.reader import read_gcode
from voidless.toolpath.scan import blocks, steps
from voidless.toolpath.scan_columns import Columns
from voidless.toolpath.scan_state import Reading

DATA = Path(__file__).parents[2] / "tests" / "data"
SOURCES = {
    "absolute feed": DATA / "toolpaths-dialects" / "v0_absolute_E.gcode",
    "relative feed, acceleration words": DATA
    / "toolpaths-parts-relative-e"
    / "porch-gutter-hanger PET 0.2mm_0.4.gcode",
}
LIMITS = MotionLimits((200.0, 200.0, 12.0, 60.0), (1000.0, 1000.0, 200.0, 5000.0), 1000.0, 1000.0, 0.02)


def repeated(source: Path, target: Path, size: int) -> None:
    """Write a print over and over; its state is set again at the head of each."""
    once = source.read_bytes() + b"\nG92 E0\n"
    with target.open("wb") as file:
        for _ in range(size // len(once) + 1):
            file.write(once)


def plain_python(path: Path) -> int:
    """Read G0 and G1 with absolute positions by splitting lines: what a short script does."""
    x = y = z = e = f = 0.0
    xs, ys, zs, es, fs = [], [], [], [], []
    relative = False
    with path.open(encoding="latin-1") as file:
        for line in file:
            words = line.split(";", 1)[0].split()
            if not words:
                continue
            if words[0] in ("G0", "G1"):
                for word in words[1:]:
                    letter, value = word[0], float(word[1:])
                    if letter == "X":
                        x = value
                    elif letter == "Y":
                        y = value
                    elif letter == "Z":
                        z = value
                    elif letter == "E":
                        e = e + value if relative else value
                    elif letter == "F":
                        f = value
                xs.append(x)
                ys.append(y)
                zs.append(z)
                es.append(e)
                fs.append(f)
            elif words[0] == "M83":
                relative = True
            elif words[0] == "G92":
                e = 0.0
    return len(np.array([xs, ys, zs, es, fs])[0])


def newlines(path: Path) -> int:
    """Read a file with numpy and find its newlines."""
    return len(np.flatnonzero(np.fromfile(path, dtype=np.uint8) == 10))


def moves_alone(path: Path) -> int:
    """Scan positions, feed and speeds, no more."""
    reading, columns = Reading(path.name), Columns(path.stat().st_size // 24)
    with path.open("rb", buffering=0) as file:
        for step in steps(blocks(file, path.name), compiled=True):
            step(reading, columns)
    return columns.size


def seconds(work, *arguments) -> tuple[float, float]:
    """Return the time of one call by the clock, and the processor time of all its threads. [s], [s]"""
    began, spent = time.perf_counter(), time.process_time()
    work(*arguments)
    return time.perf_counter() - began, time.process_time() - spent


GROWTH = """
import sys
from pathlib import Path
from voidless.toolpath.reader import read_gcode

def largest():
    lines = Path("/proc/self/status").read_text(encoding="utf-8").splitlines()
    return int(next(line for line in lines if line.startswith("VmHWM")).split()[1]) * 1024

read_gcode(Path(sys.argv[1]), compiled=True)
before = largest()
kept = read_gcode(Path(sys.argv[2]), compiled=True)
print(largest() - before)
"""


def growth_bytes(path: Path) -> int:
    """Return by how much the largest resident memory of a fresh process grows when it reads a file (Linux)."""
    command = [sys.executable, "-c", GROWTH, str(SOURCES["absolute feed"]), str(path)]
    return int(subprocess.run(command, capture_output=True, text=True, check=True).stdout)


def main() -> None:
    """Print one block of ratios per file."""
    size = int(float(sys.argv[1]) * 1e6) if len(sys.argv) > 1 else 50_000_000
    repeats = int(sys.argv[2]) if len(sys.argv) > 2 else 5
    read_gcode(SOURCES["absolute feed"], compiled=True)
    for name, source in SOURCES.items():
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / "big.gcode"
            repeated(source, path, size)
            report(name, path, repeats)


def report(name: str, path: Path, repeats: int) -> None:
    """Print the ratios of one file."""
    mega = path.stat().st_size / 1e6
    program = read_gcode(path, compiled=True)
    profile_moves(program.moves, LIMITS, compiled=True)
    moves = len(program.moves)
    plain, alone, whole, numpy_, ahead = [], [], [], [], []
    for _ in range(repeats):
        plain.append(seconds(plain_python, path))
        for _ in range(3):
            alone.append(seconds(moves_alone, path))
            numpy_.append(seconds(newlines, path))
            whole.append(seconds(read_gcode, path, None, True))
            ahead.append(seconds(profile_moves, program.moves, LIMITS, True))
    growth = growth_bytes(path) / path.stat().st_size
    print(f"{name}: {mega:.0f} MB, {moves} moves; best of {repeats} (3 for the fast ones)")
    for clock, words in enumerate(("by the clock", "processor time of all threads")):
        one = {
            key: min(times[clock] for times in kept)
            for key, kept in (("plain", plain), ("alone", alone), ("whole", whole), ("ahead", ahead))
        }
        paired = [read[clock] / found[clock] for read, found in zip(whole, numpy_, strict=True)]
        print(
            f"  {words}: plain {one['plain']:.2f} s, moves alone {one['alone']:.3f} s, whole {one['whole']:.3f} s"
        )
        print(f"    moves alone {one['plain'] / one['alone']:.1f} times faster than plain Python")
        print(f"    read whole  {one['plain'] / one['whole']:.1f} times faster than plain Python")
        print(f"    read whole over numpy with newlines, paired {statistics.median(paired):.2f}")
        print(f"    look-ahead over reading {one['ahead'] / one['whole']:.2f}")
    print(f"  memory grows by {growth:.2f} times the file")


if __name__ == "__main__":
    main()
