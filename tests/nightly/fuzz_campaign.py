"""Damaged files through `voidless read`: one JSON object each, and a refused file leaves the campaign as it was."""

from __future__ import annotations

import contextlib
import hashlib
import io
import json
import shutil
import sys
from collections.abc import Callable
from pathlib import Path

sys.path[:0] = [str(Path(__file__).parent)]

from fuzz_seeds import Given  # noqa: E402

from voidless.cli.app import run  # noqa: E402
from voidless.measure.results import Answers  # noqa: E402
from voidless.records.store import Store  # noqa: E402

CAMPAIGN = """
[campaign]
name = "fuzzed"
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


def content(campaign: Path) -> dict[str, str]:
    """Return a checksum of every file of a campaign, and of the counts of its records."""
    found = {
        str(path.relative_to(campaign)): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in campaign.rglob("*")
        if path.is_file() and not path.name.startswith("records.sqlite")
    }
    with Store.open(campaign) as store:
        return {**found, "counts": json.dumps(store.counts(), sort_keys=True)}


def options(answers: Answers) -> list[str]:
    """Return answers as a person would type them."""
    found = [part for key, value in answers.facts.items() for part in ("--fact", f"{key}={value:g}")]
    found += [part for key, value in answers.units.items() for part in ("--unit", f"{key}={value}")]
    found += [part for pattern, kind in answers.kinds for part in ("--as", f"{kind.value}={pattern}")]
    if "" in answers.sections:
        found += ["--section", f"{answers.sections['']:g}"]
    return found


def quiet(*words: str) -> tuple[int, str]:
    """Return exit status and standard output of a command."""
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        status = run([*words, "--json"])
    return status, out.getvalue()


def judge_in(place: Path) -> Callable[[Given], str]:
    """Return what judges cases in a campaign that is new again after each one that stored something."""
    (place / "c.toml").write_text(CAMPAIGN, encoding="utf-8")
    made, campaign, given_at = place / "made", place / "campaign", place / "given"
    quiet("new", str(made), "--from", str(place / "c.toml"))
    quiet("plan", str(made), "--runs", "4", "--seed", "1")
    shutil.copytree(made, campaign)
    before = content(campaign)

    def judge(given: Given) -> str:
        shutil.rmtree(given_at, ignore_errors=True)
        for file in given.files:
            path = given_at / file.name
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(file.data)
        status, out = quiet("read", str(campaign), str(given_at), *options(given.answers))
        if out.count("\n") != 1:
            return f"NOT ONE OBJECT {out[:200]!r}"
        answer = json.loads(out)
        if status == 0:
            shutil.rmtree(campaign)
            shutil.copytree(made, campaign)
            left = [file for file in answer["files"] if file["status"] in ("refused", "question")]
            if any(file["results"] or file["findings"] for file in left):
                return f"RESULTS OF A REFUSED FILE {left}"
            return "refused" if left else "stored"
        if status != 2 or not all(answer["error"].get(part) for part in ("where", "what", "expected")):
            return f"UNCLEAR {status} {answer['error']}"
        if content(campaign) != before:
            return f"CHANGED THE CAMPAIGN {answer['error']}"
        asked = any(file["status"] == "question" for file in answer.get("files", ()))
        return "asked" if asked else "refused"

    return judge
