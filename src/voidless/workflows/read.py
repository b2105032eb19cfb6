"""Read raw files into results: recognise, reduce, check against the plan, store whole or not at all."""

from __future__ import annotations

import re
import shlex
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import Any

from voidless.campaign.types import Observation
from voidless.errors import InputError, VoidlessError
from voidless.measure.results import FileResult, Kind, RawFile, Status, fits_name
from voidless.measure.tightness.expansion import volumes_by_name
from voidless.workflows.again import derive_again
from voidless.workflows.answering import answers_of, check_sections, strength_method
from voidless.workflows.decoding import decoded_files
from voidless.workflows.filing import Desk, Replaced, find_stored, observation_dict
from voidless.workflows.finding_words import finding_rows, told_of, without_name
from voidless.workflows.gathering import Given, gather
from voidless.workflows.opening import SCHEMA_VERSION, OpenCampaign, open_campaign, utc_now
from voidless.workflows.plausible import unlikely
from voidless.workflows.readings import Batch
from voidless.workflows.reductions import kept_frames
from voidless.workflows.strength import built_rows, strength_rows, with_breaks
from voidless.workflows.tying import Instruments

__all__ = ["NothingStoredError", "read_again", "read_files"]

Progress = Callable[[str], None]
Confirm = Callable[[Sequence[Mapping[str, str]]], bool]
"""Gets `file`, `taken_for`, `why` and `status` of every file; says whether to store."""
_OTHERWISE = "stored earlier with other answers, which stand; to read it anew add --replaces with its name"
_REFUSED_NOW = "stored earlier and stands, though read as given now it would be refused:"
_FRAMES_SINCE = "stored earlier with other frames; to read it with these add --replaces with its name"
_Outcome = tuple[dict[str, Any], list[Any], VoidlessError | None]
"""A file's entry in the answer, the observations it gave, and its fault."""


class NothingStoredError(InputError):
    """No file of a batch could be stored; `details` holds each file's own status."""

    def __init__(self, fault: VoidlessError, details: Mapping[str, Any]) -> None:
        super().__init__(fault.where, fault.what, fault.expected, fault.remedy)
        self.details = dict(details)

    def __reduce__(self) -> tuple[object, ...]:
        return (type(self), (InputError(self.where, self.what, self.expected, self.remedy), self.details))


