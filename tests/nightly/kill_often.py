"""
Kill `read`, `learn` and `log` at random moments, many times; after each, the campaign must be whole.

Half of the kills come at a random moment of the command, half within a twentieth of a second after the command has
first changed a file of the campaign: most of a command's time goes by before it writes anything.

    python tests/nightly/kill_often.py 100

Run by hand or at night: it takes several minutes. The short form is tests/property/test_killed_commands.py.
"""

from __future__ import annotations

import contextlib
import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np

CAMPAIGN = """
[campaign]
name = "killed"
material = "petg"
machine = "bench-0.4"
[factors.flow_pct]
low = 90.0
high = 110.0
[specifications.clarity]
min = 0.6
[specimens]
block = 1
"""
ROWS = 400


def voidless(*arguments: object) -> subprocess.Popen[bytes]:
    """Start a command in a process of its own."""
    command = [sys.executable, "-m", "voidless", *map(str, arguments)]
    return subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE)


def done(*arguments: object) -> None:
    """Run a command to its end; it must succeed."""
    process = voidless(*arguments)
    _, err = process.communicate()
    assert process.returncode == 0, err.decode()


def commands(
    folder: Path, campaign: Path, rng: np.random.Generator
) -> Iterator[tuple[str, tuple[object, ...]]]:
    """Give endless commands, each `read` with a file of its own."""
    number = 0
    while True:
        number += 1
        path = folder / f"results-{number}.csv"
        lines = ["run,build,specimen,response,value,unit"]
        lines += [f"R01,B01,s{number}-{i},clarity,{0.6 + 0.1 * rng.random():.4f}," for i in range(ROWS)]
        path.write_text("\n".join(lines) + "\n", encoding="utf-8")
        yield path.name, ("read", campaign, path, "--json")
        yield "", ("log", campaign, "build", "build=B01", f"note=number {number}", "--json")
        if number % 5 == 0:
            yield "", ("learn", campaign, "--json")


def check(campaign: Path, kept: set[str], notes: int) -> tuple[set[str], int]:
    """Return files and notes on record; everything that was reported stored must be there, and whole."""
    from voidless.records.store import Store

    with Store.open(campaign) as store:
        bad = [item for item in store.verify() if not item.harmless]
        assert not bad, bad
        files = {stored.name.split("/")[-1]: stored.sha for stored in store.files()}
        for name, sha in files.items():
            count = len(store.observations_from(sha))
            assert count == ROWS, f"{name} holds {count} of {ROWS} results"
        found = sum(1 for fact in store.build_facts() if fact.name == "note")
    assert kept <= set(files), kept - set(files)
    assert found >= notes
    return set(files), found


def state(campaign: Path) -> list[tuple[str, int]]:
    """Return name and size of everything in a campaign that a command may write."""
    found = []
    for path in sorted(
        [*campaign.glob("records.sqlite*"), *campaign.glob("raw/.part-*"), *campaign.glob("raw/*/*")]
    ):
        with contextlib.suppress(OSError):
            found.append((path.name, path.stat().st_size))
    return found


def kill_while_writing(process: subprocess.Popen[bytes], campaign: Path, rng: np.random.Generator) -> None:
    """Kill a command shortly after the first change that it makes; one that changes nothing ends by itself."""
    before = state(campaign)
    while process.poll() is None and state(campaign) == before:
        time.sleep(0.001)
    time.sleep(float(rng.uniform(0.0, 0.05)))
    process.kill()


def kill_some_time(process: subprocess.Popen[bytes], lasts: float, rng: np.random.Generator) -> None:
    """Kill a command at a random moment of the time that its like takes."""
    with contextlib.suppress(subprocess.TimeoutExpired):
        process.wait(timeout=float(rng.uniform(0.1, 1.1)) * lasts)
    process.kill()


def kill_often(times: int, seed: int = 0) -> dict[str, int]:
    """Return how many commands were killed, how many ended before, and what was stored, after `times` kills."""
    rng = np.random.default_rng(seed)
    counts = {"killed": 0, "killed read": 0, "killed log": 0, "killed learn": 0, "ended before": 0}
    kept: set[str] = set()
    notes = 0
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        source, campaign = folder / "c.toml", folder / "campaign"
        source.write_text(CAMPAIGN, encoding="utf-8")
        done("new", campaign, "--from", source)
        done("plan", campaign, "--runs", "4", "--seed", "1")
        lasts: dict[str, float] = {}
        for name, arguments in commands(folder, campaign, rng):
            verb = str(arguments[0])
            started = time.monotonic()
            process = voidless(*arguments)
            if verb in lasts and counts["killed"] % 2:
                kill_while_writing(process, campaign, rng)
            elif verb in lasts:
                kill_some_time(process, lasts[verb], rng)
            process.communicate()
            if process.returncode == 0:
                counts["ended before"] += 1
                lasts[verb] = time.monotonic() - started
                kept |= {name} - {""}
            else:
                assert process.returncode < 0 or os.name == "nt", f"{verb} failed by itself"
                counts["killed"] += 1
                counts[f"killed {verb}"] += 1
            kept, notes = check(campaign, kept, notes)
            if counts["killed"] >= times:
                break
    return {**counts, "files stored": len(kept), "notes stored": notes}


if __name__ == "__main__":
    print(kill_often(int(sys.argv[1]) if len(sys.argv) > 1 else 100))
