"""
A six-factor campaign driven through files and JSON alone, by an invented lab that the program's physics does not know.

    python tests/nightly/six_factors.py [BUILDS] [SEED]

40 builds take some minutes. The lab's truth is below; nothing of it resembles the program's model but the direction of
a few effects. It prints the time of every command, and whether the recipe truly passes. Everything is invented.
"""

from __future__ import annotations

import csv
import json
import math
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np

CAMPAIGN = """
[campaign]
name = "six factors (invented)"
material = "petg"
machine = "bench-0.4"
[settings]
layer_mm = 0.2
[factors.flow_pct]
low = 92.0
high = 110.0
[factors.nozzle_c]
low = 215.0
high = 260.0
[factors.bed_c]
low = 60.0
high = 90.0
hard_to_change = true
[factors.fan_pct]
low = 0.0
high = 100.0
[factors.speed_mm_s]
low = 15.0
high = 80.0
[factors.width_mm]
low = 0.40
high = 0.56
[specifications.clarity]
min = 0.62
[specifications.z_ratio]
min = 0.80
[specifications.size_error_mm]
min = -0.15
max = 0.15
[objective]
minimise = "build_min"
[limits]
builds = {builds}
[specimens]
block = 1
plaque = 1
bar_xy = 2
bar_z = 2
"""
FEATURES = {"outer_x": 0.0, "hole": -0.05}
Settings = Mapping[str, float]
Command = Callable[..., dict[str, Any]]


def truth(s: Settings) -> dict[str, float]:
    """Return the true build means: bumps and logistic steps, not the program's chain of physics."""
    flow, hot, fan, fast = s["flow_pct"], s["nozzle_c"], s["fan_pct"], s["speed_mm_s"]
    best = 247.0 - 6.0 * (s["width_mm"] - 0.48) / 0.08
    clear = 0.86 * math.exp(-(((flow - 104.0) / 9.0) ** 2) - ((hot - best) / 30.0) ** 2)
    clear *= 1.0 - 0.18 * fan / 100.0 - 0.004 * max(0.0, fast - 35.0) + 0.002 * (s["bed_c"] - 75.0)
    weld = 1.0 / (
        1.0 + math.exp(-(hot - 226.0 - 0.22 * (fast - 40.0) - 0.15 * fan + 0.3 * (s["bed_c"] - 75.0)) / 6.0)
    )
    ratio = 0.35 + 0.60 * weld * (1.0 - math.exp(-max(0.0, flow - 85.0) / 6.0))
    size = 0.018 * (flow - 101.0) + 0.002 * (hot - 240.0) + 0.06 * math.sin((s["width_mm"] - 0.40) * 20.0)
    return {"clarity": max(0.02, clear), "z_ratio": ratio, "size_error_mm": size}


def cold(s: Settings) -> bool:
    """Return whether melt fails to flow: fast and cool."""
    return s["speed_mm_s"] * s["width_mm"] > 0.55 * (s["nozzle_c"] - 183.0)


def passes(s: Settings) -> bool:
    """Return whether the true means hold every specification, each feature of size for itself."""
    found = truth(s)
    sizes = [found["size_error_mm"] + shift for shift in FEATURES.values()]
    good = found["clarity"] >= 0.62 and found["z_ratio"] >= 0.80 and all(abs(size) <= 0.15 for size in sizes)
    return good and not cold(s)


def lab(rows: Sequence[Mapping[str, Any]], path: Path, rng: np.random.Generator) -> int:
    """Write what the lab finds of planned builds as a result table, some builds twice, and return its builds."""
    lines: list[dict[str, Any]] = []
    builds = 0
    for row in rows:
        labels = [row["build"]] + ([f"{row['build']}0"] if rng.random() < 0.1 else [])
        for label in labels:
            builds += 1
            lines += _build(row, label, rng)
    names = [
        "run",
        "build",
        "specimen",
        "response",
        "feature",
        "value",
        "unit",
        "exposure_h",
        "build_outcome",
    ]
    with path.open("w", newline="", encoding="utf-8") as file:
        writer = csv.DictWriter(file, names, restval="")
        writer.writeheader()
        writer.writerows(lines)
    return builds