def read_files(
    folder: str | Path,
    files: Sequence[str | Path],
    sections: Mapping[str, str] | None = None,
    units: Mapping[str, str] | None = None,
    facts: Mapping[str, str] | None = None,
    replaces: Sequence[tuple[str, str]] = (),
    now: datetime | None = None,
    progress: Progress = lambda _: None,
    kinds: Sequence[tuple[str, str]] = (),
    dry: bool = False,
    confirm: Confirm = lambda _: True,
    methods: Sequence[tuple[str, str]] = (),
    instruments: Sequence[tuple[str, str]] = (),
    measured_at: datetime | None = None,
    distinct: Sequence[str] = (),
) -> dict[str, Any]:
    """
    Return, per file, what it was taken for, whether it was stored, its results and open questions.

    Parameters
    ----------
    folder : path
        The campaign's folder.
    files : sequence of path
        Files, or folders whose files are all meant.
    sections, units, facts : mapping or None
        What a person answers: cross-section by direction [mm2], unit by column, other facts of
        `voidless.measure.files.facts`. `NAME@PATTERN` answers for files of that name alone.
    replaces : sequence of (str, str)
        Pattern of file names, and name or checksum of the stored file whose results the one of that name corrects; they
        stay on record.
    kinds : sequence of (str, str)
        Kind and pattern of file names, where a file is something else than it is taken for; the last that fits rules.
    dry : bool
        Whether to say only what each file is and gives: nothing is stored, runs and builds are not checked.
    confirm : callable
        Asked before anything is stored; where it says no, the answer is that of `dry`.
    methods : sequence of (str, str)
        Pattern of file names, and the method of their rows that state none.
    instruments : sequence of (str, str)
        Pattern of file names and label of the instrument that their results rest on.
    measured_at : datetime or None
        When the files were measured, for checks of their instruments.
    distinct : sequence of str
        Patterns of names of files whose readings are their own, though equal ones are stored.

    Raises
    ------
    InputError
        Nothing could be stored, and at least one file was refused or asks a question.
    """
    answers = answers_of(sections or {}, units or {}, facts or {}, kinds, methods)
    given = gather([Path(file) for file in files], progress)
    check_sections(answers, [item.name for item in given])
    with open_campaign(folder) as opened:
        replaced = _replaced(opened, replaces, given)
        register = Instruments(
            {item.label: item for item in opened.store.instruments()}, tuple(instruments), measured_at
        )
        readable = [item for item in given if item.data is not None]
        progress(f"reading {len(readable)} files")
        answers = replace(answers, strength_method=strength_method(opened, answers))
        answers = answers.with_volumes(volumes_by_name(item.numbers for item in opened.findings))
        taken = iter(decoded_files(opened, [RawFile(one.name, one.data or b"") for one in readable], answers))
        results = [next(taken) if item.data is not None else _unreadable(item) for item in given]
        told = [
            {
                "file": item.name,
                "taken_for": found.taken_for.value,
                "why": found.why,
                "status": found.status.value,
            }
            for item, found in zip(given, results, strict=True)
            if not item.sibling
        ]
        if dry or not confirm(told):
            return _unstored(given, results)
        now = now or utc_now()
        named = [(item.sha, item.name) for item in readable]
        outcomes, desk = (
            [],
            Desk(opened, Batch(answers, tuple(named)), instruments=register, distinct=distinct),
        )
        for item, result in zip(given, results, strict=True):
            progress(f"storing {item.name}")
            if not item.sibling:
                outcomes.append(_outcome(desk, item, result, replaced.get(item.name, Replaced()), now))
        _keep_context(opened, [item for item in given if item.sibling], outcomes, now)
        answer = _answer(outcomes)
    if any(entry["findings"] for entry in answer["files"] if entry["status"] == "stored"):
        with open_campaign(folder) as opened:
            answer["own"] = list(opened.ground_notes)
    return answer


def read_again(
    folder: str | Path,
    files: Sequence[str | Path] = (),
    sections: Mapping[str, str] | None = None,
    units: Mapping[str, str] | None = None,
    facts: Mapping[str, str] | None = None,
    now: datetime | None = None,
    progress: Progress = lambda _: None,
    kinds: Sequence[tuple[str, str]] = (),
    methods: Sequence[tuple[str, str]] = (),
    dry: bool = False,
) -> dict[str, Any]:
    """
    Return how stored results change when they are derived from their raw files again.

    Parameters
    ----------
    folder : path
        The campaign's folder.
    files : sequence of path
        Names or checksums of stored files; empty: all whose answers are on record.
    sections, units, facts, kinds, methods
        As in `read_files`; they stand in place of what was answered when the files were first read.
    dry : bool
        Whether to store nothing.

    Raises
    ------
    InputError
        No such file is stored, or an answer is wrong.
    """
    answers = answers_of(sections or {}, units or {}, facts or {}, kinds, methods)
    return derive_again(folder, [str(file) for file in files], answers, dry, now, progress)


def _options(files: Sequence[Mapping[str, Any]]) -> list[str]:
    """Return the options that answer everything asked, those of one file with its name where several ask."""
    asked = [
        (Path(file["file"]).name, question["expected"]) for file in files for question in file["questions"]
    ]
    several = len({name for name, _ in asked}) > 1
    found = []
    for name, expected in asked:
        options = re.findall(r"--\w+ (?:'[^']*'|\S+)", expected) if expected.startswith("--") else []
        if options and options[0].startswith("--replaces"):
            options = options[:1]  # the others answer otherwise
        for option in options:
            word, _, value = option.partition(" ")
            value = "".join(shlex.split(value))
            if several and word in ("--fact", "--unit"):
                value = value.replace("=", f"@{name}=", 1)
            elif several and word in ("--method", "--replaces"):
                value = f"{value}@{name}"
            found.append(f"{word} {shlex.quote(value)}")
    return list(dict.fromkeys(found))


