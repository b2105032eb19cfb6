"""Derive stored results anew from their raw files and from what was answered when they were read."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import Any

from voidless.campaign.types import Observation
from voidless.measure.results import Answers, FileResult, RawFile, Status
from voidless.records.facts import ObservationRow, StoredFile
from voidless.records.writer import Writer
from voidless.workflows.again_facts import FactChange, changed_facts, facts_gone, store_facts
from voidless.workflows.decoding import decoded_files
from voidless.workflows.filing import Desk, find_stored, with_conditions
from voidless.workflows.finding_words import finding_rows, without_name
from voidless.workflows.instruments import first_read, reconsider
from voidless.workflows.opening import SCHEMA_VERSION, OpenCampaign, code_version, open_campaign, utc_now
from voidless.workflows.readings import (
    FINDINGS,
    Batch,
    Reading,
    batches_of,
    keep_batch,
    keep_reading,
    readings_of,
    ruling_readings,
)
from voidless.workflows.reductions import keep_reductions

__all__ = ["derive_again", "outdated"]

Progress = Callable[[str], None]
_NOTHING = Answers()
_SAME = 1e-9
"""Relative difference up to which a recomputed number is the same. [1]"""


def outdated(opened: OpenCampaign) -> list[Reading]:
    """Return the readings of files by another version of the program than this one."""
    return [item for item in ruling_readings(opened.store).values() if item.code_version != code_version()]


def derive_again(
    folder: str | Path,
    wanted: Sequence[str] = (),
    corrected: Answers = _NOTHING,
    dry: bool = False,
    now: datetime | None = None,
    progress: Progress = lambda _: None,
) -> dict[str, Any]:
    """
    Return, per stored file, how its results change when they are derived from it again, and store that.

    Parameters
    ----------
    folder : path
        The campaign's folder.
    wanted : sequence of str
        Names or checksums of stored files; empty: all whose answers are on record.
    corrected : Answers
        What a person answers now, in place of what was answered then; what is not said now stays.
    dry : bool
        Whether to store nothing.

    Raises
    ------
    InputError
        No such file is stored.

    Notes
    -----
    Files are read with those that they were first read with. Facts of builds that the file itself said are said anew;
    what a person or a later file has said since stands. A changed result supersedes the earlier one, one that is
    no longer given is withdrawn; both stay on record. What checks of instruments made of a result is done again.
    """
    with open_campaign(folder) as opened:
        shas = [find_stored(opened, name, "voidless read --again").sha for name in wanted]
        entries = []
        for batch, told in _batches(opened, shas, corrected):
            progress(f"reading {len(batch.files)} files")
            raw = [RawFile(name, opened.store.read_file(sha)) for sha, name in batch.files]
            results = decoded_files(opened, raw, batch.answers)
            desk = Desk(opened, batch, next(iter(told.values())).batch if corrected == _NOTHING else "")
            for (sha, _), result in zip(batch.files, results, strict=True):
                if sha in told:
                    progress(f"comparing {result.file}")
                    entries.append(_Anew(desk, result, told[sha], dry, now or utc_now()).entry())
        entries += [_not_kept(item) for item in _without_answers(opened)] if not wanted else []
        return {"schema_version": SCHEMA_VERSION, "files": entries, "dry": dry}


def _batches(
    opened: OpenCampaign, shas: Sequence[str], corrected: Answers
) -> Iterator[tuple[Batch, dict[str, Reading]]]:
    """Give files that belong together, and which of them are asked for with how they were read."""
    ruling, batches = ruling_readings(opened.store), batches_of(opened.store)
    asked = {sha: ruling[sha] for sha in shas if sha in ruling} if shas else ruling
    for name in dict.fromkeys(reading.batch for reading in asked.values()):
        kept = batches[name]
        held = tuple((sha, file) for sha, file in kept.files if opened.store.has_file(sha))
        told = {sha: reading for sha, reading in asked.items() if reading.batch == name}
        yield Batch(kept.answers.with_more(corrected), held), told
    for sha in shas:
        if sha not in ruling:
            yield _folder_of(opened, sha, corrected)


def _folder_of(opened: OpenCampaign, sha: str, said: Answers) -> tuple[Batch, dict[str, Reading]]:
    """Return a file that was read before answers were kept, with the files of its folder and what is answered now."""
    files = opened.store.files()
    mine = next(stored for stored in files if stored.sha == sha)
    beside = {
        stored.sha: stored.name for stored in files if Path(stored.name).parent == Path(mine.name).parent
    }
    reading = Reading(mine.name, sha, mine.kind, "", "", mine.time, ())
    return Batch(said, tuple(beside.items())), {sha: reading}


def _without_answers(opened: OpenCampaign) -> list[StoredFile]:
    """Return the files that gave something and were read before answers were kept."""
    known = readings_of(opened.store)
    giving = {row.source_sha for row in opened.store.rows()}
    gave = [item for item in opened.store.files() if item.sha in giving or item.kind in FINDINGS]
    return [item for item in gave if item.sha not in known]


def _not_kept(item: StoredFile) -> dict[str, Any]:
    words = "read before answers were kept; name it, with its answers: read DIR --again FILE --section ... --fact ..."
    return {
        "file": item.name,
        "taken_for": item.kind,
        "status": "answers_not_kept",
        "changes": [],
        "build_facts": [],
        "findings": [],
        "questions": [],
        "warnings": [words],
    }


class _Anew:
    """One file read again: what of it is the same, changed, new or gone."""

    def __init__(self, desk: Desk, result: FileResult, before: Reading, dry: bool, now: datetime) -> None:
        self.desk, self.result, self.before, self.dry, self.now = desk, result, before, dry, now
        self.opened, self.sha = desk.opened, before.sha

    def entry(self) -> dict[str, Any]:
        """Return the file's entry of the answer, with everything stored unless it is a dry run."""
        found: dict[str, Any] = {
            "file": self.result.file,
            "taken_for": self.result.taken_for.value,
            "status": self.result.status.value,
            "changes": [],
            "build_facts": [],
            "findings": finding_rows([dict(item) for item in self.result.reduced]),
            "questions": [question.to_dict() for question in self.result.questions],
            "warnings": [without_name(note, self.result.file) for note in self.result.warnings],
        }
        if self.result.error is not None:
            found["error"] = self.result.error.to_dict()
        if self.result.status is not Status.OK:
            return found
        pairs, gone = self._paired()
        changed = [(row, item) for row, item in pairs if row is None or not _same(self._first(row), item)]
        told = finding_rows([dict(item) for item in self.before.findings]) != found["findings"]
        found["changes"] = [
            *(_change(None if row is None else row.observation, item) for row, item in changed),
            *(_change(row.observation, None) for row in gone),
        ]
        facts = changed_facts(self.desk, self.result, self.sha)
        found["build_facts"] = [change.row() for change in facts]
        found["warnings"] += facts_gone(self.desk, self.result, self.sha)
        found["status"] = "changed" if changed or gone or told or facts else "same"
        if not self.dry:
            self._store(changed, gone, facts)
        return found

    def _first(self, row: ObservationRow) -> Observation:
        return first_read(row, self.rows).observation

    def _paired(self) -> tuple[list[tuple[ObservationRow | None, Observation]], list[ObservationRow]]:
        """Return each result with the row that it stands for, and the rows for which there is none any more."""
        self.rows = {row.id: row for row in self.opened.store.rows(current=False)}
        left = [row for row in self.rows.values() if row.current and row.source_sha == self.sha]
        pairs: list[tuple[ObservationRow | None, Observation]] = []
        for item in self.result.observations:
            filed = with_conditions(item, self.opened)
            row = next((row for row in left if _stands_for(row.observation, filed)), None)
            if row is not None:
                left.remove(row)
                filed = replace(filed, run=row.observation.run, build=row.observation.build)
            pairs.append((row, filed))
        return pairs, left

    def _store(
        self,
        changed: Sequence[tuple[ObservationRow | None, Observation]],
        gone: Sequence[ObservationRow],
        facts: Sequence[FactChange],
    ) -> None:
        with self.opened.store.writing(self.now) as writer:
            store_facts(writer, self.desk, facts, self.sha)
            for row, item in changed:
                if row is None:
                    self.desk.file(writer, item, self.sha)
                else:
                    writer.supersede(
                        row.id, item, self.sha, row.method_version, row.unit, row.instrument, row.measured_at
                    )
            for row in gone:
                writer.withdraw_observation(row.id, f"no longer given when read again by {code_version()}")
            keep_reductions(writer, self.result, self.sha)
            batch = self.desk.batch_id or keep_batch(writer, self.desk.batch)
            keep_reading(writer, self.result, self.sha, batch, self.before.replaces)
            for label in _instruments(writer, self.sha):
                reconsider(writer, label)
            writer.add_event(
                "read again", {"file": self.result.file, "sha256": self.sha, "changed": len(changed)}
            )
        self.desk.batch_id = batch


