"""One case: a section planned, written with the writer, read with the reader, and judged."""

from __future__ import annotations

import time
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from benchmarks.fill.plain import plain_pattern
from benchmarks.fill.sections import Section
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

__all__ = ["JUDGED", "KEY", "MACHINE", "SETTINGS", "Case"]

MACHINE = load_machine("bench-0.4", {"bed_x_mm": 400.0, "bed_y_mm": 400.0})
NOZZLE, WIDTH, OVERLAP = 0.4, 0.45, 20.0
SETTINGS = {
    "width_mm": WIDTH, "flow_pct": 100.0, "overlap_pct": OVERLAP, "nozzle_c": 240.0, "bed_c": 80.0,
    "chamber_c": 25.0, "fan_pct": 0.0, "speed_mm_s": 40.0,
}  # fmt: skip
LAG_PIECE_MM = 0.2


def written(pattern: Pattern, layer_mm: float, speed_mm_s: float, ahead_s: float) -> tuple[Moves, float]:
    """Return the moves of a pattern, fed ahead of a lag, as a reader finds them in the file, and its time. [s]"""
    settings = {**SETTINGS, "layer_mm": layer_mm, "speed_mm_s": speed_mm_s}
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
    pieces, profile, _ = cut_moves(moves, profile_moves(moves, MotionLimits.of(MACHINE)), LAG_PIECE_MM)
    return replace(pieces, volume_mm3=deposit_lagged(pieces, profile, lag_s).volume_mm3)


KEY = (
    "source", "height_mm", "layer_mm", "contours", "angle_deg", "way", "speed_mm_s", "lag_s", "ahead_s",
)  # fmt: skip
"""Columns that tell cases apart."""
JUDGED = (
    "area_mm2", "contours_laid", "judged_share", "good_share", "gap_share", "gap_largest_mm2", "open_share",
    "volume_error", "width_low_nozzles", "width_high_nozzles", "width_outside_share", "fill_low", "fill_high",
    "sharp_corners", "necks", "layer_s", "planning_s", "passes",
)  # fmt: skip
"""Columns that the judge fills."""


@dataclass(frozen=True, eq=False)
class Case:
    """A section, and how it is filled."""

    section: Section
    layer_mm: float
    contours: int
    angle_deg: float
    way: str
    speed_mm_s: float
    lag_s: float
    ahead_s: float

    @property
    def key(self) -> tuple[str, ...]:
        """What tells the case apart, as it stands in the table."""
        section = self.section
        return (section.source, f"{section.height_mm:.3f}", *map(str, (
            self.layer_mm, self.contours, self.angle_deg, self.way, self.speed_mm_s, self.lag_s, self.ahead_s,
        )))  # fmt: skip

    def pattern(self) -> Pattern:
        """Return the moves that fill the section."""
        region, pitch = self.section.region, float(full_fill_pitch(self.layer_mm, WIDTH))
        if self.way == "plain":
            return plain_pattern(region, pitch, self.contours, self.angle_deg)
        reference = self.section.reference_mm if self.angle_deg == 0.0 else None
        return plan_region(
            region, Fill(pitch, WIDTH, self.contours, OVERLAP, NOZZLE), self.angle_deg, reference
        )

    def judged(self, pattern: Pattern) -> tuple[Verdict, float]:
        """Return the verdict on the pattern, written and read, and its time. [s]"""
        moves, seconds = written(pattern, self.layer_mm, self.speed_mm_s, self.ahead_s)
        if self.lag_s > 0.0:
            moves = lagged(moves, self.lag_s)
        region = translate(self.section.region, MACHINE.bed_x_mm / 2.0, MACHINE.bed_y_mm / 2.0)
        x0, y0, x1, y1 = region.bounds
        inside = (moves.x_mm > x0) & (moves.x_mm < x1) & (moves.y_mm > y0 - 1.0) & (moves.y_mm < y1 + 1.0)
        layer = int(moves.layer[np.flatnonzero(moves.deposits & inside)[-1]])
        purge = moves.deposits & (moves.y_mm < MACHINE.bed_y_mm / 2.0 - 150.0)
        moves.layer.flags.writeable = True
        moves.layer[purge] = -1
        return judge_layer(moves, layer, region, self.layer_mm, NOZZLE, WIDTH), seconds

    def row(self) -> dict[str, Any]:
        """Return the case's line of the table."""
        begin = time.perf_counter()
        pattern = self.pattern()
        planning = time.perf_counter() - begin
        found: dict[str, Any] = dict(zip(KEY, self.key, strict=True))
        found |= {"area_mm2": f"{self.section.region.area:.3f}", "contours_laid": pattern.contours}
        if not pattern.area_mm2.any():
            return found | {"passes": "nothing laid"}
        verdict, seconds = self.judged(pattern)
        return found | _columns(verdict, self.section) | {
            "layer_s": f"{seconds:.2f}", "planning_s": f"{planning:.3f}",
        }  # fmt: skip


def _columns(verdict: Verdict, section: Section) -> dict[str, Any]:
    corners = sum(item.reason.startswith("corner") for item in verdict.excluded)
    return {
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
        "passes": "yes" if verdict.passes else "no",
    }
