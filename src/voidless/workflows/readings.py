"""How every file was read: what a person answered, and what it told of spool and machine rather than of builds."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass, field
from datetime import datetime
from typing import Any

from voidless.measure.results import Answers, FileResult, Kind
from voidless.records.facts import Derived
from voidless.records.store import Store
from voidless.records.writer import Writer
from voidless.workflows.plain import plain

__all__ = [
    "FINDINGS",
    "Batch",
    "Finding",
    "Reading",
    "batches_of",
    "findings_of",
    "keep_batch",
    "keep_reading",
    "readings_of",
    "ruling_readings",
]

_READING, _BATCH = "reading", "batch"
"""Kinds of derived records: of one file, and of all files that were read together."""

FINDINGS: Mapping[str, str] = {
    "moisture": "spool",
    "realised": "setting",
    "feed": "",
    "filament": "",
    "fan": "",
    "gap": "",
    "lag": "",
    "vessel": "vessel",
}
"""Kinds of reduced entries that speak of spool or machine, and the entry that says of which one."""


@dataclass(frozen=True)
class Finding:
    """
    What a file tells of a spool or of the machine.

    Attributes
    ----------
    kind : str
        A name of `FINDINGS`.
    subject : str
        Spool or setting; empty where the machine has but one.
    numbers : mapping
        As reduced. [unit in the name]
    file, sha : str
        The raw file.
    time : datetime
        When it was read.
    """

    kind: str
    subject: str
    numbers: Mapping[str, Any]
    file: str
    sha: str
    time: datetime

    @property
    def source(self) -> str:
        """What a person calls where the numbers come from."""
        said = self.numbers.get("date")
        day = said or self.time.date().isoformat()
        return f"{self.file}, {'of' if said else 'read on'} {day}"


@dataclass(frozen=True)
class Reading:
    """
    How one file was read.

    Attributes
    ----------
    file, sha : str
        The raw file.
    taken_for : str
        What it was taken for.
    batch : str
        Id of the record of the files that were read with it.
    code_version : str
        Version of the program that read it.
    time : datetime
        When.
    findings : tuple of mapping
        Reduced entries that speak of spool or machine.
    replaces : str
        Hash of the file that it corrects, if any.
    """

    file: str
    sha: str
    taken_for: str
    batch: str
    code_version: str
    time: datetime
    findings: tuple[Mapping[str, Any], ...] = field(repr=False)
    replaces: str = ""


@dataclass(frozen=True)
class Batch:
    """Files that are read together, as `(hash, name)`, and what a person answered for them."""

    answers: Answers
    files: tuple[tuple[str, str], ...]


def keep_batch(writer: Writer, batch: Batch) -> str:
    """Return the id of the record of files that are read together, and of what was answered."""
    return writer.add_derived(_BATCH, plain(asdict(batch)), [])


def batches_of(store: Store) -> dict[str, Batch]:
    """Return the files that were read together, and what was answered for them, by the id of their record."""
    return {record.id: _batch(record) for record in store.derived(_BATCH)}


def _batch(record: Derived) -> Batch:
    payload: Any = record.payload
    # Another version may have kept more kinds of answer, or fewer.
    said = {name: value for name, value in payload["answers"].items() if name in Answers.__dataclass_fields__}
    said["kinds"] = tuple((pattern, Kind(kind)) for pattern, kind in said.get("kinds", ()))
    said["only"] = tuple(tuple(item) for item in said.get("only", ()))
    return Batch(Answers(**said), tuple((sha, name) for sha, name in payload["files"]))


def keep_reading(writer: Writer, result: FileResult, sha: str, batch: str, replaces: str = "") -> None:
    """Keep how a file was read, and what it told of spool or machine."""
    found = [
        {name: value for name, value in item.items() if name != "picture"}
        for item in result.reduced
        if item.get("kind") in FINDINGS
    ]
    payload: dict[str, Any] = {
        "file": result.file,
        "taken_for": result.taken_for.value,
        "batch": batch,
        "replaces": replaces,
        "findings": plain(found),
    }
    writer.add_derived(_READING, payload, [sha])


def readings_of(store: Store) -> dict[str, Reading]:
    """Return how every file was read last, by hash, oldest first."""
    found: dict[str, Reading] = {}
    for record in reversed(store.derived(_READING)):
        payload: Any = record.payload
        sha = record.inputs[0]
        found.pop(sha, None)
        found[sha] = Reading(
            payload["file"],
            sha,
            payload["taken_for"],
            payload["batch"],
            record.code_version,
            record.time,
            tuple(payload["findings"]),
            payload["replaces"],
        )
    return found


def ruling_readings(store: Store) -> dict[str, Reading]:
    """Return the readings of files that no later file corrects, by hash, oldest first."""
    found: dict[str, Reading] = {}
    for sha, reading in readings_of(store).items():
        found.pop(reading.replaces, None)
        found[sha] = reading
    return found


def findings_of(store: Store) -> tuple[Finding, ...]:
    """Return the findings that rule: of each kind and subject the last that was read and not corrected since."""
    ruling: dict[tuple[str, ...], Finding] = {}
    for reading in ruling_readings(store).values():
        for item in reading.findings:
            kind = str(item["kind"])
            subject = str(item.get(FINDINGS[kind]) or "")
            key = (kind, subject, str(item.get("piece", "")))
            ruling.pop(key, None)
            ruling[key] = Finding(kind, subject, item, reading.file, reading.sha, reading.time)
    return tuple(ruling.values())
