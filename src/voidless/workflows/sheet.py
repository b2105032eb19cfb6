"""Write the settings sheet."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import Any

from voidless.reporting.sheet import settings_sheet
from voidless.workflows.evidence import evidence_of
from voidless.workflows.facts import facts_of, require_results
from voidless.workflows.opening import SCHEMA_VERSION, open_campaign, utc_now
from voidless.workflows.writing import require_output, write_text

__all__ = ["write_sheet"]


def write_sheet(
    folder: str | Path, now: datetime | None = None, progress: Callable[[str], None] = lambda _: None
) -> dict[str, Any]:
    """
    Return where the settings sheet was written.

    Raises
    ------
    InputError
        The campaign holds no result.
    """
    moment = now or utc_now()
    with open_campaign(folder) as opened:
        require_results(opened, "voidless sheet")
        out = require_output(opened)
        facts = facts_of(opened, moment, pictures=False, confidence=0.9, progress=progress)
        progress("reading every raw file again")
        facts["evidence"] = evidence_of(opened)
        path = write_text(out / "settings-sheet.html", settings_sheet(facts))
        claim = facts["window"]["recipe"]["claim"]
    notes = list(facts["evidence"]["lost"])
    notes += [] if claim else ["The sheet says that no claim is made: " + facts["window"]["verdict"]]
    return {
        "schema_version": SCHEMA_VERSION,
        "files": [{"kind": "settings sheet", "path": str(path)}],
        "claim": claim,
        "notes": notes,
    }
