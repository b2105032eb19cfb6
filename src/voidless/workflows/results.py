"""Single results: what stands, how each was reduced, and what it was derived from."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from voidless.errors import InputError
from voidless.measure.quality.rounding import as_shown
from voidless.measure.used_facts import facts_used
from voidless.records.facts import ObservationRow, Use
from voidless.workflows.filing import result_dict
from voidless.workflows.instruments import STANDING, WHY, ties
from voidless.workflows.opening import SCHEMA_VERSION, OpenCampaign, code_version, open_campaign
from voidless.workflows.plain import plain
from voidless.workflows.readings import batches_of, readings_of
from voidless.workflows.reductions import pictures_of

__all__ = ["one_result", "result_rows"]

_WITH_SECTIONS = {"machine_curve", "strength_summary", "spreadsheet", "archive"}
"""Kinds of files whose forces need a cross-section, or that may hold such files."""


def result_rows(opened: OpenCampaign) -> list[dict[str, Any]]:
    """
    Return every result that stands, oldest first.

    Parameters
    ----------
    opened : OpenCampaign
        The campaign.

    Returns
    -------
    rows : list of dict
        `id`, `run`, `build`, `specimen`, `response`, `feature`, `method`, `conditions`, `value`, `unit`, `uncertainty`
        (standard, None where not stated), `shown` (both as text, rounded by the uncertainty),
        `bound`, `assumed`, `standing`, `why`, `file`, `sha256`, `read_at`,
        `measured_at`, `code_version`, `instruments`.
    """
    uses = opened.store.uses()
    return [_row(row, uses) for row in opened.store.rows()]


def _row(row: ObservationRow, uses: Sequence[Use]) -> dict[str, Any]:
    found = row.observation
    return {
        "id": row.id,
        **result_dict(found),
        "standing": found.extra.get(STANDING, "as read"),
        "why": found.extra.get(WHY, ""),
        "file": row.source_name,
        "sha256": row.source_sha,
        "read_at": row.time.isoformat(timespec="seconds"),
        "measured_at": row.measured_at.isoformat(timespec="minutes") if row.measured_at else None,
        "code_version": row.code_version,
        "instruments": [tie.instrument for tie in ties(row, uses)],
    }


def one_result(folder: str | Path, wanted: str) -> dict[str, Any]:
    """
    Return one result with how it was reduced.

    Parameters
    ----------
    folder : path
        The campaign's folder.
    wanted : str
        Its id, as `result_rows` has it.

    Returns
    -------
    result : dict
        `result` (a row of `result_rows`), `reductions` (each with `picture`, `flags`, `numbers`), `history` (what
        stood before it, newest first), `answers` (what a person answered for its file), `before` and `after` (ids of
        its neighbours among those that stand, or None).

    Raises
    ------
    InputError
        No result has this id.
    """
    with open_campaign(folder) as opened:
        rows = {row.id: row for row in opened.store.rows(current=False)}
        row = rows.get(wanted)
        if row is None:
            known = "a result that is listed on /results"
            raise InputError(
                f"result {wanted[:40]}", "there is no such result", known, "Follow a link of the list."
            )
        current = [other.id for other in rows.values() if other.current]
        place = current.index(wanted) if wanted in current else None
        uses = opened.store.uses()
        return {
            "schema_version": SCHEMA_VERSION,
            "campaign": {"name": opened.campaign.name},
            "result": {**_row(row, uses), "stands": row.current, "withdrawn": row.withdrawn},
            "reductions": plain(pictures_of(opened, row)),
            "history": _history(row, rows),
            "answers": _answers(opened, row.source_sha),
            "before": current[place - 1] if place else None,
            "after": current[place + 1] if place is not None and place + 1 < len(current) else None,
            "provenance": {"code_version": code_version()},
        }


def _history(row: ObservationRow, rows: Mapping[str, ObservationRow]) -> list[dict[str, Any]]:
    """Return what stood before a result, newest first."""
    found = []
    while row.supersedes:
        row = rows[row.supersedes]
        found.append(
            {
                "id": row.id,
                "value": row.observation.value,
                "uncertainty": row.observation.uncertainty,
                "shown": list(as_shown(row.observation.value, row.observation.uncertainty)),
                "read_at": row.time.isoformat(timespec="seconds"),
                "code_version": row.code_version,
                "standing": row.observation.extra.get(STANDING, "as read"),
            }
        )
    return found


def _answers(opened: OpenCampaign, sha: str) -> dict[str, str] | None:
    """Return what a person answered that a file of this kind may use, by option; None where it was not kept."""
    reading = readings_of(opened.store).get(sha)
    if reading is None:
        return None
    said = batches_of(opened.store)[reading.batch].answers.of(reading.file)
    sections = {
        f"--section {name}".strip(): f"{value:g} mm2"
        for name, value in said.sections.items()
        if reading.taken_for in _WITH_SECTIONS
    }
    used = facts_used(reading.taken_for, said.facts)
    facts = {f"--fact {name}": f"{value:g}" for name, value in used.items()}
    kind = said.kind_of(reading.file)
    kinds = {"--as": f"{kind[0].value}={kind[1]}"} if kind else {}
    return {**sections, **{f"--unit {name}": text for name, text in said.units.items()}, **facts, **kinds}
