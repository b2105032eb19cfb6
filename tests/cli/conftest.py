"""A campaign folder and a command-line runner that the tests of this folder share."""

import json
import shutil
from pathlib import Path

import pytest

from voidless.cli.app import run

CAMPAIGN = """
[campaign]
name = "sight glass"
material = "petg"
machine = "bench-0.4"
[factors.flow_pct]
low = 90.0
high = 110.0
[factors.nozzle_c]
low = 210.0
high = 260.0
[specifications.clarity]
min = 0.66
[specifications.z_ratio]
min = 0.86
[specifications.size_error_mm]
min = -0.15
max = 0.15
[objective]
minimise = "build_min"
[limits]
builds = 24
"""


class CommandLine:
    """Runs commands in process and keeps what they print."""

    def __init__(self, capsys):
        self.capsys = capsys

    def __call__(self, *arguments):
        """Return (exit status, standard output, standard error)."""
        self.capsys.readouterr()
        status = run([str(argument) for argument in arguments])
        captured = self.capsys.readouterr()
        return status, captured.out, captured.err

    def json(self, *arguments, status=0):
        """Return the one JSON object that a command prints; its exit status must be `status`."""
        found, out, err = self(*arguments, "--json")
        assert found == status, (found, out, err)
        assert out.count("\n") == 1, out
        return json.loads(out)


@pytest.fixture
def voidless(capsys):
    """The command line."""
    return CommandLine(capsys)


@pytest.fixture(scope="session")
def planned_once(tmp_path_factory):
    """A planned campaign, made once; tests work on copies."""
    folder = tmp_path_factory.mktemp("planned")
    (folder / "c.toml").write_text(CAMPAIGN, encoding="utf-8")
    from voidless.workflows.new import new_campaign
    from voidless.workflows.plan import plan_builds

    new_campaign(folder / "campaign", folder / "c.toml")
    plan_builds(folder / "campaign", seed=1)
    return folder / "campaign"


@pytest.fixture
def planned(planned_once, tmp_path):
    """A planned campaign of the test's own."""
    return Path(shutil.copytree(planned_once, tmp_path / "planned campaign"))


@pytest.fixture
def campaign(tmp_path, voidless):
    """A folder with the example campaign, set up and without plan."""
    source = tmp_path / "sight-glass.toml"
    source.write_text(CAMPAIGN, encoding="utf-8")
    folder = tmp_path / "sight glass"
    voidless.json("new", folder, "--from", source)
    return folder


def lab(settings, rng):
    """Return invented results of one build: smooth functions of two settings plus build scatter."""
    flow, nozzle = settings["flow_pct"], settings["nozzle_c"]
    clarity = 0.8 - ((flow - 103) / 20) ** 2 - ((nozzle - 236) / 60) ** 2 + rng.normal(0, 0.01)
    ratio = 0.95 - ((nozzle - 245) / 80) ** 2 - max(0.0, 100 - flow) * 0.01 + rng.normal(0, 0.01)
    size = 0.02 * (flow - 100) / 2 + rng.normal(0, 0.01)
    return {"clarity": (clarity, ""), "z_ratio": (ratio, ""), "size_error_mm": (size, "mm")}


def table(rows, rng, measure=lab):
    """Return a result table for planned rows."""
    lines = ["run,build,specimen,response,value,unit"]
    for row in rows:
        for response, (value, unit) in measure(row["settings"], rng).items():
            lines.append(f"{row['run']},{row['build']},,{response},{value:.5f},{unit}")
    return "\n".join(lines) + "\n"


@pytest.fixture
def bench():
    """Functions that invent results."""
    return table
