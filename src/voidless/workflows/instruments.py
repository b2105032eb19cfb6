"""What checks of instruments mean for stored results: each is judged anew from what was first read."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from voidless.campaign.types import Observation
from voidless.errors import InputError
from voidless.measure.quality.powers import RATIOS
from voidless.measure.quality.register import InstrumentCheck, Standing, rederived, verdict_on
from voidless.records.facts import Check, ObservationRow, Use
from voidless.records.writer import Writer
from voidless.workflows.opening import OpenCampaign

__all__ = ["STANDING", "WHY", "first_read", "instruments_dict", "reconsider", "ties"]

STANDING, WHY = "standing", "standing_why"
"""Names in an observation's `extra` that say how it stands when it is not as it was read."""


@dataclass(frozen=True)
class _Judged:
    """A result after one instrument: its value and uncertainty, what it is now, and why."""

    value: float
    uncertainty: float | None
    standing: Standing
    why: str


def reconsider(writer: Writer, instrument: str) -> list[dict[str, Any]]:
    """
    Return the results that stand otherwise now, after an instrument's checks or ties have changed.

    Each is superseded; the old one stays on record. It is derived from what was first read, by all checks of all its
    instruments, so the order in which checks are logged does not matter.

    Parameters
    ----------
    writer : Writer
        The open transaction, which holds the new check or tie already.
    instrument : str
        Its label.

    Returns
    -------
    changed : list of dict
        `run`, `build`, `specimen`, `response`, `before`, `after`, `standing`, `why`.
    """
    uses, checks = writer.uses(), writer.checks()
    rows = {row.id: row for row in writer.rows(current=False)}
    changed = []
    for row in rows.values():
        tied = ties(row, uses) if row.current else []
        if all(tie.instrument != instrument for tie in tied):
            continue
        first = first_read(row, rows)
        now = _judged(first, tied, checks)
        if now == row.observation:
            continue
        writer.supersede(
            row.id, now, row.source_sha, row.method_version, row.unit, row.instrument, row.measured_at
        )
        changed.append(_change(row.observation, now))
    return changed


def ties(row: ObservationRow, uses: Sequence[Use]) -> list[Use]:
    """Return the instruments that a result rests on, by its file or by its own record."""
    name = row.observation.key.quantity
    found = [use for use in uses if use.source_sha == row.source_sha and use.quantity in ("", name)]
    # what is said of one quantity comes before what is said of the whole file
    own = {use.instrument for use in found if use.quantity}
    found = [use for use in found if use.quantity or use.instrument not in own]
    if row.instrument and all(use.instrument != row.instrument for use in found):
        found.append(Use(row.instrument, row.source_sha))
    return found


def first_read(row: ObservationRow, rows: Mapping[str, ObservationRow]) -> ObservationRow:
    """Return the reading behind what earlier checks made of it."""
    while STANDING in row.observation.extra and row.supersedes:
        row = rows[row.supersedes]
    return row


def _judged(row: ObservationRow, ties: Sequence[Use], checks: Sequence[Check]) -> Observation:
    """Return a reading as the checks of all its instruments leave it."""
    found = row.observation
    value, uncertainty = found.value, found.uncertainty
    standings: list[tuple[Standing, str]] = []
    for tie in ties:
        one = _by_one(value, uncertainty, row, tie, [c for c in checks if c.instrument == tie.instrument])
        value, uncertainty = one.value, one.uncertainty
        if one.standing in (Standing.CORRECTED, Standing.DOUBTFUL):
            standings.append((one.standing, f"{tie.instrument}: {one.why}"))
    if not standings:
        return found
    doubtful = any(standing is Standing.DOUBTFUL for standing, _ in standings)
    standing = Standing.DOUBTFUL if doubtful else Standing.CORRECTED
    why = "; ".join(words for _, words in standings)
    extra = {**found.extra, STANDING: standing.value, WHY: why}
    return replace(found, value=value, uncertainty=uncertainty, extra=extra)


def _by_one(
    value: float, uncertainty: float | None, row: ObservationRow, tie: Use, checks: Sequence[Check]
) -> _Judged:
    measured_at = tie.measured_at or row.measured_at or row.time
    verdict = verdict_on(measured_at, [_plain_check(check) for check in checks])
    check, standing, words = verdict.check, verdict.standing, verdict.words
    if standing is not Standing.CORRECTED or check is None:
        return _Judged(value, uncertainty, standing, words)
    missing = _missing(tie, check, row.observation.key.quantity)
    if missing:
        return _Judged(value, uncertainty, Standing.DOUBTFUL, missing)
    if tie.power == 0.0:
        return _Judged(value, uncertainty, Standing.SOUND, "what the check found cancels in it")
    try:
        # by gain alone the share is the same at every reading
        new, spread = rederived(value, uncertainty or 0.0, tie.power or 0.0, check, tie.reading or 1.0)
    except InputError as fault:
        return _Judged(value, uncertainty, Standing.DOUBTFUL, fault.what)
    if uncertainty is None:
        words += "; its own uncertainty was not stated, and what the correction adds to it is not either"
    return _Judged(new, None if uncertainty is None else spread, standing, words)


def _missing(tie: Use, check: InstrumentCheck, quantity: str) -> str:
    """Return what a correction lacks, empty where it lacks nothing."""
    if tie.power is None:
        return "how the result goes with the reading is not said; log used with power="
    if tie.power == 0.0 and quantity in RATIOS and check.offset:
        return "the check found an offset, which does not cancel in a ratio of readings; read it anew"
    if tie.power == 0.0:
        return ""
    if check.offset and tie.reading is None:
        return "the check found an offset and the reading is not said; log used with reading="
    return ""


def _plain_check(check: Check) -> InstrumentCheck:
    return InstrumentCheck(
        check.checked_at,
        check.passed,
        check.gain,
        check.offset,
        check.gain_uncertainty or 0.0,
        check.offset_uncertainty or 0.0,
    )


def _change(before: Observation, after: Observation) -> dict[str, Any]:
    return {
        "run": after.run,
        "build": after.build,
        "specimen": after.specimen,
        "response": after.key.quantity,
        "before": before.value,
        "after": after.value,
        "uncertainty": after.uncertainty,
        "standing": after.extra.get(STANDING, "restored"),
        "why": after.extra.get(WHY, "the checks before and after no longer speak against it"),
    }


def instruments_dict(opened: OpenCampaign) -> dict[str, Any]:
    """
    Return the checks of the instruments, and the results that they corrected or put in doubt.

    Parameters
    ----------
    opened : OpenCampaign
        The campaign.

    Returns
    -------
    instruments : dict
        `checks` by time, and `results` with `value`, `uncertainty`, `standing` and `why`.
    """
    ruling = [row.observation for row in opened.store.rows() if STANDING in row.observation.extra]
    return {
        "checks": [
            {**vars(check), "checked_at": check.checked_at.isoformat(timespec="minutes")}
            for check in opened.store.checks()
        ],
        "results": [
            {
                "run": found.run,
                "build": found.build,
                "specimen": found.specimen,
                "response": found.key.quantity,
                "value": found.value,
                "uncertainty": found.uncertainty,
                "standing": found.extra[STANDING],
                "why": found.extra[WHY],
            }
            for found in ruling
        ],
    }