def _unstored(given: Sequence[Given], results: Sequence[FileResult]) -> dict[str, Any]:
    """Return what each file is and gives, with nothing stored."""
    entries = []
    for item, found in zip(given, results, strict=True):
        if item.sibling:
            continue
        status = "not_stored" if found.status is Status.OK else found.status.value
        entry = _entry(item, found, status, found.observations)
        if found.error is not None:
            entry["error"] = found.error.to_dict()
        entries.append(entry)
    answer = {"schema_version": SCHEMA_VERSION, "files": entries, "summary": [], "dry": True}
    return {**answer, "answer_with": _options(entries), "unplaced": _unplaced(entries)}


def _entry(
    item: Given, result: FileResult, status: str, kept: Sequence[Any], notes: Sequence[str] | None = None
) -> dict[str, Any]:
    return {
        "file": item.name,
        "taken_for": result.taken_for.value,
        "why": result.why,
        "status": status,
        "results": [observation_dict(found) for found in kept],
        "questions": [question.to_dict() for question in result.questions],
        "warnings": [without_name(note, item.name) for note in (result.warnings if notes is None else notes)],
        "reduced": [dict(found) for found in result.reduced],
        "told": told_of([dict(found) for found in result.reduced]),
        "findings": finding_rows([dict(found) for found in result.reduced]),
        "extra": dict(result.extra),
    }


def _keep_context(
    opened: OpenCampaign, siblings: Sequence[Given], outcomes: Sequence[_Outcome], now: datetime
) -> None:
    """Keep a summary that lies beside stored curves, for their sections came from it."""
    folders = {Path(entry["file"]).parent for entry, _, _ in outcomes if entry["status"] == "stored"}
    for item in siblings:
        if item.data is None or Path(item.name).parent not in folders or opened.store.has_file(item.sha):
            continue
        stored = opened.store.put_file(item.data, item.name, "context")
        with opened.store.writing(now) as writer:
            writer.add_file(stored)


def _unplaced(files: Sequence[Mapping[str, Any]]) -> int:
    """Return how many results belong to no build: they are reported and not learned from."""
    return sum(not row["build"] for file in files for row in file["results"])


def _answer(outcomes: Sequence[_Outcome]) -> dict[str, Any]:
    entries = [entry for entry, _, _ in outcomes]
    grouped = [(_group(entry["file"]), item) for entry, items, _ in outcomes for item in items]
    ends = [
        (
            f"{item['run']} {item['build']}" if item["build"] else _group(entry["file"]),
            item["direction"],
            item["broke"],
        )
        for entry in entries
        if entry["status"] in ("stored", "already_stored")
        for item in entry["reduced"]
        if item.get("kind") == "curve"
    ]
    summary = with_breaks([*strength_rows(grouped), *built_rows(item for _, item in grouped)], ends)
    result = {"schema_version": SCHEMA_VERSION, "files": entries, "summary": summary}
    result |= {"answer_with": _options(entries), "unplaced": _unplaced(entries)}
    faults = [fault for _, _, fault in outcomes if fault is not None]
    kept = [
        entry for entry in entries if entry["status"] in ("stored", "already_stored") and entry["results"]
    ]
    stored = kept or [entry for entry in entries if entry["status"] in ("stored", "already_stored")]
    if faults and not stored:
        raise NothingStoredError(faults[0], result)
    return result


def _group(name: str) -> str:
    return Path(name).parent.name


# ---- what was given


def _unreadable(item: Given) -> FileResult:
    return FileResult(item.name, Kind.UNKNOWN, "", Status.REFUSED, error=item.fault)


def _replaced(
    opened: OpenCampaign, replaces: Sequence[tuple[str, str]], given: Sequence[Given]
) -> dict[str, Replaced]:
    """Return what files correct, by their names."""
    where, names = "--replaces", [item.name for item in given if not item.sibling]
    found: dict[str, Replaced] = {}
    for pattern, named in replaces:
        stored, meant = (
            find_stored(opened, named, where),
            [name for name in names if fits_name(name, pattern)],
        )
        if len(meant) != 1:
            what = f"{len(meant)} files would correct {named}"
            remedy = f"Name it: {where} {shlex.quote(f'{named}@NAME')}, once for each file that is corrected."
            raise InputError(where, what, "one file that corrects another", remedy)
        (name,) = meant
        if name in found or stored.sha in {other.sha for other in found.values()}:
            what = f"{name if name in found else named} stands twice"
            raise InputError(where, what, "one new file for one stored", "Leave one out.")
        found[name] = Replaced(
            stored.sha, tuple(row.id for row in opened.store.observations_from(stored.sha))
        )
    return found


