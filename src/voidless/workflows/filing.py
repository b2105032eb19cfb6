"""File the results of one raw file in the records, checked against runs and builds, all or nothing."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from voidless.campaign.types import Observation
from voidless.errors import InputError
from voidless.measure.quality.rounding import as_shown
from voidless.measure.results import BuildFacts, FileResult
from voidless.quantities import QUANTITIES, quantity, suggest
from voidless.records.facts import Session, Specimen, StoredFile
from voidless.records.writer import Writer
from voidless.workflows.equal_readings import StoredReadings
from voidless.workflows.opening import OpenCampaign
from voidless.workflows.readings import Batch, keep_batch, keep_reading
from voidless.workflows.reductions import keep_reductions
from voidless.workflows.tying import Instruments, tie

__all__ = ["Desk", "Replaced", "find_stored", "observation_dict", "result_dict", "with_conditions"]

_SPECIMEN_FIELDS = frozenset(Specimen.__dataclass_fields__) - {
    "label",
    "run",
    "build",
    "break_place",
    "break_mode",
}


def observation_dict(observation: Observation) -> dict[str, Any]:
    """Return an observation as the row that JSON shows when its file is read."""
    return {
        **result_dict(observation),
        "break_place": observation.break_place.value if observation.break_place else None,
        "break_mode": observation.break_mode.value if observation.break_mode else None,
    }


def result_dict(observation: Observation) -> dict[str, Any]:
    """Return what was measured, of what, in which way, as JSON shows it everywhere."""
    key = observation.key
    return {
        "run": observation.run,
        "build": observation.build,
        "specimen": observation.specimen,
        "response": key.quantity,
        "feature": key.feature,
        "method": key.method,
        "conditions": dict(key.conditions),
        "value": observation.value,
        "unit": QUANTITIES[key.quantity].unit,
        "uncertainty": observation.uncertainty,
        "shown": list(as_shown(observation.value, observation.uncertainty)),
        "bound": observation.bound.value,
        "assumed": observation.assumed,
    }


def find_stored(opened: OpenCampaign, named: str, where: str) -> StoredFile:
    """
    Return the one stored file that a person means by its name or checksum; of several, the one whose results stand.

    Raises
    ------
    InputError
        None fits, or several do.
    """
    known = opened.store.files()
    fits = [
        stored
        for stored in known
        if named in (stored.sha, stored.name) or (len(named) >= 8 and stored.sha.startswith(named))
    ] or [stored for stored in known if Path(stored.name).name == Path(named).name]
    if len({stored.sha for stored in fits}) > 1:  # one that was corrected is not meant
        fits = [stored for stored in fits if opened.store.observations_from(stored.sha)] or fits
    if len({stored.sha for stored in fits}) != 1:
        what = f"{named!r} names {len(fits)} stored files"
        raise InputError(where, what, "one stored file", "Name it by its checksum, as the report lists it.")
    return fits[0]


_Reading = tuple[str, str, str]
"""Folder, specimen and quantity of a result without build: a later one takes its place."""


@dataclass(frozen=True)
class Replaced:
    """The stored file that another one corrects, and the ids of its observations; empty where it corrects none."""

    sha: str = ""
    observations: tuple[str, ...] = ()

    def __bool__(self) -> bool:
        """Return whether something is corrected."""
        return bool(self.sha)


class Desk:
    """
    Where the rows of files meet the campaign's runs and builds; it serves one file after another.

    Parameters
    ----------
    opened : OpenCampaign
        The campaign; what it holds is read once, and again after a file that was refused.
    batch : Batch
        The files that are read together and what was answered.
    batch_id : str
        Id of its record; empty where it is put on record with the first of the files.
    instruments : Instruments or None
        The register, and which instruments a person says that files rest on.
    distinct : sequence of str
        Patterns of names of files whose readings are their own, though equal ones are stored.

    Attributes
    ----------
    notes : list of str
        What to say of the instruments of the last file.
    readings : StoredReadings
        What is stored already.
    """

    def __init__(
        self,
        opened: OpenCampaign,
        batch: Batch,
        batch_id: str = "",
        instruments: Instruments | None = None,
        distinct: Sequence[str] = (),
    ) -> None:
        self.opened = opened
        self.readings = StoredReadings(opened, distinct)
        self.instruments = instruments or Instruments({})
        self.notes: list[str] = []
        self.folder = ""
        self.batch, self.batch_id = batch, batch_id
        self._look()

    def _look(self) -> None:
        self.runs = {run.label: run for run in self.opened.store.runs()}
        self.builds: dict[str, list[str]] = {}
        for build in self.opened.store.builds():
            self.builds.setdefault(build.run, []).append(build.label)
        self.sessions = self._sessions()
        self.origin_plan = bool(self.runs) and self.opened.store.latest_derived("plan") is not None
        self._unbuilt: dict[_Reading, str] | None = None
        self._fresh: dict[_Reading, str] = {}

    def _sessions(self) -> dict[str, int]:
        found = self.opened.store.sessions()
        return {session.label or str(session.ordinal): session.ordinal for session in found}

    def file_results(
        self, result: FileResult, sha: str, replaced: Replaced, now: datetime
    ) -> list[Observation]:
        """
        Store what one file gave in one transaction and return the observations as filed.

        Parameters
        ----------
        result : FileResult
            What the file gave.
        sha : str
            Its hash.
        replaced : Replaced
            What it corrects.
        now : datetime
            Time of the entries.

        Raises
        ------
        InputError
            A run is not known or a build did not print it; nothing is stored.
        """
        self.folder, self._fresh = Path(result.file).parent.name, {}
        try:
            with self.opened.store.writing(now) as writer:
                writer.add_file(sha)
                for old in replaced.observations:
                    writer.withdraw_observation(old, f"corrected by {sha[:12]}")
                self._make_runs(writer, result.settings)
                for facts in result.build_facts:
                    self._file_facts(writer, facts, sha)
                filed = [self.file(writer, observation, sha) for observation in result.observations]
                keep_reductions(writer, result, sha)
                batch = self.batch_id or keep_batch(writer, self.batch)
                keep_reading(writer, result, sha, batch, replaced.sha)
                self.notes = tie(writer, self.instruments, result, sha, filed)
                writer.add_event("read", {"file": result.file, "sha256": sha, "results": len(filed)})
        except BaseException:
            self._look()  # what it remembered of this file was undone
            raise
        self.batch_id = batch
        self._remember(result)
        return filed

    def _remember(self, result: FileResult) -> None:
        """Take over what the file added, so that the next one meets it."""
        if result.settings.keys() - self.runs.keys():
            self.runs = {run.label: run for run in self.opened.store.runs()}
        self.sessions = self._sessions()
        if self._unbuilt is not None:
            self._unbuilt |= self._fresh

    # ---- runs

    def _make_runs(self, writer: Writer, described: Mapping[str, Mapping[str, float]]) -> None:
        """Make the runs that a table describes by factor columns, or check them against the plan."""
        for label, given in described.items():
            known = self.runs.get(label)
            if known is not None:
                self._check_settings(label, known.settings, given)
            elif self.origin_plan:
                raise self._unknown_run(label)
            else:
                settings = self._complete(label, given)
                writer.add_run(
                    settings, reason="from a table with factor columns", origin="table", label=label
                )
                self.builds.setdefault(label, [])

    def _check_settings(self, label: str, known: Mapping[str, float], given: Mapping[str, float]) -> None:
        for name, value in given.items():
            planned = known.get(name)
            if planned is not None and abs(value - planned) > 0.51 * QUANTITIES[name].resolution:
                raise InputError(
                    f"run {label}",
                    f"{name} = {value:g} but the run was planned at {planned:g}",
                    "the settings of the plan",
                    "Correct the table, or log what really was: voidless log DIR realised ...",
                )

    def _complete(self, label: str, given: Mapping[str, float]) -> dict[str, float]:
        missing = [name for name in self.opened.space.names if name not in given]
        if missing:
            what = f"no column for {', '.join(missing)}"
            raise InputError(
                f"run {label}", what, "one column per factor of the campaign", "Add the columns."
            )
        for name, value in given.items():
            quantity(name, f"run {label}").check(value, f"run {label}")
        return {**self.opened.fixed, **given}

    def _unknown_run(self, label: str) -> InputError:
        known = tuple(self.runs)
        expected = f"a run of the plan ({known[0]} to {known[-1]})" if known else "a run of the plan"
        remedy = suggest(label, known) or "Plan it first, or add factor columns to a campaign without plan."
        return InputError(f"run {label}", f"run {label!r} is not known", expected, remedy)

    # ---- builds

    def _build(self, writer: Writer, run: str, build: str, order: int | None = None, session: int = 1) -> str:
        """Return the build's label; an unknown build of a known run is made."""
        if run not in self.builds and run not in self.runs:
            raise self._unknown_run(run)
        known = self.builds.setdefault(run, [])
        if not build:
            if len(known) > 1:
                what = f"run {run} has builds {', '.join(known)}, and the row names none"
                raise InputError(f"run {run}", what, "the build's label", "Fill the column build.")
            if known:
                return known[0]
            build = writer.add_build([run], order, session, planned=False)
        label, _ = writer.ensure_build(run, build, order, session)
        if label not in known:
            known.append(label)
        return label

    def _file_facts(self, writer: Writer, facts: BuildFacts, sha: str) -> None:
        """Store what a table says of a build: exposure, humidity, outcome, order, session."""
        session = self.session(writer, facts.session)
        label = self._build(writer, facts.run, facts.build, facts.order, session or 1)
        said = {
            "exposure_h": facts.exposure_h,
            "humidity_pct": facts.humidity_pct,
            "outcome": facts.outcome,
            "order": facts.order,
            "session": session,
        }
        for name, value in said.items():
            if value is not None:
                writer.set_build_fact(label, self.fact_name(name, facts.run, label), value, sha)

    def fact_name(self, name: str, run: str, build: str) -> str:
        """Return under which name records hold a fact: the outcome of one run of a shared bed is its own."""
        carried = sum(build in labels for labels in self.builds.values())
        return f"{name} {run}" if name == "outcome" and run and carried > 1 else name

    def session(self, writer: Writer, text: str) -> int | None:
        """Return the ordinal of a session by its label, made where it is new; None where no text says one."""
        if not text:
            return None
        if text in self.sessions:
            return self.sessions[text]
        ordinal = (
            int(text) if text.isdigit() and int(text) > 0 else max(self.sessions.values(), default=0) + 1
        )
        writer.add_session(Session(ordinal, label=text))
        self.sessions[text] = ordinal
        return ordinal

    # ---- observations

    def file(self, writer: Writer, observation: Observation, sha: str) -> Observation:
        """Return one observation as filed; without build it takes the place of an earlier one of its folder."""
        run, build = observation.run, observation.build
        if run:
            build = self._build(writer, run, build)
        elif build:
            run = self._run_of(build)
        filed = replace(with_conditions(observation, self.opened), run=run, build=build)
        key = (self.folder, filed.specimen, filed.key.quantity)
        twin = None if build else self._without_build().pop(key, None)
        if twin is not None:
            writer.withdraw_observation(twin, "read again from another file of the same folder")
        own = filed.extra.get("instrument", "")
        row_id = writer.add_observation(
            filed, sha, instrument=own if own in self.instruments.known else "", measured_at=_measured(filed)
        )
        if not build and filed.specimen:
            self._fresh[key] = row_id
        if filed.specimen and (filed.break_place or filed.break_mode or filed.extra):
            writer.add_specimen(_specimen(filed))
        return filed

    def _without_build(self) -> dict[_Reading, str]:
        """Return ids of results without build by folder, specimen and quantity; looked up when first needed."""
        if self._unbuilt is None:
            self._unbuilt = {
                (
                    Path(row.source_name).parent.name,
                    row.observation.specimen,
                    row.observation.key.quantity,
                ): row.id
                for row in self.opened.store.find_observations(build="")
                if row.observation.specimen
            }
        return self._unbuilt

    def _run_of(self, build: str) -> str:
        found = [run for run, builds in self.builds.items() if build in builds]
        if len(found) != 1:
            what = f"build {build!r} printed {len(found)} runs" if found else f"build {build!r} is not known"
            raise InputError(f"build {build}", what, "a row that names run and build", "Fill the column run.")
        return found[0]


