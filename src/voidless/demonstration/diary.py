"""What the imaginary workshop logs: spool, drying, storage, instruments, each build's start, one failure."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from voidless.demonstration.bench import Printed
from voidless.demonstration.target import MARK
from voidless.workflows.log import log_fact

__all__ = ["log_day", "log_failure", "log_workshop"]

_SPOOL = "S1"
_DRIED_H = 10.0
_Fact = tuple[str, Mapping[str, str]]


def log_workshop(campaign: Path, opens: datetime) -> None:
    """Log the spool, and the instruments with their checks on the first morning."""
    at = opens.isoformat()
    rig = {"instrument": "rig", "at": at, "passed": "yes", "deviation": "-0.4", "unit": "N"}
    balance = {"instrument": "balance", "at": at, "passed": "yes", "deviation": "0.0002", "unit": "g"}
    _log(
        campaign,
        opens,
        [
            ("spool", {"spool": _SPOOL, "lot": "invented lot 7", "colour": "clear", "diameter_mm": "1.74"}),
            ("instrument", {"instrument": "rig", "kind": "tensile rig, force and crosshead"}),
            ("instrument", {"instrument": "balance", "kind": "balance with a wire in water"}),
            ("check", {**rig, "note": "20 kg weight"}),
            ("check", {**balance, "note": "1 g weight"}),
        ],
    )


def log_day(campaign: Path, session: int, opens: datetime, builds: Sequence[Printed]) -> None:
    """Log a day: the spool dried overnight and then on the shelf, and when each build began on it."""
    night = {"spool": _SPOOL, "place": "dryer", "temperature_c": "65"}
    shelf = {"spool": _SPOOL, "place": "shelf", "humidity_pct": "52"}
    before = (opens - timedelta(hours=_DRIED_H)).isoformat()
    facts: list[_Fact] = [
        ("session", {"session": str(session), "operator": "invented", "note": MARK}),
        ("exposure", {**night, "start": before, "end": opens.isoformat()}),
        ("exposure", {**shelf, "start": opens.isoformat(), "end": builds[-1].ended.isoformat()}),
    ]
    facts += [
        ("build", {"build": item.build, "spool": _SPOOL, "started": item.started.isoformat()})
        for item in builds
    ]
    _log(campaign, builds[-1].ended, facts)


def log_failure(campaign: Path, rows: Sequence[Mapping[str, Any]], last: Printed) -> str:
    """Log a repeat of the last build that came off the bed, and return its label: the next free number."""
    label = f"B{1 + max(int(row['build'][1:]) for row in rows):02d}"
    facts = {
        "run": last.run,
        "build": label,
        "outcome": "fell_off",
        "spool": _SPOOL,
        "started": last.ended.isoformat(),
        "note": "corner lifted in layer 9 (invented)",
    }
    _log(campaign, last.ended, [("build", facts)])
    return label


def _log(campaign: Path, now: datetime, facts: Sequence[_Fact]) -> None:
    for what, given in facts:
        log_fact(campaign, what, given, now)
