"""Noise and limits out of reach, read from files through the command line, end in no window and in what blocks it."""

import csv

import numpy as np
import pytest

pytestmark = pytest.mark.slow

CAMPAIGN = """[campaign]
name = "no window"
material = "petg"
machine = "bench-0.4"
[factors.flow_pct]
low = 94.0
high = 108.0
[factors.nozzle_c]
low = 225.0
high = 255.0
[factors.speed_mm_s]
low = 20.0
high = 60.0
[specifications.strength_z_mpa]
min = {strength}
[specifications.size_error_mm]
min = -0.1
max = 0.1
"""


@pytest.fixture
def campaign(tmp_path, voidless):
    """Return a maker of campaigns of 14 builds with two bars each, from a function of settings and generator."""

    def made(strength, values, seed=0, swap=False, runs=14):
        (tmp_path / "asked.toml").write_text(CAMPAIGN.format(strength=strength), encoding="utf-8")
        folder, rng = tmp_path / "no", np.random.default_rng(seed)
        voidless.json("new", folder, "--from", tmp_path / "asked.toml")
        plan = voidless.json("plan", folder, "--design", "space-filling", "--runs", runs, "--seed", 2)["runs"]
        rows = [["run", "build", "specimen", "response", "value", "unit"]]
        for row in plan:
            for name, (value, scatter, unit) in values(row["settings"], rng).items():
                rows += [
                    [
                        row["run"],
                        row["build"],
                        bar,
                        name,
                        f"{value + scatter * rng.standard_normal():.4f}",
                        unit,
                    ]
                    for bar in ("1", "2")
                ]
        if swap:
            exchange(rows)
        with (tmp_path / "results.csv").open("w", newline="", encoding="utf-8") as stream:
            csv.writer(stream).writerows(rows)
        voidless.json("read", folder, tmp_path / "results.csv")
        return folder

    return made


def exchange(rows):
    """Let the two builds of most and least strength change places in the table."""
    own = [row for row in rows if row[3] == "strength_z_mpa"]
    most, least = (pick(own, key=lambda row: float(row[4]))[1] for pick in (max, min))
    pairs = zip([r for r in own if r[1] == most], [r for r in own if r[1] == least], strict=True)
    for first, second in pairs:
        first[4], second[4] = second[4], first[4]


def smooth(settings, rng):
    """An invented filament: welds grow with temperature and fall with speed, size follows the flow."""
    heat, pace = (settings["nozzle_c"] - 225.0) / 30.0, (settings["speed_mm_s"] - 20.0) / 40.0
    strength = 24.0 + 16.0 * heat - 9.0 * pace + 0.4 * rng.standard_normal()
    return {
        "strength_z_mpa": (strength, 0.5, "MPa"),
        "size_error_mm": (0.012 * (settings["flow_pct"] - 101.0), 0.005, "mm"),
    }


def noise(_settings, rng):
    """Values that no setting decides, wider than the limits leave room for."""
    return {
        "strength_z_mpa": (30.0 + 6.0 * rng.standard_normal(), 0.5, "MPa"),
        "size_error_mm": (0.3 * rng.standard_normal(), 0.005, "mm"),
    }


def test_a_window_that_is_there_is_not_blocked(campaign, voidless):
    recipe = voidless.json("window", campaign(30.0, smooth))["recipe"]
    assert recipe["blocked_by"] == []
    assert recipe["probability_pass"] > 0.5


def test_a_limit_out_of_reach_is_named_and_nothing_claimed(campaign, voidless):
    folder = campaign(70.0, smooth)
    found = voidless.json("window", folder)
    assert not found["recipe"]["claim"]
    assert found["recipe"]["blocked_by"] == ["strength_z_mpa"]
    status, out, _ = voidless("window", folder)
    assert status == 0
    assert "No window: strength_z_mpa holds" in " ".join(out.split())
    proof = voidless.json("prove", folder, "--plan")
    assert (proof["verdict"], proof["runs"]) == ("not tested", [])
    assert any(note.startswith("No window: strength_z_mpa holds") for note in proof["notes"])
    assert len(voidless.json("prove", folder, "--plan", "--builds", "2")["runs"]) == 2


def test_few_builds_say_that_there_is_no_window_so_far(campaign, voidless):
    """Eight builds in three factors do not show that nothing can hold; `next` goes on, and the words agree with it."""
    folder = campaign(52.0, smooth, runs=8)
    found = voidless.json("window", folder)
    assert (found["recipe"]["blocked_by"], found["early"]) == (["strength_z_mpa"], True)
    assert found["verdict"].startswith("So far no window: strength_z_mpa holds")
    assert "believed after 12 builds" in found["verdict"]
    assert voidless.json("prove", folder, "--plan")["notes"][0].startswith("So far no window: ")


def test_noise_is_no_window(campaign, voidless):
    """Strengths of 30 +- 6 MPa wherever they are made, 42 asked."""
    folder = campaign(42.0, noise)
    found = voidless.json("window", folder)
    assert not found["recipe"]["claim"]
    _, out, _ = voidless("window", folder)
    assert set(found["recipe"]["blocked_by"]) == {"strength_z_mpa", "size_error_mm"}
    assert "Blocked by strength_z_mpa, size_error_mm." in " ".join(out.split())


@pytest.mark.parametrize("swap", [False, True])
def test_a_swapped_row_is_named(campaign, voidless, swap):
    """The strengths of the strongest and the weakest build changed places in the table: `learn` names one of them."""
    folder = campaign(30.0, smooth, swap=swap, runs=28)
    _, out, _ = voidless("learn", folder)
    assert ("swapped" in " ".join(out.split())) is swap
