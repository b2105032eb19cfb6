"""Several files together: what each is, what it gives, what must be asked."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from voidless.errors import ComputationError, InputError, QuestionError
from voidless.measure.curves.read import Curve
from voidless.measure.files.archive import unpack
from voidless.measure.files.camera_raw import refusal
from voidless.measure.files.labels import folder_of
from voidless.measure.files.photo import photo_size
from voidless.measure.files.recognise import CAMERA_RAW, Taken, recognise, table_kind
from voidless.measure.files.rows import column_name
from voidless.measure.files.sheets import Sheet, read_sheets
from voidless.measure.flexure.read import read_flexure
from voidless.measure.folders import Member, folders_of, refused, summaries_of
from voidless.measure.optics.matched import with_matched
from voidless.measure.pictures import MEASURED_PHOTOS, frame_names, read_photo, read_sheet
from voidless.measure.readers import TABLES
from voidless.measure.results import Answers, FileResult, Kind, RawFile, Reading, Status
from voidless.measure.tables.read import read_result_table
from voidless.measure.tensile.folder import Folder, bench_of
from voidless.measure.tensile.join import curve_yield, find_session
from voidless.measure.tensile.session import summary_yield
from voidless.measure.tensile.summary import Summary
from voidless.measure.tightness.expansion import volumes_by_name
from voidless.measure.weighing.read import read_weighings

__all__ = ["take_files"]

_INSTRUMENTS = ("instrument", "load cell", "force cell")
"""Labels in the head of a machine's file that name its instrument, lower case."""


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
    members: list[Member] = []
    opened: list[FileResult | Taken] = []
    for place, file in enumerate(files):
        try:
            taken = _recognised(file, said)
            members += _opened(place, file, taken, said)
            opened.append(taken)
        except InputError as fault:
            opened.append(refused(file.name, Taken(Kind.UNKNOWN, ""), fault))
    _mark_frames(members)
    said = _with_volumes(members, said)
    summaries = summaries_of(members)
    folders = folders_of(members, summaries, said)
    # Curves first: a summary says which of its trials have one.
    for member in sorted(members, key=lambda member: member.taken.kind is not Kind.MACHINE_CURVE):
        if member.result is None:
            member.result = _taken(member, members, summaries, folders, said)
    return with_matched(
        [
            found
            if isinstance(found, FileResult)
            else _whole(file.name, found, [member for member in members if member.place == place])
            for place, (file, found) in enumerate(zip(files, opened, strict=True))
        ]
    )


def _with_volumes(members: Sequence[Member], said: Answers) -> Answers:
    """Return the answers with the volumes of vessels that are measured among the files."""
    for member in members:
        if member.taken.kind is Kind.EXPANSION:
            member.result = _taken(member, members, {}, {}, said)
            said = said.with_volumes(volumes_by_name(member.result.reduced))
    return said


def _recognised(file: RawFile, said: Answers) -> Taken:
    """Return what a file is: what a person says comes before what its content shows."""
    told = said.kind_of(file.name)
    return (
        Taken(told[0], f"said so (--as {told[0].value}={told[1]})")
        if told
        else recognise(file.name, file.data)
    )


def _opened(place: int, file: RawFile, taken: Taken, said: Answers) -> list[Member]:
    if taken.kind is Kind.ARCHIVE:
        return [Member(place, inner, _recognised(inner, said)) for inner in unpack(file.name, file.data)]
    if taken.kind is Kind.SPREADSHEET:
        return [Member(place, file, _sheet_kind(file))]
    return [Member(place, file, taken)]


def _sheet_kind(file: RawFile) -> Taken:
    """Return what a spreadsheet holds: by the column names of its one sheet with a table, else a curve."""
    found = [
        (sheet.title, kind)
        for sheet in read_sheets(file.name, file.data)
        if (kind := _table_of(sheet)) is not None
    ]
    if len(found) > 1:
        shown = ", ".join(f"{title}: {kind.kind.value}" for title, kind in found)
        raise InputError(
            file.name,
            f"tables on {len(found)} sheets ({shown})",
            "one visible sheet with a table in a workbook",
            "Save each as a file of its own, or hide the sheets that do not count.",
        )
    if found:
        ((title, kind),) = found
        return Taken(kind.kind, f"{kind.why} in sheet {title}")
    return Taken(Kind.MACHINE_CURVE, "a workbook without columns of results or masses")


def _table_of(sheet: Sheet) -> Taken | None:
    for row in sheet.rows[:60]:
        header = tuple(column_name(str(cell)) for cell in row if cell is not None)
        if found := table_kind(header):
            return found
    return None