# ---- what came of it


def _outcome(desk: Desk, item: Given, result: FileResult, replaced: Replaced, now: datetime) -> _Outcome:
    """Store one file whole, and return its entry, its observations and its fault."""
    fault: VoidlessError | None = result.error or (result.questions[0] if result.questions else None)
    status, kept = result.status.value, list(result.observations)
    notes = list(result.warnings)
    if item.data is not None and desk.opened.store.has_file(item.sha) and not replaced:
        # what is stored stands, whatever would be asked of it now
        kept = [row.observation for row in desk.opened.store.observations_from(item.sha)]
        notes += [] if result.error is None else [f"{_REFUSED_NOW} {result.error}"]
        status, fault, result = "already_stored", None, replace(result, questions=(), error=None)
    elif result.status is Status.OK:
        asked = None if replaced else desk.readings.ask(result)
        result = replace(result, questions=(asked,)) if asked else result
        status, kept, fault = ("question", [], asked) if asked else _keep(desk, item, result, replaced, now)
    notes += [*desk.notes, *unlikely(kept, desk.opened.material)] if status == "stored" else ()
    if status == "already_stored" and not _quantities(result.observations) <= _quantities(kept):
        notes.append(_OTHERWISE)
    if (
        status == "already_stored"
        and result.taken_for is Kind.PICTURE_SHEET
        and _other_frames(desk, item, result)
    ):
        notes.append(_FRAMES_SINCE)
    if status == "already_stored":
        notes += _same_content(desk, item, result, kept)
    if fault is not None and status not in ("question", "stored", "already_stored"):
        status = "refused"
    entry = _entry(item, result, status, kept if status.endswith("stored") else [], notes)
    if fault is not None and status == "refused":
        entry["error"] = fault.to_dict()
    return entry, kept if status.endswith("stored") else [], fault


def _same_content(desk: Desk, item: Given, result: FileResult, kept: Sequence[Observation]) -> list[str]:
    """Return that a file of another name has the same content, where it is so, and which labels it stands under."""
    names = [stored.name for stored in desk.opened.store.files() if stored.sha == item.sha]
    if item.name in names:
        return []
    new, old = (
        {" ".join(filter(None, (one.run, one.build))) for one in each} for each in (result.observations, kept)
    )
    other = (
        f" as {', '.join(sorted(old))}; if that is wrong, add --replaces {names[0]}"
        if new - old and old
        else ""
    )
    return [f"the same content as {names[0]}, which is stored{other}"]


def _other_frames(desk: Desk, item: Given, result: FileResult) -> bool:
    """Return whether a stored sheet was read with other frames than lie beside it now."""
    return kept_frames(desk.opened, item.sha) != result.extra.get("frames_sha256", "")


def _quantities(observations: Sequence[Any]) -> set[str]:
    return {observation.key.quantity for observation in observations}


def _keep(
    desk: Desk, item: Given, result: FileResult, replaced: Replaced, now: datetime
) -> tuple[str, list[Any], VoidlessError | None]:
    assert item.data is not None
    opened = desk.opened
    try:
        stored = opened.store.put_file(item.data, item.name, result.taken_for.value)
        kept = desk.file_results(result, stored, replaced, now)
    except InputError as fault:
        opened.store.forget_file(item.sha)
        located = fault if item.name in fault.where else replace_where(fault, item.name)
        return "refused", [], located
    desk.readings.add(item.name, result, kept)
    return "stored", kept, None


def replace_where(fault: InputError, name: str) -> InputError:
    """Return the same fault with the file's name in front of where it was found."""
    where = f"{name}: {fault.where}" if fault.where and fault.where != "records" else name
    return InputError(where, fault.what, fault.expected, fault.remedy)
