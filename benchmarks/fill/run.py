"""
Solid fill of every specimen and part, judged from written G-code, against a plain equal-spaced raster.

    python -m benchmarks.fill.run [--only NAME,NAME] [--contours 2,1,0] [--angles 0,45] [--layers 0.2,0.12]
                                  [--lag SECONDS] [--ahead SECONDS] [--largest MM2] [--plain] [--out FOLDER]

Each different section is planned, written with the writer, read with the reader and judged on cells of 10 um. Raster
along X stands for a unidirectional one; a crossed one has beads at 45 and 135 degrees, of which the first is judged.
`--lag` judges what really leaves the nozzle, `--ahead` feeds ahead of a lag. One line per case goes to `results.csv`
(`lagged.csv`, `ahead.csv`), one per kind of case to a table of the same name.
"""

from __future__ import annotations

import argparse
import csv
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
from benchmarks.fill.plain import plain_pattern
from benchmarks.fill.sections import Section, names_of_all, sections
from benchmarks.fill.summary import write_summary
from shapely.affinity import translate

from voidless.beads.stadium import full_fill_pitch
from voidless.machines import load_machine
from voidless.toolpath.fill.plan import plan_region
from voidless.toolpath.fill.types import Fill, Pattern
from voidless.toolpath.judge import Verdict, judge_layer
from voidless.toolpath.lag import deposit_lagged
from voidless.toolpath.lag_feed import feed_ahead
from voidless.toolpath.lag_pieces import cut_moves
from voidless.toolpath.motion import MotionLimits, profile_moves
from voidless.toolpath.moves import Moves, Toolpath
from voidless.toolpath.reader import read_gcode_lines
from voidless.toolpath.recorder import Recorder
from voidless.toolpath.writer import write_gcode

MACHINE = load_machine("bench-0.4", {"bed_x_mm": 400.0, "bed_y_mm": 400.0})
NOZZLE, WIDTH, OVERLAP = 0.4, 0.45, 20.0
SETTINGS = {
    "width_mm": WIDTH, "flow_pct": 100.0, "overlap_pct": OVERLAP, "nozzle_c": 240.0, "bed_c": 80.0,
    "chamber_c": 25.0, "fan_pct": 0.0, "speed_mm_s": 40.0,
}  # fmt: skip
LAG_PIECE_MM = 0.2


def written(pattern: Pattern, layer_mm: float, ahead_s: float = 0.0) -> tuple[Moves, float]:
    """Return the moves of a pattern, fed ahead of a lag, as a reader finds them in the file, and its time. [s]"""
    settings = {**SETTINGS, "layer_mm": layer_mm}
    recorder = Recorder(settings, MACHINE)
    recorder.purge()
    recorder.section(pattern, (MACHINE.bed_x_mm / 2.0, MACHINE.bed_y_mm / 2.0), 0, 0)
    moves = recorder.finish()
    profile = profile_moves(moves, MotionLimits.of(MACHINE))
    path = Toolpath(feed_ahead(moves, profile, ahead_s, MACHINE.max_rate_mm3_s), (), layer_mm, 1, 0.0)
    lines = write_gcode(path, MACHINE, settings, ["benchmark"]).splitlines()
    moves = read_gcode_lines(lines, "benchmark", MACHINE.filament_diameter_mm).moves
    return moves, float(
        profile_moves(path.moves, MotionLimits.of(MACHINE)).time_s[path.moves.layer >= 0].sum()
    )


def lagged(moves: Moves, lag_s: float) -> Moves:
    """Return moves with the volume that really leaves the nozzle."""
    from dataclasses import replace

    pieces, profile, _ = cut_moves(moves, profile_moves(moves, MotionLimits.of(MACHINE)), LAG_PIECE_MM)
    return replace(pieces, volume_mm3=deposit_lagged(pieces, profile, lag_s).volume_mm3)


def judged(
    pattern: Pattern, section: Section, layer_mm: float, lag_s: float, ahead_s: float = 0.0
) -> tuple[Verdict, float]:
    """Return the verdict on a pattern that was written and read, and its time. [s]"""
    moves, seconds = written(pattern, layer_mm, ahead_s)
    if lag_s > 0.0:
        moves = lagged(moves, lag_s)
    region = translate(section.region, MACHINE.bed_x_mm / 2.0, MACHINE.bed_y_mm / 2.0)
    x0, y0, x1, y1 = region.bounds
    inside = (moves.x_mm > x0) & (moves.x_mm < x1) & (moves.y_mm > y0 - 1.0) & (moves.y_mm < y1 + 1.0)
    layer = int(moves.layer[np.flatnonzero(moves.deposits & inside)[-1]])
    purge = moves.deposits & (moves.y_mm < MACHINE.bed_y_mm / 2.0 - 150.0)
    moves.layer.flags.writeable = True
    moves.layer[purge] = -1
    return judge_layer(moves, layer, region, layer_mm, NOZZLE, WIDTH), seconds