def _measured(observation: Observation) -> datetime | None:
    """Return when a row says that it was measured; None where it does not say it as a date."""
    try:
        found = datetime.fromisoformat(observation.extra.get("date", ""))
    except ValueError:
        return None
    return found if found.tzinfo else found.replace(tzinfo=UTC)


def with_conditions(observation: Observation, opened: OpenCampaign) -> Observation:
    """Return an observation with the campaign's method and conditions where it states none, as assumed."""
    key = observation.key
    stated = dict(opened.campaign.conditions.get(key.quantity, {}))
    method = key.method or stated.pop("method", "")
    stated.pop("method", None)
    conditions = {**stated, **dict(key.conditions)}
    assumed = observation.assumed or method != key.method or len(conditions) > len(key.conditions)
    key = replace(key, method=method, conditions=tuple(sorted(conditions.items())))
    return replace(observation, key=key, assumed=assumed)


def _specimen(observation: Observation) -> Specimen:
    said: dict[str, Any] = {
        name: text for name, text in observation.extra.items() if name in _SPECIMEN_FIELDS
    }
    for name in ("age_h", "test_speed_mm_min", "thickness_mm", "width_mm", "section_mm2"):
        if name in said:
            said[name] = float(said[name])
    return Specimen(
        observation.specimen,
        observation.run,
        observation.build,
        break_place=observation.break_place,
        break_mode=observation.break_mode,
        **said,
    )
