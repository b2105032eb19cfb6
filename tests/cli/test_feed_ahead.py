"""`make --feed-ahead`: the lag that was measured reaches the G-code; one that nobody knows is refused."""

from pathlib import Path

import numpy as np
import pytest

from voidless.toolpath.reader import read_gcode
from voidless.workflows.opening import open_campaign

LAG_S = 0.04
"""Widths of invented readings settle over 40 ms at 50 mm/s."""
CAMPAIGN = """
[campaign]
name = "glass"
material = "petg"
machine = "MACHINE"
[factors.flow_pct]
low = 90.0
high = 110.0
[specifications.strength_xy_mpa]
min = 20.0
[objective]
minimise = "build_min"
[settings]
layer_mm = 0.3
[specimens]
iso527_1bb_xy = 1
"""


@pytest.fixture
def small(voidless, tmp_path):
    """Return a function that plans a campaign of one small specimen a run."""

    def planned(machine="bench-0.4", more=""):
        source = tmp_path / "campaign.toml"
        source.write_text(CAMPAIGN.replace("MACHINE", machine) + more, encoding="utf-8")
        voidless.json("new", tmp_path / "glass", "--from", source)
        voidless.json("plan", tmp_path / "glass", "--runs", "6")
        return tmp_path / "glass"

    return planned


def _widths(voidless, folder, tmp_path):
    distance = np.arange(0.0, 20.0, 0.25)
    width = 0.45 + 0.2 * np.exp(-distance / (50.0 * LAG_S))
    rows = "".join(f"{x:.2f},{w:.5f}\n" for x, w in zip(distance, width, strict=True))
    (tmp_path / "step.csv").write_text("distance_mm,width_mm\n" + rows, encoding="utf-8")
    voidless.json("read", folder, tmp_path / "step.csv", "--fact", "speed_mm_s=50")


def test_a_lag_that_nobody_measured_is_refused(voidless, small):
    status, _, said = voidless("make", small(), "R01", "--dry", "--feed-ahead")
    assert status == 2
    assert "the pressure lag of bench-0.4 is not known" in said


def test_the_measured_lag_reaches_the_gcode_and_the_sheet(voidless, small, tmp_path):
    folder = small()
    _widths(voidless, folder, tmp_path)
    plain = voidless.json("make", folder, "R01")
    before = read_gcode(next(f["path"] for f in plain["files"] if f["kind"] == "gcode")).moves
    made = voidless.json("make", folder, "R01", "--feed-ahead")
    check = made["checks"][0]
    files = {f["kind"]: f["path"] for f in made["files"] if f["build"] == check["build"]}
    assert plain["checks"][0]["lag"] is None
    assert check["lag"]["lag_s"] == pytest.approx(LAG_S, rel=1e-3)
    assert "step.csv" in check["lag"]["source"]
    assert check["lag"]["misplaced_pct"] < 0.5 * check["lag"]["misplaced_without_pct"]
    assert all(row["within"] for row in check["limits"])
    after = read_gcode(files["gcode"]).moves
    assert len(after) > 1.3 * len(before)
    assert after.filament_mm.sum() == pytest.approx(before.filament_mm.sum(), rel=2e-3)
    assert check["build_min"] == pytest.approx(plain["checks"][0]["build_min"], rel=0.02)
    sheet = Path(files["run_sheet"]).read_text(encoding="utf-8")
    assert "fed ahead of a pressure lag of 0.04 s" in sheet
    assert f"{check['lag']['misplaced_pct']:.1f} % of the melt" in sheet


def test_what_the_file_states_stands_before_what_was_read(voidless, small, tmp_path):
    folder = small("ours", '[machines.ours]\nbase = "bench-0.4"\nlag_s = 0.07\n')
    _widths(voidless, folder, tmp_path)
    with open_campaign(folder) as opened:
        assert opened.machine.lag_s == 0.07
        assert any("lag_s 0.04 was measured" in note and "not used" in note for note in opened.ground_notes)
    made = voidless.json("make", folder, "R01", "--dry", "--feed-ahead")
    assert made["checks"][0]["lag"]["lag_s"] == 0.07
    assert "campaign.toml" in made["checks"][0]["lag"]["source"]
