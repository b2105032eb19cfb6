"""The values that come out of reading files, and what a person may answer beforehand."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from enum import StrEnum
from fnmatch import fnmatchcase

from voidless.campaign.types import BuildOutcome, Observation
from voidless.errors import InputError, QuestionError

__all__ = ["Answers", "BuildFacts", "FileResult", "Kind", "RawFile", "Reading", "Status", "fits_name"]


class Kind(StrEnum):
    """What a file is taken for."""

    RESULT_TABLE = "result_table"
    MACHINE_CURVE = "machine_curve"
    STRENGTH_SUMMARY = "strength_summary"
    WEIGHINGS = "weighings"
    MOISTURE = "moisture"
    FLEXURE_CURVE = "flexure_curve"
    COMPLIANCE = "compliance"
    SECTIONS = "sections"
    IMPACT = "impact"
    PRESSURE = "pressure"
    EXPANSION = "expansion"
    BUBBLES = "bubbles"
    SIZES = "sizes"
    HEIGHTS = "heights"
    PROFILE = "profile"
    PRECISION = "precision"
    POINTS = "points"
    REALISED = "realised"
    FEED = "feed"
    FILAMENT = "filament"
    FAN = "fan"
    GAP = "gap"
    LAG = "lag"
    PICTURE_SHEET = "picture_sheet"
    MICROGRAPH = "micrograph"
    BUBBLE_PHOTO = "bubble_photo"
    LAYER_PHOTO = "layer_photo"
    SPREADSHEET = "spreadsheet"
    ARCHIVE = "archive"
    PHOTO = "photo"
    GCODE = "gcode"
    UNKNOWN = "unknown"


class Status(StrEnum):
    """What became of a file."""

    OK = "ok"
    QUESTION = "question"
    REFUSED = "refused"


@dataclass(frozen=True)
class RawFile:
    """A file as it came: its name, with folders where they matter, and its bytes."""

    name: str
    data: bytes = field(repr=False)


@dataclass(frozen=True)
class Answers:
    """
    What a person says because no file says it.

    Attributes
    ----------
    units : mapping of str to str
        Unit by column, channel, header fact or response: `{"Force": "N"}`.
    sections : mapping of str to float
        Cross-section by direction (`xy`, `across`, `z`) or by curve name; the empty name is for every
        curve. A section that a file states itself always comes first. [mm²]
    facts : mapping of str to float
        Further facts by a name of `measure.files.facts`. [unit in the name]
    kinds : tuple of (str, Kind)
        Patterns of file names, as in `*bend*.csv`, and what those files are.
    only : tuple of (str, str, str, str or float)
        What holds for files of a name alone: pattern, `units`, `facts` or `method`, name and value; the last that fits
        rules.
    method : str
        Method of rows that state none.
    strength_method : str
        Method of strengths from curves.
    """

    units: Mapping[str, str] = field(default_factory=dict)
    sections: Mapping[str, float] = field(default_factory=dict)
    facts: Mapping[str, float] = field(default_factory=dict)
    kinds: tuple[tuple[str, Kind], ...] = ()
    only: tuple[tuple[str, str, str, str | float], ...] = ()
    method: str = ""
    strength_method: str = "maximum"

    def of(self, name: str) -> Answers:
        """Return what is answered for a file of this name."""
        fits = [item for item in self.only if fits_name(name, item[0])]
        if not fits:
            return self
        units = {key: str(value) for _, field_name, key, value in fits if field_name == "units"}
        facts = {key: float(value) for _, field_name, key, value in fits if field_name == "facts"}
        method = next(
            (str(value) for _, field_name, _, value in reversed(fits) if field_name == "method"), ""
        )
        return replace(
            self,
            units={**self.units, **units},
            facts={**self.facts, **facts},
            method=method or self.method,
        )

    def with_more(self, more: Answers) -> Answers:
        """Return these answers with further ones; where both answer the same, the further ones rule."""
        return replace(
            self,
            units={**self.units, **more.units},
            sections={**self.sections, **more.sections},
            facts={**self.facts, **more.facts},
            kinds=(*self.kinds, *more.kinds),
            only=(*self.only, *more.only),
        )

    def with_volumes(self, found: tuple[tuple[str, str, str, float], ...]) -> Answers:
        """Return these answers with measured volumes of vessels; a volume that a person says stands before them."""
        return self if "volume_cm3" in self.facts else replace(self, only=(*found, *self.only))

    def kind_of(self, name: str) -> tuple[Kind, str] | None:
        """Return the kind that a person says a file is, and by which pattern; the last pattern that fits rules."""
        fits = [(kind, pattern) for pattern, kind in self.kinds if fits_name(name, pattern)]
        return fits[-1] if fits else None

    def unit_of(self, *names: str) -> str | None:
        """Return the unit answered for the first of several names, whatever their case."""
        known = {key.strip().lower(): value for key, value in self.units.items()}
        return next((known[name.strip().lower()] for name in names if name.strip().lower() in known), None)


def fits_name(name: str, pattern: str) -> bool:
    """Return whether a pattern means a file, by its path or by its own name."""
    path = name.replace("\\", "/")
    return fnmatchcase(path, pattern) or fnmatchcase(path.rpartition("/")[2], pattern)


@dataclass(frozen=True)
class Reading:
    """What one table or record gave, before it becomes a file's result; fields as in `FileResult`."""

    observations: tuple[Observation, ...] = ()
    reduced: tuple[Mapping[str, object], ...] = ()
    warnings: tuple[str, ...] = ()

    @classmethod
    def joined(cls, parts: Sequence[Reading]) -> Reading:
        """Return what several records of one file gave; a word of all of them once."""
        return cls(
            tuple(item for part in parts for item in part.observations),
            tuple(item for part in parts for item in part.reduced),
            tuple(dict.fromkeys(word for part in parts for word in part.warnings)),
        )


@dataclass(frozen=True)
class BuildFacts:
    """What a table says of a build beside its results; None and empty are "not said"."""

    run: str
    build: str
    exposure_h: float | None = None
    humidity_pct: float | None = None
    outcome: BuildOutcome | None = None
    order: int | None = None
    session: str = ""


@dataclass(frozen=True)
class FileResult:
    """
    What one file gave.

    Attributes
    ----------
    file : str
        Name as it came.
    taken_for : Kind
        What the file is.
    why : str
        By what it was recognised.
    status : Status
        A file is taken whole or not at all: with a question or an error nothing of it counts.
    observations : tuple of Observation
        Results.
    build_facts : tuple of BuildFacts
        Facts of builds that the file states.
    settings : mapping of str to mapping
        Settings by run, where the file has columns for them. [unit in the name]
    reduced : tuple of mapping
        One plain mapping a curve, weighing or summary: numbers, where each came from, flags.
    questions : tuple of QuestionError
        What only a person can answer.
    error : InputError or None
        Why the file was refused.
    warnings : tuple of str
        What a person should know although the file was taken.
    extra : mapping of str to str
        Further facts (pixels of a photo, earlier sessions).
    """

    file: str
    taken_for: Kind
    why: str = ""
    status: Status = Status.OK
    observations: tuple[Observation, ...] = ()
    build_facts: tuple[BuildFacts, ...] = ()
    settings: Mapping[str, Mapping[str, float]] = field(default_factory=dict)
    reduced: tuple[Mapping[str, object], ...] = ()
    questions: tuple[QuestionError, ...] = ()
    error: InputError | None = None
    warnings: tuple[str, ...] = ()
    extra: Mapping[str, str] = field(default_factory=dict)
