"""A campaign that starts from a calibrated one foretells better before its first build; faults are told."""

import csv

import numpy as np
import pytest

from voidless.machines import load_machine
from voidless.materials import load_material
from voidless.twin.prior import twin_prior
from voidless.workflows.opening import open_campaign
from voidless.workflows.training import fit_campaign, training_data
from voidless.workflows.transfer import transfer_words

CAMPAIGN = """[campaign]
name = "{name}"
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
min = 30.0
[specifications.void_pct]
max = 2.0
{more}
"""


def make(voidless, folder, name, more="", material="petg", machine="bench-0.4"):
    source, text = folder / f"{name}.toml", CAMPAIGN.format(name=name, more=more)
    text = text.replace('"petg"', f'"{material}"').replace('"bench-0.4"', f'"{machine}"')
    source.write_text(text, encoding="utf-8")
    voidless.json("new", folder / name, "--from", source)
    return folder / name


def truth(folder, shift):
    """Return an invented machine and filament: the twin with constants far from their priors' middle."""
    with open_campaign(folder) as opened:
        names = ("strength_z_mpa", "void_pct")
        prior = twin_prior(
            opened.space, opened.fixed, load_material("petg"), load_machine("bench-0.4"), names
        )
        theta = np.array([mean + shift.get(name, 0.0) * sd for name, mean, sd in prior.parameters])
        space = opened.space
    return lambda settings: dict(zip(prior.responses, prior(space.points([settings]), theta)[0], strict=True))


def rows_of(lab, builds, rng):
    units = {"strength_z_mpa": "MPa", "void_pct": "%"}
    for row in builds:
        for name, value in lab(row["settings"]).items():
            yield [
                row["run"],
                row["build"],
                "1",
                name,
                f"{max(0.0, value * (1 + rng.normal(0, 0.02))):.4f}",
                units[name],
            ]


SHIFT = {"weld_time_log": 0.8, "strength_log": 1.4, "weld_ceiling_logit": 1.0, "closure_log": 0.7}


def read_rows(voidless, folder, plan, lab, rng):
    table = folder.parent / f"{folder.name}.csv"
    with table.open("w", newline="", encoding="utf-8") as stream:
        rows = rows_of(lab, plan, rng)
        csv.writer(stream).writerows([["run", "build", "specimen", "response", "value", "unit"], *rows])
    voidless.json("read", folder, table)


def words_of(folder):
    with open_campaign(folder) as opened:
        return transfer_words(opened, training_data(opened).prior)


@pytest.mark.slow
def test_a_source_is_believed_as_far_as_builds_speak_for_it(tmp_path, voidless):
    """The same machine's old colour is believed; a campaign whose constants lie on the other side is not."""
    rng = np.random.default_rng(5)
    old = make(voidless, tmp_path, "clear")
    plan = voidless.json("plan", old, "--design", "space-filling", "--runs", 14, "--seed", 2)["runs"]
    read_rows(voidless, old, plan, truth(old, SHIFT), rng)
    said = {}
    for name, shift in (("smoke", SHIFT), ("alien", {key: -1.5 * value for key, value in SHIFT.items()})):
        new = make(voidless, tmp_path, name, '[transfer]\ncampaigns = ["clear"]')
        before = "clear (the same material and machine) is believed with weight 0.65"
        assert words_of(new) == [f"{before} until builds here tell whether it belongs."]
        plan = voidless.json("plan", new, "--design", "space-filling", "--runs", 6, "--seed", 3)["runs"]
        read_rows(voidless, new, plan, truth(new, shift), rng)
        (said[name],) = words_of(new)
    weights = {name: float(words.split("weight ")[1][:4]) for name, words in said.items()}
    assert said["smoke"].startswith("clear (the same material and machine) is believed: weight")
    assert weights["smoke"] > 0.7
    assert weights["alien"] < 0.3
    assert "clear (the same material and machine) is not believed" in said["alien"]
    assert "told against it" in said["alien"]
    learned = voidless.json("learn", new)
    assert said["alien"] in learned["statements"]
    assert "strength_log" in learned["model"]["model_constants"]
    assert not any(name.startswith("started_") for name in learned["model"]["model_constants"])
    stranger = make(voidless, tmp_path, "stranger", '[transfer]\ncampaigns = ["clear"]', "abs", "bench-0.6")
    assert words_of(stranger) == ["Nothing comes over from clear: another material on another machine."]
    third = make(voidless, tmp_path, "third", '[transfer]\ncampaigns = ["clear"]')
    told, other = (row["reason"] for row in voidless.json("next", third, "--count", 2)["runs"])
    assert told.startswith("Tells whether clear belongs here:")
    assert not other.startswith("Tells whether")


@pytest.mark.slow
def test_a_new_colour_is_foretold_better_from_the_old_one(tmp_path, voidless):
    rng = np.random.default_rng(3)
    old = make(voidless, tmp_path, "clear")
    plan = voidless.json("plan", old, "--design", "space-filling", "--runs", 14, "--seed", 2)["runs"]
    read_rows(voidless, old, plan, truth(old, SHIFT), rng)

    plain = make(voidless, tmp_path, "smoke")
    started = make(voidless, tmp_path, "smoke-from-clear", '[transfer]\ncampaigns = ["clear"]')
    lab = truth(plain, {**SHIFT, "strength_log": 1.1})  # the colour costs some strength
    errors, widths = {}, {}
    for folder in (plain, started):
        with open_campaign(folder) as opened:
            points = opened.space.low + (opened.space.high - opened.space.low) * rng.random((60, 3))
            told = fit_campaign(opened).predict(points)["strength_z_mpa"]
            true = [lab(opened.space.settings(point))["strength_z_mpa"] for point in points]
        errors[folder] = float(np.sqrt(np.mean((told.mean - true) ** 2)))
        widths[folder] = float(np.mean(told.high - told.low))
    assert errors[started] < 0.7 * errors[plain]
    assert widths[started] < 0.8 * widths[plain]


def test_faults_of_transfer_are_told(tmp_path, voidless):
    lonely = make(voidless, tmp_path, "lonely", '[transfer]\ncampaigns = ["nowhere"]')
    assert "no such folder" in voidless.json("window", lonely, status=2)["error"]["what"]
    make(voidless, tmp_path, "first", '[transfer]\ncampaigns = ["second"]')
    second = make(voidless, tmp_path, "second", '[transfer]\ncampaigns = ["first"]')
    assert "name each other" in voidless.json("window", second, status=2)["error"]["what"]
    itself = make(voidless, tmp_path, "itself", '[transfer]\ncampaigns = ["itself"]')
    assert "names itself" in voidless.json("window", itself, status=2)["error"]["what"]
    empty = make(voidless, tmp_path, "after-empty", '[transfer]\ncampaigns = ["empty"]')
    make(voidless, tmp_path, "empty")
    assert "no result" in voidless.json("window", empty, status=2)["error"]["what"]


def test_transfer_wants_a_list_of_folders(tmp_path, voidless):
    source = tmp_path / "bad.toml"
    source.write_text(CAMPAIGN.format(name="bad", more="[transfer]\ncampaigns = 3"), encoding="utf-8")
    error = voidless.json("new", tmp_path / "bad", "--from", source, status=2)["error"]
    assert "campaigns = 3" in error["what"]
