"""A campaign of six factors through files and JSON alone (short form of tests/nightly/six_factors.py)."""

import importlib.util
from pathlib import Path

import pytest

SCRIPT = Path(__file__).parents[1] / "nightly" / "six_factors.py"


@pytest.fixture(scope="module")
def script():
    """The nightly script as a module."""
    spec = importlib.util.spec_from_file_location("six_factors", SCRIPT)
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.mark.slow
def test_campaign_of_six_factors_runs_to_its_limit_of_builds(voidless, script, tmp_path):
    said = []

    def command(*arguments):
        said.append((arguments[0], voidless.json(*arguments)))
        return said[-1][1]

    found = script.drive(tmp_path, command, limit=12, first=8, count=2, seed=4)
    verbs = [verb for verb, _ in said]
    assert verbs[:2] == ["new", "plan"]
    assert verbs.count("next") >= 2
    ends = [answer for verb, answer in said if verb == "next"]
    assert all({"runs", "stop", "reason", "probability_pass"} <= set(answer) for answer in ends)
    assert ends[-1]["stop"]
    assert ends[-1]["runs"] == []
    labels = [row["build"] for verb, answer in said if verb in ("plan", "next") for row in answer["runs"]]
    assert len(labels) == len(set(labels))
    assert found["builds"] >= 12
    assert set(found["predicted"]) >= {"clarity", "z_ratio"}
    assert 0.0 <= found["probability_pass"] <= 1.0
    assert found["claim"] == (found["probability_pass"] >= 0.9)


def test_the_invented_lab_has_a_window_that_is_neither_all_nor_nothing(script):
    """Otherwise the long form could not tell a good recipe from a lucky one."""
    import numpy as np

    rng = np.random.default_rng(0)
    low = np.array([92, 215, 60, 0, 15, 0.40])
    high = np.array([110, 260, 90, 100, 80, 0.56])
    names = ("flow_pct", "nozzle_c", "bed_c", "fan_pct", "speed_mm_s", "width_mm")
    points = low + rng.random((4000, 6)) * (high - low)
    share = np.mean([script.passes(dict(zip(names, point, strict=True))) for point in points])
    frozen = np.mean([script.cold(dict(zip(names, point, strict=True))) for point in points])
    assert 0.005 < share < 0.2
    assert 0.01 < frozen < 0.3
