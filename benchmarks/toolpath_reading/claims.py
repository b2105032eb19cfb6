"""
Printed files beside what the program that made them claimed, as a table.

    python -m benchmarks.toolpath_reading.claims FOLDER...

Each folder holds G-code and a claims.csv with `file` and any of `filament_mm`, `volume_cm3`, `layers` and
`time_claimed_s`; with no folder, those of tests/data. Files that are not there are left out. Filament and volume are
those fed while X or Y moves, as written, without what is laid in front of the bed (Y below 0), where these files prime
the nozzle. `before` is the time of all moves before the first bead above height 0, a part of `time`. Times are claims
of a program, not measurements.
"""

from __future__ import annotations

import csv
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np

from voidless.toolpath.motion import profile_moves
from voidless.toolpath.part import part_limits, part_summary
from voidless.toolpath.reader import Program, read_gcode

DATA = Path(__file__).parents[2] / "tests" / "data"
FOLDERS = (DATA / "toolpaths-parts-relative-e", DATA / "toolpaths-samples-absolute-e")
HEAD = (
    "file",
    "filament mm",
    "claimed",
    "volume cm3",
    "claimed",
    "layers",
    "claimed",
    "time s",
    "before s",
    "claimed",
    "differs %",
    "limits",
)


def purge_mm(program: Program) -> float:
    """Return the filament that a file lays in front of the bed, at Y below 0. [mm]"""
    moves = program.moves
    y = np.minimum(moves.y_mm, moves.y_mm - moves.steps_mm[:, 1])
    return float(moves.filament_mm[moves.deposits & (y < 0.0)].sum())


def before_s(program: Program) -> float:
    """Return the time of the moves before the first bead above height 0, as written. [s]"""
    ones = np.ones(len(program.moves))
    moves = replace(program.moves, speed_factor=ones, flow_factor=ones)
    first = int(np.argmax(moves.deposits & (moves.z_mm > 0.0)))
    return float(profile_moves(moves, part_limits(program, None)).time_s[:first].sum())


def row(path: Path, claim: dict[str, str]) -> tuple[str, ...]:
    """Return one line of the table."""
    program = read_gcode(path)
    found = part_summary(program)
    purge = purge_mm(program)
    filament = found["moving_filament_mm"] - purge
    volume = found["volume_mm3"] * filament / found["moving_filament_mm"] / 1000.0
    time = claim.get("time_claimed_s", "")
    differs = f"{100.0 * (found['time_s'] / float(time) - 1.0):+.2f}" if time else ""
    assumed = any("states no limits" in text for text in found["problems"])
    return (
        path.name, f"{filament:.2f}", claim.get("filament_mm", ""), f"{volume:.2f}", claim.get("volume_cm3", ""),
        str(found["layers"]), claim.get("layers", ""), f"{found['time_s']:.0f}", f"{before_s(program):.1f}", time,
        differs, "assumed in part" if assumed else "stated",
    )  # fmt: skip


def main() -> None:
    """Print the table in Markdown."""
    print("| " + " | ".join(HEAD) + " |\n" + "|---" * len(HEAD) + "|")
    for folder in map(Path, sys.argv[1:]) if sys.argv[1:] else FOLDERS:
        text = (folder / "claims.csv").read_text(encoding="utf-8").splitlines()
        for claim in csv.DictReader(line for line in text if not line.startswith("#")):
            if (folder / claim["file"]).exists():
                print("| " + " | ".join(row(folder / claim["file"], claim)) + " |")


if __name__ == "__main__":
    main()
