"""The demo runs whole, is marked invented everywhere, and tells the truth about its claim."""

from pathlib import Path

import numpy as np
import pytest

from voidless.demonstration.bench import MARK, Bench
from voidless.demonstration.run import CAMPAIGN, LIMITS, run_demo
from voidless.demonstration.truth import true_means, truly_passes
from voidless.errors import InputError
from voidless.measure.results import Answers, RawFile, Status
from voidless.measure.take import take_files

USUAL = {"flow_pct": 100.0, "nozzle_c": 240.0, "speed_mm_s": 40.0, "fan_pct": 0.0}
ROW = {"run": "R01", "build": "B01", "settings": {"flow_pct": 102.0}, "build_min": 30.0}


@pytest.fixture
def session(tmp_path):
    """Raw files of one imagined build."""
    return Bench(tmp_path / "bench", np.random.default_rng(0)).print_and_measure([ROW], USUAL)


def test_every_raw_file_is_marked_and_taken(session):
    for path in session:
        assert MARK.encode() in path.read_bytes(), path
    answers = Answers(reference_density_g_cm3=1.23, reference_uncertainty_g_cm3=0.001)
    taken = take_files([RawFile(path.name, path.read_bytes()) for path in session], answers)
    assert {found.status for found in taken} == {Status.OK}
    responses = {item.key.quantity for found in taken for item in found.observations}
    assert {
        "clarity",
        "size_error_mm",
        "strength_xy_mpa",
        "strength_z_mpa",
        "density_g_cm3",
        "void_pct",
    } <= responses


def test_raw_files_carry_what_the_truth_says(session):
    truth = true_means({**USUAL, "flow_pct": 102.0}, 1.3)
    taken = take_files(
        [RawFile(path.name, path.read_bytes()) for path in session],
        Answers(reference_density_g_cm3=1.23, reference_uncertainty_g_cm3=0.001),
    )
    values = {}
    for found in taken:
        for item in found.observations:
            values.setdefault(item.key.quantity, []).append(item.value)
    # four standard deviations of build, piece and realised settings together
    assert np.mean(values["strength_xy_mpa"]) == pytest.approx(truth.strength_xy_mpa, rel=0.10)
    assert np.mean(values["clarity"]) == pytest.approx(truth.clarity, abs=0.12)
    assert np.mean(values["void_pct"]) == pytest.approx(truth.void_pct, abs=3.0)


def test_truth_has_the_directions_of_the_trade():
    """Common practice, no source: flow closes gaps, moisture and fan cost clarity, speed costs welds."""
    assert true_means({**USUAL, "flow_pct": 103.0}).clarity > true_means(USUAL).clarity
    assert true_means(USUAL, exposure_h=10.0).clarity < true_means(USUAL).clarity
    assert true_means({**USUAL, "fan_pct": 60.0}).z_ratio < true_means(USUAL).z_ratio
    assert true_means({**USUAL, "speed_mm_s": 70.0}).z_ratio < true_means(USUAL).z_ratio
    assert not truly_passes(USUAL, {"clarity": (0.99, 1.0)})


def test_demo_refuses_a_folder_that_exists(tmp_path):
    with pytest.raises(InputError, match="new folder"):
        run_demo(tmp_path)


def test_campaign_says_that_it_is_invented():
    assert MARK in CAMPAIGN
    assert "invented" in CAMPAIGN.split("name =")[1].splitlines()[0]


@pytest.mark.slow
def test_demo_runs_to_a_recipe_that_truly_passes(tmp_path):
    found = run_demo(tmp_path / "demo", seed=1)
    assert found["invented"]
    assert any(MARK in line for line in found["story"])
    assert found["recipe"]["basis"] == "data"
    settings = {"fan_pct": 0.0, **found["recipe"]["settings"]}
    assert found["truth"]["passes"] == truly_passes(settings, LIMITS)
    assert found["truth"]["passes"]
    for file in found["files"]:
        assert Path(file["path"]).is_file()
    report = next(Path(file["path"]) for file in found["files"] if file["kind"] == "report")
    assert "invented" in report.read_text(encoding="utf-8")
