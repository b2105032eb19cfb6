"""Several files together: what each is, what it gives, what must be asked."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from voidless.errors import InputError, QuestionError
from voidless.measure.curves.read import scan_curves
from voidless.measure.files.archive import unpack
from voidless.measure.files.labels import folder_of
from voidless.measure.files.photo import photo_size
from voidless.measure.files.recognise import Taken, recognise
from voidless.measure.files.rows import column_name
from voidless.measure.files.sheets import read_sheets
from voidless.measure.results import Answers, FileResult, Kind, RawFile, Status
from voidless.measure.tables.columns import is_result_table
from voidless.measure.tables.read import read_result_table
from voidless.measure.tensile.join import CurveYield, curve_yield, find_session, summary_yield
from voidless.measure.tensile.summary import Summary, read_summary
from voidless.measure.weighing.columns import is_weighings
from voidless.measure.weighing.read import read_weighings

__all__ = ["take_files"]


@dataclass
class _Member:
    """One file, or one member of an archive, on its way to a result."""

    place: int
    file: RawFile
    taken: Taken
    result: FileResult | None = None
    yields: list[CurveYield] = field(default_factory=list)


def take_files(files: Sequence[RawFile], answers: Answers | None = None) -> list[FileResult]:
    """
    Return what each of several files gives; a strength summary is joined to the curves of its folder.

    Parameters
    ----------
    files : sequence of RawFile
        Files with their folders in their names, so that a summary finds its curves.
    answers : Answers or None
        What a person says because no file says it.

    Returns
    -------
    results : list of FileResult
        One a file, in their order; an error or a question of one file does not touch the others.
    """
    said = answers or Answers()
    members: list[_Member] = []
    opened: list[FileResult | Taken] = []
    for place, file in enumerate(files):
        try:
            taken = recognise(file.name, file.data)
            members += _opened(place, file, taken)
            opened.append(taken)
        except InputError as fault:
            opened.append(_refused(file.name, Taken(Kind.UNKNOWN, ""), fault))
    summaries = _summaries(members)
    # Curves first: a summary says which of its trials have one.
    for member in sorted(members, key=lambda member: member.taken.kind is not Kind.MACHINE_CURVE):
        if member.result is None:
            member.result = _taken(member, members, summaries, said)
    return [
        found
        if isinstance(found, FileResult)
        else _whole(file.name, found, [member for member in members if member.place == place])
        for place, (file, found) in enumerate(zip(files, opened, strict=True))
    ]


def _opened(place: int, file: RawFile, taken: Taken) -> list[_Member]:
    if taken.kind is Kind.ARCHIVE:
        return [
            _Member(place, inner, recognise(inner.name, inner.data)) for inner in unpack(file.name, file.data)
        ]
    if taken.kind is Kind.SPREADSHEET:
        return [_Member(place, file, _sheet_kind(file))]
    return [_Member(place, file, taken)]


def _sheet_kind(file: RawFile) -> Taken:
    """Return what a spreadsheet holds: by the column names of its sheets, else a curve."""
    for sheet in read_sheets(file.name, file.data):
        for row in sheet.rows[:60]:
            header = tuple(column_name(str(cell)) for cell in row if cell is not None)
            if is_weighings(header):
                return Taken(Kind.WEIGHINGS, f"columns of masses in sheet {sheet.title}")
            if is_result_table(header):
                return Taken(Kind.RESULT_TABLE, f"columns of a result table in sheet {sheet.title}")
    return Taken(Kind.MACHINE_CURVE, "a workbook without columns of results or masses")


def _refused(name: str, taken: Taken, fault: InputError) -> FileResult:
    if isinstance(fault, QuestionError):
        return FileResult(name, taken.kind, taken.why, Status.QUESTION, questions=(fault,))
    return FileResult(name, taken.kind, taken.why, Status.REFUSED, error=fault)


def _taken(
    member: _Member, members: Sequence[_Member], summaries: Mapping[str, Summary], said: Answers
) -> FileResult:
    try:
        if member.taken.kind is Kind.MACHINE_CURVE:
            return _take_curve(member, summaries, said)
        return _take_other(member, members, summaries, said)
    except InputError as fault:
        return _refused(member.file.name, member.taken, fault)


def _summaries(members: Sequence[_Member]) -> dict[str, Summary]:
    """Return the summary of each folder; of two in one folder the second is refused."""
    found: dict[str, Summary] = {}
    for member in members:
        if member.taken.kind is Kind.STRENGTH_SUMMARY:
            try:
                _add_summary(found, member.file)
            except InputError as fault:
                member.result = _refused(member.file.name, member.taken, fault)
    return found


def _add_summary(found: dict[str, Summary], file: RawFile) -> None:
    folder = folder_of(file.name)
    if folder in found:
        raise InputError(
            file.name,
            "a second summary in one folder",
            "one summary a folder, so that its curves are told from others",
            "Read one folder at a time, or keep the folders in the names.",
        )
    found[folder] = read_summary(file.name, file.data)


def _take_curve(member: _Member, summaries: Mapping[str, Summary], said: Answers) -> FileResult:
    name = member.file.name
    curves, questions = scan_curves(member.file.data, name, said.units)
    session_of = find_session(name, summaries)
    for curve in curves:
        found = curve_yield(curve, name, session_of, said)
        if found.question:
            questions.append(found.question)
        member.yields.append(found)
    return FileResult(
        name,
        member.taken.kind,
        member.taken.why,
        Status.QUESTION if questions else Status.OK,
        tuple(item for found in member.yields for item in found.observations),
        reduced=tuple(found.reduced for found in member.yields if found.reduced),
        questions=tuple(questions),
        warnings=tuple(dict.fromkeys(word for found in member.yields for word in found.warnings)),
    )


def _take_other(
    member: _Member, members: Sequence[_Member], summaries: Mapping[str, Summary], said: Answers
) -> FileResult:
    name, data, taken = member.file.name, member.file.data, member.taken
    base = FileResult(name, taken.kind, taken.why)
    if taken.kind is Kind.RESULT_TABLE:
        table = read_result_table(name, data, said.units)
        return replace(
            base,
            observations=table.observations,
            build_facts=table.builds,
            settings=table.settings,
            warnings=table.warnings,
        )
    if taken.kind is Kind.WEIGHINGS:
        weighed = read_weighings(name, data, said)
        return replace(
            base, observations=weighed.observations, reduced=weighed.reduced, warnings=weighed.warnings
        )
    if taken.kind is Kind.STRENGTH_SUMMARY:
        return _take_summary(base, summaries[folder_of(name)], members, said)
    if taken.kind is Kind.PHOTO:
        size = photo_size(data)
        pixels = {"width_px": str(size[0]), "height_px": str(size[1])} if size else {}
        return replace(base, extra=pixels, warnings=(f"{name}: a photo is kept, not yet measured",))
    raise InputError(
        name,
        f"not a measurement that is read: {taken.why}",
        "a result table, machine curves, a strength summary, weighings or a photo",
        "A G-code file is judged by `part`."
        if taken.kind is Kind.GCODE
        else "Export it as CSV with column names.",
    )


def _take_summary(
    base: FileResult, summary: Summary, members: Sequence[_Member], said: Answers
) -> FileResult:
    joined = [found for member in members for found in member.yields if found.summary is summary]
    found = summary_yield(base.file, summary, joined, said)
    return replace(
        base,
        status=Status.QUESTION if found.questions else Status.OK,
        observations=found.observations,
        reduced=found.reduced,
        questions=found.questions,
        warnings=found.warnings,
    )


def _whole(name: str, taken: Taken, members: Sequence[_Member]) -> FileResult:
    """Return the result of a file; with a question or an error nothing of it counts."""
    found = _joined(name, taken, members)
    if found.status is Status.OK:
        return found
    return replace(found, observations=(), build_facts=(), settings={})


def _joined(name: str, taken: Taken, members: Sequence[_Member]) -> FileResult:
    """Return the result of a file from those of its members."""
    results = [member.result for member in members if member.result is not None]
    if len(results) == 1:
        found = replace(results[0], file=name)
        if taken.kind in (Kind.ARCHIVE, Kind.SPREADSHEET):
            return replace(found, why=f"{taken.why}: {found.why}")
        return found
    faults = [result.error for result in results if result.error is not None]
    questions = tuple(question for result in results for question in result.questions)
    status = Status.REFUSED if faults else Status.QUESTION if questions else Status.OK
    settings: dict[str, Mapping[str, float]] = {}
    for result in results:
        settings.update(result.settings)
    return FileResult(
        name,
        taken.kind,
        taken.why,
        status,
        tuple(item for result in results for item in result.observations),
        tuple(item for result in results for item in result.build_facts),
        settings,
        tuple(item for result in results for item in result.reduced),
        questions,
        faults[0] if faults else None,
        tuple(word for result in results for word in result.warnings),
        {key: value for result in results for key, value in result.extra.items()},
    )
