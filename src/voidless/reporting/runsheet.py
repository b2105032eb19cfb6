"""The run sheet of one build: to print and tick off, and to fill with results."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence

from voidless.quantities import QUANTITIES
from voidless.reporting.cautions import PRINTING, TESTING
from voidless.reporting.facts import Facts, require
from voidless.reporting.page import render
from voidless.reporting.words import number, to_set

__all__ = ["RESULT_COLUMNS", "run_sheet_csv", "run_sheet_html"]

RESULT_COLUMNS = ("run", "build", "specimen", "response", "value", "unit")
"""Columns of a result table."""

_CHECKLIST = (
    "Spool and lot as planned; spool weighed",
    "Nozzle clean, of the stated diameter, not worn",
    "Bed clean and levelled; its temperature has settled",
    "Chamber or room at temperature, doors as planned",
    "Right G-code: its name carries this build and run",
    "First layer watched; machine attended as the cautions say",
    "Photo of the bed before parts come off",
    "Codes written on the specimens as they come off",
    "Faults and stops written under notes",
)
_FIELDS = (
    "printed by", "date, start", "end", "outcome (ok, cold, clogged, fell off, other)",
    "spool", "dried at (°C)", "dried for (h)", "dryer out (date, hour)",
    "out of the dryer (h)", "humidity there (%)", "room (°C)", "spool weight before / after (g)",
)  # fmt: skip


def _heading(facts: Facts) -> list[tuple[str, str]]:
    build, campaign = facts["build"], facts.get("campaign") or {}
    found = [
        (head, (facts.get(head) or {}).get("title") or campaign.get(head) or "")
        for head in ("material", "machine")
    ]
    for head, key, unit in (
        ("order", "order", ""),
        ("session", "session", ""),
        ("predicted", "build_min", " min"),
        ("filament", "grams", " g"),
    ):
        if build.get(key) is not None:
            found.append((head, number(build[key], 3) + unit))
    found += [(head, build.get(head) or "") for head in ("bed", "feed")]
    return [(head, text) for head, text in found if text]


def _drying(facts: Facts) -> tuple[str, ...]:
    drying = (facts.get("material") or {}).get("drying") or {}
    if drying.get("temperature_c") is None or drying.get("hours") is None:
        return ("Filament dried and kept dry on the way to the machine; written below",)
    if float(drying["hours"]) == 0.0:
        return ("No drying is usual for this material; kept dry on the way to the machine",)
    temperature, hours = number(drying["temperature_c"]), number(drying["hours"])
    return (f"Dried at {temperature} °C for {hours} h, kept dry on the way to the machine",)


def _blind(specimens: Sequence[Facts]) -> list[Facts]:
    """Return the specimens in test order, where every one has a code and a place in it; else none."""
    if any(not item.get("code") or item.get("test_order") is None for item in specimens):
        return []
    return sorted(specimens, key=lambda item: float(item["test_order"]))


def run_sheet_html(facts: Facts) -> str:
    """
    Return the run sheet of one build as an HTML document to print.

    Parameters
    ----------
    facts : mapping
        `build` {build, run, order, session, settings, build_min, grams, gcode, bed, feed}, `specimens` [{specimen,
        kind, title, code, test_order, responses}], and where known `campaign`, `material` {title, drying},
        `machine` {title}, `provenance`.

    Raises
    ------
    InputError
        `build` is missing.
    """
    require(isinstance(facts.get("build"), dict), "no build", "build with its run and settings")
    campaign = facts.get("campaign") or {}
    specimens = facts.get("specimens") or []
    return render(
        "runsheet.html.j2",
        build={**facts["build"], "settings": to_set(facts["build"].get("settings") or {})},
        campaign=campaign,
        heading=_heading(facts),
        varied={item["name"] for item in campaign.get("factors", ())},
        checklist=(*_drying(facts), *_CHECKLIST),
        fields=_FIELDS,
        specimens=specimens,
        blind=_blind(specimens),
        cautions=PRINTING,
        test_cautions=TESTING,
        provenance=facts.get("provenance") or {},
    )


def run_sheet_csv(facts: Facts) -> str:
    """
    Return the result table of one build, ready to be filled: every value empty.

    Parameters
    ----------
    facts : mapping
        As `run_sheet_html`; one row for each response of each specimen.

    Raises
    ------
    InputError
        `build` is missing, or a response is not known.
    """
    require(isinstance(facts.get("build"), dict), "no build", "build with its run and settings")
    written = io.StringIO()
    table = csv.writer(written, lineterminator="\n")
    table.writerow(RESULT_COLUMNS)
    build = facts["build"]
    for specimen in facts.get("specimens") or ():
        for response in specimen.get("responses") or ():
            require(response in QUANTITIES, f"response {response!r}", "a known quantity")
            unit = QUANTITIES[response].unit
            table.writerow(
                (
                    build.get("run", ""),
                    build.get("build", ""),
                    specimen.get("specimen", ""),
                    response,
                    "",
                    unit,
                )
            )
    return written.getvalue()