def _taken(
    member: Member,
    members: Sequence[Member],
    summaries: Mapping[str, Summary],
    folders: Mapping[str, Folder],
    said: Answers,
) -> FileResult:
    said = said.of(member.file.name)
    try:
        if member.taken.kind is Kind.MACHINE_CURVE:
            folder = folders[folder_of(member.file.name)]
            own = replace(folder, bench=bench_of(said, folder.bench.compliance))
            return _take_curve(member, summaries, own, said)
        return _take_other(member, members, summaries, said)
    except QuestionError as fault:
        return refused(member.file.name, member.taken, fault)
    except (InputError, ComputationError) as fault:
        name = member.file.name
        where = fault.where if name in fault.where else f"{name}, {fault.where}"
        return refused(name, member.taken, InputError(where, fault.what, fault.expected, fault.remedy))


def _take_curve(
    member: Member, summaries: Mapping[str, Summary], folder: Folder, said: Answers
) -> FileResult:
    name = member.file.name
    questions = list(member.questions)
    session_of = find_session(name, summaries)
    for curve in member.curves:
        found = curve_yield(curve, name, session_of, said, folder)
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
        extra=_instrument(member.curves),
    )


def _instrument(curves: Sequence[Curve]) -> dict[str, str]:
    """Return the one instrument that the head of a machine's file states, if it states one."""
    stated = {
        text.strip()
        for curve in curves
        for label, text in curve.stated.items()
        if label.strip().lower() in _INSTRUMENTS and text.strip()
    }
    return {"instrument": stated.pop()} if len(stated) == 1 else {}


def _take_other(
    member: Member, members: Sequence[Member], summaries: Mapping[str, Summary], said: Answers
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
    for table_of in TABLES:
        if taken.kind is table_of.kind and table_of.read is not None:
            reading = table_of.read(name, data, said)
            return _with_reading(base, reading)
    if taken.kind is Kind.FLEXURE_CURVE:
        return _with_reading(base, read_flexure(name, data, said))
    if taken.kind is Kind.STRENGTH_SUMMARY:
        return _take_summary(base, summaries[folder_of(name)], members, said)
    if taken.kind is Kind.PICTURE_SHEET:
        reading, frames = read_sheet(name, data, [each.file for each in members], said)
        return replace(_with_reading(base, reading), extra=frames)
    if taken.kind in MEASURED_PHOTOS:
        return _with_reading(base, read_photo(taken.kind, name, data, said))
    if taken.kind is Kind.PHOTO:
        return _take_photo(base, data, member.framed)
    raise InputError(
        name,
        f"not a measurement that is read: {taken.why}",
        "a result table, machine curves, a strength summary, weighings or a photo",
        "A G-code file is judged by `part`."
        if taken.kind is Kind.GCODE
        else "Export it as CSV with column names.",
    )


def _mark_frames(members: Sequence[Member]) -> None:
    """Note of every photo whether a sheet of pictures names it."""
    sheets = [each.file for each in members if each.taken.kind is Kind.PICTURE_SHEET]
    named = frozenset[str]().union(*(frame_names(sheet.name, sheet.data) for sheet in sheets))
    for member in members:
        member.framed = member.taken.kind is Kind.PHOTO and member.file.name in named


def _take_photo(base: FileResult, data: bytes, framed: bool) -> FileResult:
    """Return a photo as a frame of the sheet that names it, or as kept only."""
    size = photo_size(data)
    pixels = {"width_px": str(size[0]), "height_px": str(size[1])} if size else {}
    if framed:
        return replace(base, why=f"{base.why}; a frame of a sheet of pictures", extra=pixels)
    words = (
        f"kept, not measured; a sheet of pictures says what it shows, or --as {', '.join(MEASURED_PHOTOS)}"
    )
    if base.why == CAMERA_RAW:
        words = f"kept, not measured: {CAMERA_RAW}. {refusal(base.file).remedy}"
    return replace(base, extra=pixels, warnings=(f"{base.file}: {words}",))


def _with_reading(base: FileResult, reading: Reading) -> FileResult:
    return replace(
        base, observations=reading.observations, reduced=reading.reduced, warnings=reading.warnings
    )


def _take_summary(base: FileResult, summary: Summary, members: Sequence[Member], said: Answers) -> FileResult:
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


def _whole(name: str, taken: Taken, members: Sequence[Member]) -> FileResult:
    """Return the result of a file; with a question or an error nothing of it counts."""
    found = _joined(name, taken, members)
    if found.status is Status.OK:
        return found
    return replace(found, observations=(), build_facts=(), settings={})


def _joined(name: str, taken: Taken, members: Sequence[Member]) -> FileResult:
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
