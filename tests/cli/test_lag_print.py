"""`make --lag-print`: the print within the limits, its sheet read back, the lag that it gives fed ahead of."""

import csv
import shlex
from pathlib import Path

import numpy as np
import pytest

from voidless.machines import load_machine
from voidless.toolpath.lag import deposit_lagged
from voidless.toolpath.lag_pieces import cut_moves
from voidless.toolpath.motion import MotionLimits, profile_moves
from voidless.toolpath.reader import read_gcode
from voidless.workflows.opening import open_campaign

LAG_S = 0.06


def _widths(path, made, places):
    """Return the widths of the second line of a G-code file behind the fall of the speed, under a known lag. [mm]"""
    program, machine = read_gcode(path), load_machine("bench-0.4")
    profile = profile_moves(program.moves, MotionLimits.of(machine))
    pieces, runs, source = cut_moves(program.moves, profile, 0.02)
    laid = deposit_lagged(pieces, runs, LAG_S).volume_mm3
    beads = np.flatnonzero((program.moves.speed_mm_s < 1.01 * made["slow_mm_s"]) & program.moves.deposits)
    last = source == beads[3]  # two slow stretches a line: the second of the second line
    behind = np.cumsum(pieces.length_mm[last])
    area = laid[last] / pieces.length_mm[last]
    layer = made["settings"]["layer_mm"]
    return np.interp(places, behind, area) / layer + layer * (1.0 - np.pi / 4.0)


def test_the_print_is_made_measured_and_fed_ahead_of(voidless, planned):
    """The lag put into the beads of the written file is the machine's after its sheet is read."""
    made = voidless.json("make", planned, "--lag-print")
    assert all(row["within"] for row in made["limits"])
    files = {item["kind"]: item["path"] for item in made["files"]}
    sheet = Path(files["widths"])
    places = [float(row["distance_mm"]) for row in csv.DictReader(sheet.read_text("utf-8").splitlines())]
    widths = _widths(files["gcode"], made, places)
    rows = "".join(f"{place},{width:.4f}\n" for place, width in zip(places, widths, strict=True))
    sheet.write_text("distance_mm,width_mm\n" + rows, "utf-8")
    *_, hint = made["notes"]
    _, _, told = hint.partition("voidless read ")
    voidless.json("read", *shlex.split(told))
    with open_campaign(planned) as opened:
        assert opened.machine.lag_s == pytest.approx(LAG_S, rel=0.01)
        assert not opened.machine.lag_assumed


def test_a_lag_print_is_at_a_run_or_as_usual_and_alone(voidless, planned):
    """Dry it writes nothing; an unknown run and options of other prints are refused."""
    made = voidless.json("make", planned, "R01", "--lag-print", "--dry")
    assert (made["files"], made["dry"]) == ([], True)
    assert not (planned / "out" / "lag").exists()
    assert "no run 'R99'" in voidless.json("make", planned, "R99", "--lag-print", status=2)["error"]["what"]
    assert (
        "--mark of a lag print"
        in voidless.json("make", planned, "--lag-print", "--mark", status=2)["error"]["what"]
    )
