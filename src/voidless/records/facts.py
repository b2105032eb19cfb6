"""The frozen values that the records take and give, beside those of `voidless.campaign.types`."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime

from voidless.campaign.types import BreakMode, BreakPlace, Observation
from voidless.records.canonical import Json

__all__ = [
    "BuildFact",
    "Check",
    "Derived",
    "Event",
    "Instrument",
    "ObservationRow",
    "PlannedBuild",
    "Problem",
    "RecordedSetting",
    "Session",
    "Specimen",
    "Spool",
    "StoredFile",
    "Use",
]


@dataclass(frozen=True)
class Spool:
    """One spool of a lot. `diameter_mm` is the measured mean diameter of its filament. [mm]"""

    label: str
    material: str = ""
    lot: str = ""
    colour: str = ""
    diameter_mm: float | None = None
    note: str = ""


@dataclass(frozen=True)
class Session:
    """One day of work: a block of the campaign, by its ordinal from 1."""

    ordinal: int
    label: str = ""
    operator: str = ""
    note: str = ""


@dataclass(frozen=True)
class Instrument:
    """Something that measures: a balance, a tensile rig, a camera on its stand."""

    label: str
    kind: str = ""
    resolution: str = ""
    note: str = ""


@dataclass(frozen=True)
class Check:
    """
    One check of an instrument against something known.

    Attributes
    ----------
    checked_at : datetime
        When it was checked, with time zone.
    deviation, unit : float or None, str
        Indication minus reference, in that unit.
    gain, offset : float or None
        Reading = gain x truth + offset, where the check found them. [1], [unit of the readings]
    gain_uncertainty, offset_uncertainty : float or None
        Standard uncertainties. [1], [unit of the readings]
    """

    instrument: str
    checked_at: datetime
    passed: bool
    deviation: float | None = None
    unit: str = ""
    note: str = ""
    gain: float | None = None
    offset: float | None = None
    gain_uncertainty: float | None = None
    offset_uncertainty: float | None = None


@dataclass(frozen=True)
class Use:
    """
    That the results of a raw file rest on an instrument.

    Attributes
    ----------
    instrument, source_sha : str
        Its label, and the hash of the file.
    quantity : str
        The one quantity of the file that is meant; empty means all.
    power : float or None
        How a result goes with the reading: 1 for a stress by its force, -1 by its area; None is not known. [1]
    reading : float or None
        What the instrument typically read. [unit of the readings]
    measured_at : datetime or None
        When it was used, with time zone.
    """

    instrument: str
    source_sha: str
    quantity: str = ""
    power: float | None = None
    reading: float | None = None
    measured_at: datetime | None = None


@dataclass(frozen=True)
class Specimen:
    """
    A test piece and its state; None or an empty text is "not stated".

    Attributes
    ----------
    label, run, build : str
        Its label within the build, and where it came from; empty is "not recorded".
    kind : str
        A name of the specimen catalogue.
    orientation : str
        `XY`, `XZ` or `ZX` (ISO 17295).
    thickness_mm, width_mm, section_mm2 : float or None
        As measured. [mm], [mm], [mm²]
    age_h : float or None
        Time from the end of the build to the test. [h]
    test_speed_mm_min : float or None
        [mm/min]
    bed_side, first_layer, top : str
        Which face was towards the bed, and the state of the first layer and of the top.
    """

    label: str
    run: str = ""
    build: str = ""
    kind: str = ""
    orientation: str = ""
    thickness_mm: float | None = None
    width_mm: float | None = None
    section_mm2: float | None = None
    break_place: BreakPlace | None = None
    break_mode: BreakMode | None = None
    conditioning: str = ""
    age_h: float | None = None
    test_speed_mm_min: float | None = None
    operator: str = ""
    bed_side: str = ""
    first_layer: str = ""
    top: str = ""
    polish: str = ""
    coating: str = ""
    annealing: str = ""


@dataclass(frozen=True)
class PlannedBuild:
    """One (build, run) that was proposed and has neither result, failure nor withdrawal."""

    run: str
    build: str
    order: int
    session: int
    position: int
    settings: Mapping[str, float]
    reason: str = ""
    origin: str = ""


@dataclass(frozen=True)
class BuildFact:
    """One thing logged about a build; a later fact of the same name supersedes an earlier one."""

    build: str
    name: str
    value: Json
    time: datetime
    source_sha: str = ""


@dataclass(frozen=True)
class RecordedSetting:
    """What a setting really was in a build, with its standard uncertainty. [unit of the setting]"""

    build: str
    name: str
    value: float
    sd: float | None
    source: str


@dataclass(frozen=True)
class StoredFile:
    """A raw file in the content store; `size` in bytes."""

    sha: str
    name: str
    size: int
    kind: str
    time: datetime


@dataclass(frozen=True)
class ObservationRow:
    """An observation with where it came from and what became of it."""

    id: str
    observation: Observation
    unit: str
    time: datetime
    method_version: str
    code_version: str
    source_sha: str = ""
    source_name: str = ""
    instrument: str = ""
    measured_at: datetime | None = None
    supersedes: str = ""
    superseded_by: str = ""
    withdrawn: str = ""

    @property
    def current(self) -> bool:
        """Whether nothing superseded it and nobody withdrew it."""
        return not self.superseded_by and not self.withdrawn


@dataclass(frozen=True)
class Derived:
    """A derived result, with the code version and the hashes of what it came from."""

    id: str
    kind: str
    version: int
    payload: Json
    inputs: tuple[str, ...]
    code_version: str
    time: datetime


@dataclass(frozen=True)
class Event:
    """Something that happened: a short name and its particulars."""

    kind: str
    time: datetime
    payload: Mapping[str, Json] = field(default_factory=dict)


@dataclass(frozen=True)
class Problem:
    """
    Something that a check of the whole store found.

    Attributes
    ----------
    kind : str
        `missing`, `damaged` or `database`: evidence is lost. `orphan` or `leftover`: harmless rest
        of an interrupted write.
    where, what, remedy : str
        As in an error.
    """

    kind: str
    where: str
    what: str
    remedy: str

    @property
    def harmless(self) -> bool:
        """Whether nothing that was recorded is lost."""
        return self.kind in {"orphan", "leftover"}
