"""Write the report of the whole campaign."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import Any

from voidless.reporting.document import report_html
from voidless.workflows.evidence import evidence_of
from voidless.workflows.facts import facts_of, require_results
from voidless.workflows.opening import SCHEMA_VERSION, open_campaign, utc_now
from voidless.workflows.writing import require_output, write_text

__all__ = ["write_report"]


def write_report(
    folder: str | Path, now: datetime | None = None, progress: Callable[[str], None] = lambda _: None
) -> dict[str, Any]:
    """
    Return where the report was written: one HTML file that needs nothing else.

    Raises
    ------
    InputError
        The campaign holds no result.
    """
    moment = now or utc_now()
    with open_campaign(folder) as opened:
        require_results(opened, "voidless report")
        out = require_output(opened)
        facts = facts_of(opened, moment, pictures=True, confidence=0.9, progress=progress)
        progress("reading every raw file again")
        facts["evidence"] = evidence_of(opened)
        progress("drawing the report")
        path = write_text(out / "report.html", report_html(facts))
    return {
        "schema_version": SCHEMA_VERSION,
        "files": [{"kind": "report", "path": str(path)}],
        "notes": facts["evidence"]["lost"],
    }