def _instruments(writer: Writer, sha: str) -> list[str]:
    """Return the instruments that results of a file rest on."""
    tied = [use.instrument for use in writer.uses() if use.source_sha == sha]
    own = [row.instrument for row in writer.rows() if row.source_sha == sha and row.instrument]
    return list(dict.fromkeys([*tied, *own]))


def _stands_for(old: Observation, new: Observation) -> bool:
    """Return whether a result is the one that stands, by what it is and not by its value."""
    return (
        old.key == new.key
        and old.specimen == new.specimen
        and old.order == new.order
        and new.run in ("", old.run)
        and new.build in ("", old.build)
    )


def _same(old: Observation, new: Observation) -> bool:
    def near(a: float | None, b: float | None) -> bool:
        return a == b or (a is not None and b is not None and math.isclose(a, b, rel_tol=_SAME))

    return (
        near(old.value, new.value)
        and near(old.uncertainty, new.uncertainty)
        and (old.bound, old.break_place, old.assumed) == (new.bound, new.break_place, new.assumed)
    )


def _change(before: Observation | None, after: Observation | None) -> Mapping[str, Any]:
    known = after or before
    assert known is not None
    return {
        "run": known.run,
        "build": known.build,
        "specimen": known.specimen,
        "response": known.key.quantity,
        "feature": known.key.feature,
        "method": known.key.method,
        "before": before.value if before else None,
        "after": after.value if after else None,
        "uncertainty_before": before.uncertainty if before else None,
        "uncertainty": after.uncertainty if after else None,
    }