def _build(row: Mapping[str, Any], label: str, rng: np.random.Generator) -> list[dict[str, Any]]:
    settings = row["settings"]
    exposure = round(float(rng.uniform(0.0, 6.0)), 1)
    key = {"run": row["run"], "build": label, "exposure_h": exposure}
    if cold(settings):
        return [{**key, "build_outcome": "cold"}]
    mean = truth(settings)
    clarity = mean["clarity"] - 0.006 * exposure + rng.normal(0.0, 0.015)
    ratio = mean["z_ratio"] + rng.normal(0.0, 0.015)
    found: list[tuple[str, str, str, float, str]] = [
        ("plaque-1", "clarity", "", float(np.clip(clarity, 0.0, 1.0)), "")
    ]
    for number in (1, 2):
        flat = 48.0 + rng.normal(0.0, 1.0)
        found.append((f"bar_xy-{number}", "strength_xy_mpa", "", flat, "MPa"))
        found.append((f"bar_z-{number}", "strength_z_mpa", "", 48.0 * ratio + rng.normal(0.0, 1.2), "MPa"))
    shift = rng.normal(0.0, 0.01)
    for feature, offset in FEATURES.items():
        size = mean["size_error_mm"] + offset + shift + rng.normal(0.0, 0.008)
        found.append(("block-1", "size_error_mm", feature, size, "mm"))
    return [
        {
            **key,
            "specimen": s,
            "response": r,
            "feature": f,
            "value": f"{v:.5f}",
            "unit": u,
            "build_outcome": "ok",
        }
        for s, r, f, v, u in found
    ]


def drive(folder: Path, voidless: Command, limit: int, first: int, count: int, seed: int) -> dict[str, Any]:
    """
    Return what a whole campaign came to: builds, failures, recipe, and whether it truly passes.

    Parameters
    ----------
    voidless : callable
        Runs one command with `--json` and returns its object.
    limit, first, count : int
        Builds in all, in the plan, and in each later batch.
    """
    rng = np.random.default_rng(seed)
    source, campaign = folder / "six.toml", folder / "campaign"
    source.write_text(CAMPAIGN.replace("{builds}", str(limit)), encoding="utf-8")
    voidless("new", campaign, "--from", source)
    rows = voidless("plan", campaign, "--runs", first, "--seed", seed)["runs"]
    spent, number, reason = 0, 0, ""
    while rows:
        number += 1
        table = folder / f"results-{number}.csv"
        spent += lab(rows, table, rng)
        read = voidless("read", campaign, table)
        assert [entry["status"] for entry in read["files"]] == ["stored"], read
        answer = voidless("next", campaign, "--count", count)
        rows, reason = answer["runs"], answer["reason"]
        if answer["stop"]:
            break
    window = voidless("window", campaign, "--confidence", 0.9)
    recipe = window["recipe"]
    return {
        "builds": spent,
        "stopped because": reason,
        "recipe": recipe["settings"],
        "probability_pass": recipe["probability_pass"],
        "claim": recipe["claim"],
        "blocked_by": recipe["blocked_by"],
        "build_min": recipe["build_min"],
        "predicted": {n: [p["low"], p["mean"], p["high"]] for n, p in recipe["predicted"].items()},
        "truth": truth(recipe["settings"]),
        "truly passes": passes(recipe["settings"]),
    }


def _timed(times: dict[str, list[float]]) -> Command:
    def voidless(*arguments: object) -> dict[str, Any]:
        command = [sys.executable, "-m", "voidless", *map(str, arguments), "--json"]
        started = time.monotonic()
        done = subprocess.run(command, capture_output=True, text=True, encoding="utf-8", check=False)
        times.setdefault(str(arguments[0]), []).append(time.monotonic() - started)
        assert done.returncode == 0, (arguments, done.stdout, done.stderr)
        assert done.stdout.count("\n") == 1, done.stdout
        found: dict[str, Any] = json.loads(done.stdout)
        return found

    return voidless


def main() -> None:
    """Run the campaign and print what came of it."""
    builds = int(sys.argv[1]) if len(sys.argv) > 1 else 40
    seed = int(sys.argv[2]) if len(sys.argv) > 2 else 1
    times: dict[str, list[float]] = {}
    with tempfile.TemporaryDirectory() as place:
        found = drive(Path(place), _timed(times), builds, 12, 4, seed)
    for name, value in found.items():
        print(f"{name}: {value}")
    for verb, taken in times.items():
        print(f"{verb}: {len(taken)} times, {np.median(taken):.1f} s median, {max(taken):.1f} s longest")


if __name__ == "__main__":
    main()
