"""Commands killed at random moments lose nothing and leave nothing half done (short form)."""

import importlib.util
from pathlib import Path

import pytest

SCRIPT = Path(__file__).parents[1] / "nightly" / "kill_often.py"


@pytest.mark.slow
def test_killed_commands_leave_the_campaign_whole():
    spec = importlib.util.spec_from_file_location("kill_often", SCRIPT)
    script = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(script)
    counts = script.kill_often(10, seed=3)
    assert counts["killed"] == 10
    assert counts["files stored"] >= 1
