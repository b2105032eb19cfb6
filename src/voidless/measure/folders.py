"""What the files of a folder say of each other: summaries, sections and the give of the machine."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from voidless.errors import InputError, QuestionError
from voidless.measure.curves.read import Curve, scan_curves
from voidless.measure.files.columns import read_table
from voidless.measure.files.labels import folder_of
from voidless.measure.files.recognise import Taken
from voidless.measure.readers import CONTEXTS
from voidless.measure.results import Answers, FileResult, Kind, RawFile, Status
from voidless.measure.tensile.compliance import Compliance
from voidless.measure.tensile.folder import Folder, bench_of, compliance_of, sections_of
from voidless.measure.tensile.join import CurveYield, find_session, section_known
from voidless.measure.tensile.summary import Summary, read_summary

__all__ = ["Member", "folders_of", "refused", "summaries_of"]


@dataclass
class Member:
    """One file, or one member of an archive, on its way to a result."""

    place: int
    file: RawFile
    taken: Taken
    result: FileResult | None = None
    framed: bool = False
    yields: list[CurveYield] = field(default_factory=list)
    curves: list[Curve] = field(default_factory=list)
    questions: list[QuestionError] = field(default_factory=list)


def folders_of(
    members: Sequence[Member], summaries: Mapping[str, Summary], said: Answers
) -> dict[str, Folder]:
    """Return what the files of each folder say of its curves; a context file that is wrong is refused."""
    tables: dict[str, dict[Kind, object]] = {}
    for member in members:
        layout = CONTEXTS.get(member.taken.kind)
        if layout is None:
            continue
        try:
            place = tables.setdefault(folder_of(member.file.name), {})
            own = said.of(member.file.name)
            table = read_table(member.file.name, member.file.data, layout, own)
            made = compliance_of(table) if member.taken.kind is Kind.COMPLIANCE else sections_of(table, own)
            if member.taken.kind in place:
                member.result = refused(member.file.name, member.taken, _second(member))
            else:
                place[member.taken.kind] = made
                member.result = _kept(member)
        except InputError as fault:
            member.result = refused(member.file.name, member.taken, fault)
    _scan(members, said)
    found = {}
    for name in {folder_of(member.file.name) for member in members}:
        place = tables.get(name, {})
        compliance, sections = place.get(Kind.COMPLIANCE), place.get(Kind.SECTIONS)
        folder = Folder(
            bench_of(said, compliance if isinstance(compliance, Compliance) else None),
            sections if isinstance(sections, dict) else {},
        )
        found[name] = folder.with_series(_by_direction(name, members, summaries, folder, said))
    return found


def _second(member: Member) -> InputError:
    what = f"a second {member.taken.kind.value} table in one folder"
    return InputError(member.file.name, what, "one a folder", "Read one folder at a time.")


def _kept(member: Member) -> FileResult:
    words = f"{member.file.name}: kept for the curves of its folder"
    return FileResult(member.file.name, member.taken.kind, member.taken.why, warnings=(words,))


def _scan(members: Sequence[Member], said: Answers) -> None:
    """Read the curves of every machine file once."""
    for member in members:
        if member.taken.kind is Kind.MACHINE_CURVE and member.result is None:
            try:
                member.curves, member.questions = scan_curves(
                    member.file.data, member.file.name, said.of(member.file.name).units
                )
            except InputError as fault:
                member.result = refused(member.file.name, member.taken, fault)


def _by_direction(
    name: str,
    members: Sequence[Member],
    summaries: Mapping[str, Summary],
    folder: Folder,
    said: Answers,
) -> dict[str, list[tuple[Curve, float]]]:
    """Return the curves of a folder with their sections, by direction."""
    known: dict[str, list[tuple[Curve, float]]] = {}
    for member in members:
        if folder_of(member.file.name) == name and not member.questions:
            summary = find_session(member.file.name, summaries)
            for curve in member.curves:
                try:
                    found = section_known(curve, member.file.name, summary, said, folder)
                except InputError:
                    found = None  # said when the curve itself is reduced
                if found is not None:
                    known.setdefault(found[0], []).append((curve, found[1]))
    return known


def summaries_of(members: Sequence[Member]) -> dict[str, Summary]:
    """Return the summary of each folder; of two in one folder the second is refused."""
    found: dict[str, Summary] = {}
    for member in members:
        if member.taken.kind is Kind.STRENGTH_SUMMARY:
            try:
                _add_summary(found, member.file)
            except InputError as fault:
                member.result = refused(member.file.name, member.taken, fault)
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


def refused(name: str, taken: Taken, fault: InputError) -> FileResult:
    """Return the result of a file that is asked about or wrong."""
    if isinstance(fault, QuestionError):
        return FileResult(name, taken.kind, taken.why, Status.QUESTION, questions=(fault,))
    return FileResult(name, taken.kind, taken.why, Status.REFUSED, error=fault)