def row(
    section: Section,
    contours: int,
    angle: float,
    layer_mm: float,
    way: str,
    lag_s: float,
    ahead_s: float = 0.0,
) -> dict[str, Any]:
    """Return one line of the table."""
    pitch = float(full_fill_pitch(layer_mm, WIDTH))
    begin = time.perf_counter()
    if way == "plain":
        pattern = plain_pattern(section.region, pitch, contours, angle)
    else:
        fill = Fill(pitch, WIDTH, contours, OVERLAP, NOZZLE)
        reference = section.reference_mm if angle == 0.0 else None
        pattern = plan_region(section.region, fill, angle, reference)
    planning = time.perf_counter() - begin
    found: dict[str, Any] = {
        "source": section.source, "height_mm": f"{section.height_mm:.3f}", "area_mm2": f"{section.region.area:.3f}",
        "layer_mm": layer_mm, "contours": contours, "contours_laid": pattern.contours, "angle_deg": angle, "way": way,
    }  # fmt: skip
    if not pattern.area_mm2.any():
        return {**found, "passes": "nothing laid"}
    verdict, seconds = judged(pattern, section, layer_mm, lag_s, ahead_s)
    corners = sum(item.reason.startswith("corner") for item in verdict.excluded)
    return found | {
        "judged_share": f"{verdict.area_mm2 / section.region.area:.4f}",
        "good_share": f"{verdict.good_share:.5f}",
        "gap_share": f"{verdict.gap_share:.6f}",
        "gap_largest_mm2": f"{verdict.gap_largest_mm2:.5f}",
        "open_share": f"{verdict.open_share:.6f}",
        "volume_error": f"{verdict.volume_error:.6f}",
        "width_low_nozzles": f"{verdict.width_low_mm / NOZZLE:.3f}",
        "width_high_nozzles": f"{verdict.width_high_mm / NOZZLE:.3f}",
        "width_outside_share": f"{verdict.width_outside_share:.5f}",
        "fill_low": f"{verdict.fill_low:.3f}",
        "fill_high": f"{verdict.fill_high:.3f}",
        "sharp_corners": corners,
        "necks": len(verdict.excluded) - corners,
        "layer_s": f"{seconds:.2f}",
        "planning_s": f"{planning:.3f}",
        "passes": "yes" if verdict.passes else "no",
    }


def cases(options: argparse.Namespace) -> Iterator[dict[str, Any]]:
    """Return the table line by line."""
    names = options.only.split(",") if options.only else names_of_all()
    for layer_mm in map(float, options.layers.split(",")):
        for section in sections(names, float(full_fill_pitch(layer_mm, WIDTH))):
            if section.region.area > options.largest:
                continue
            for contours in map(int, options.contours.split(",")):
                for angle in map(float, options.angles.split(",")):
                    for way in ("plan", "plain") if options.plain else ("plan",):
                        yield row(section, contours, angle, layer_mm, way, options.lag, options.ahead)


def main() -> None:
    """Judge, and write the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--only", default="")
    parser.add_argument("--contours", default="2,1,0")
    parser.add_argument("--angles", default="0,45")
    parser.add_argument("--layers", default="0.2,0.12")
    parser.add_argument("--lag", type=float, default=0.0)
    parser.add_argument("--ahead", type=float, default=0.0)
    parser.add_argument("--largest", type=float, default=1e9)
    parser.add_argument("--plain", action="store_true")
    parser.add_argument("--out", type=Path, default=Path(__file__).parent)
    options = parser.parse_args()
    options.out.mkdir(parents=True, exist_ok=True)
    target = options.out / ("ahead.csv" if options.ahead else "lagged.csv" if options.lag else "results.csv")
    with target.open("w", encoding="utf-8", newline="") as file:
        writer = None
        for line in cases(options):
            if writer is None:
                writer = csv.DictWriter(file, list(line), lineterminator="\n")
                writer.writeheader()
            writer.writerow(line)
            file.flush()
    write_summary(target)


if __name__ == "__main__":
    main()
