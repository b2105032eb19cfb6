"""Everything that can be recorded, inside one transaction."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime

from voidless.campaign.types import Exposure, Observation
from voidless.records import history, read_results, spools, write_facts, write_plan, write_results
from voidless.records.canonical import Json
from voidless.records.facts import Check, Instrument, ObservationRow, Session, Specimen, Spool, Use
from voidless.records.labels import BUILD, canonical_label
from voidless.records.ledger import Ledger

__all__ = ["Writer"]


class Writer:
    """
    One transaction of `Store.writing`: all of it is kept, or nothing.

    Nothing is ever changed or deleted: what corrects an earlier entry is written beside it, and the
    later one rules. Every method raises `InputError` for what is unknown or impossible; the
    transaction is then undone.
    """

    def __init__(self, ledger: Ledger) -> None:
        self._ledger = ledger

    def add_run(
        self, settings: Mapping[str, float], reason: str = "", origin: str = "plan", label: str | None = None
    ) -> str:
        """
        Return the label of a new run: the next `R01`, or the one that the caller names.

        Parameters
        ----------
        settings : mapping of str to float
            Settings by name. [unit of the setting]
        reason, origin : str
            Why it is proposed, and by what (`plan`, `next`, `table`).
        """
        return write_plan.add_run(self._ledger, settings, reason, origin, label)

    def add_build(
        self,
        runs: str | Sequence[str],
        order: int | None = None,
        session: int = 1,
        positions: Sequence[int] | None = None,
        *,
        planned: bool = True,
        layout: str = "",
        label: str | None = None,
    ) -> str:
        """
        Return the label of a new build: the next `B01`, or the one that the caller names.

        Parameters
        ----------
        runs : str or sequence of str
            The run or runs that it prints.
        order : int or None
            Position in time within the campaign, from 1; None puts it after all others.
        session : int
            Ordinal of the session; it is made when it is new.
        positions : sequence of int or None
            Position of each run on the bed; None numbers them from 1.
        planned : bool
            Whether it is a proposal, not something that was printed already.
        layout : str
            Label of a bed layout.
        """
        names = [runs] if isinstance(runs, str) else list(runs)
        return write_plan.add_build(self._ledger, names, order, session, positions, planned, layout, label)

    def ensure_build(
        self, run: str, build: str, order: int | None = None, session: int = 1
    ) -> tuple[str, bool]:
        """
        Return the canonical label of a build, and whether it is new.

        A build that is not known is made, as one printed without a plan.

        Raises
        ------
        InputError
            The run is not known, or the known build did not print it.
        """
        label = canonical_label(build, BUILD)
        run_id = write_plan.find_run(self._ledger, run)
        if write_plan.has_build(self._ledger, label):
            write_plan.must_print(self._ledger, run_id, run, label)
            return label, False
        return self.add_build(run, order, session, planned=False, label=label), True

    def set_build_fact(self, build: str, name: str, value: object, source_sha: str = "") -> None:
        """
        Record a fact of a build; the latest of each name rules.

        Parameters
        ----------
        build : str
            Label of the build.
        name : str
            `outcome`, `started`, `ended`, `exposure_h`, `humidity_pct`, `order`, `session`, `spool`,
            `operator` or `note` (the table `write_facts.BUILD_FACTS`); `outcome RUN` of one run of a shared bed.
        value : object
            What the name asks for: a `BuildOutcome`, a time, a number or a text.
        source_sha : str
            Hash of the file that says so, if a file does.
        """
        write_facts.set_build_fact(self._ledger, build, name, value, source_sha)

    def set_realised(
        self, build: str, name: str, value: float, sd: float | None = None, source: str = ""
    ) -> None:
        """Record what a setting really was in a build, with its standard uncertainty and its source."""
        write_facts.set_realised(self._ledger, build, name, value, sd, source)

    def drop_plan(self, reason: str = "") -> list[str]:
        """
        Return the labels of the planned builds that were withdrawn: those nobody began.

        A build with a result, or with anything logged about it, stays. Labels are not used again.
        """
        return write_facts.drop_plan(self._ledger, reason)

    def add_session(self, session: Session) -> None:
        """Record a session; the latest description of an ordinal rules."""
        write_plan.add_session(self._ledger, session)

    def add_layout(self, label: str, content: Json) -> None:
        """Record a bed layout: what is printed together, and where."""
        write_plan.add_layout(self._ledger, label, content)

    def add_spool(self, spool: Spool) -> None:
        """Record a spool, and its lot when it names a new one; the latest description rules."""
        spools.add_spool(self._ledger, spool)

    def add_exposure(self, exposure: Exposure, replaces: Exposure | None = None) -> None:
        """Record where a spool has been; `replaces` is the earlier interval that it corrects."""
        spools.add_exposure(self._ledger, exposure, replaces)

    def add_specimen(self, specimen: Specimen) -> None:
        """Record a specimen; what is stated now completes or corrects what was stated before."""
        write_results.add_specimen(self._ledger, specimen)

    def add_instrument(self, instrument: Instrument) -> None:
        """Record an instrument; the latest description rules."""
        write_results.add_instrument(self._ledger, instrument)

    def add_check(self, check: Check) -> None:
        """Record a check of an instrument."""
        write_results.add_check(self._ledger, check)

    def add_use(self, use: Use) -> None:
        """Record that a file's results rest on an instrument; the latest tie of the same three rules."""
        write_results.add_use(self._ledger, use)

    def rows(self, *, current: bool = True) -> list[ObservationRow]:
        """Return observations as `Store.rows` does, those of this transaction included."""
        return read_results.observation_rows(self._ledger.scope, current=current)

    def checks(self, instrument: str | None = None) -> list[Check]:
        """Return checks as `Store.checks` does, those of this transaction included."""
        return read_results.checks(self._ledger.scope, instrument)

    def uses(self) -> list[Use]:
        """Return ties as `Store.uses` does, those of this transaction included."""
        return read_results.uses(self._ledger.scope)

    def add_file(self, sha: str) -> None:
        """
        Record a file that `Store.put_file` stored; observations that name its hash do so themselves.

        Raises
        ------
        InputError
            Nothing with this hash was stored.
        """
        history.add_file(self._ledger, sha)

    def add_observation(
        self,
        observation: Observation,
        source_sha: str = "",
        method_version: str = "",
        unit: str = "",
        instrument: str = "",
        measured_at: datetime | None = None,
    ) -> str:
        """
        Return the id of a new observation.

        Parameters
        ----------
        observation : Observation
            Its run, build and instrument must be known; a specimen that is not is recorded by its label.
        source_sha : str
            Hash of the raw file that it was read or computed from.
        method_version : str
            Version of the reduction that made it.
        unit : str
            Unit of the value, checked against that of the quantity; empty is the quantity's own.
        instrument : str
            Label of the instrument that took it.
        measured_at : datetime or None
            When it was measured, with time zone.
        """
        source = write_results.Source(source_sha, method_version, unit, instrument, measured_at)
        return write_results.add_observation(self._ledger, observation, source, None)

    def supersede(
        self,
        old_id: str,
        observation: Observation,
        source_sha: str = "",
        method_version: str = "",
        unit: str = "",
        instrument: str = "",
        measured_at: datetime | None = None,
    ) -> str:
        """
        Return the id of an observation that corrects an older one; the older one stays on record.

        Raises
        ------
        InputError
            The older one is not known, or something already superseded or withdrew it.
        """
        source = write_results.Source(source_sha, method_version, unit, instrument, measured_at)
        return write_results.add_observation(self._ledger, observation, source, old_id)

    def withdraw_observation(self, observation_id: str, reason: str) -> None:
        """Record that an observation must not count, and why; it stays on record."""
        write_results.withdraw_observation(self._ledger, observation_id, reason)

    def add_event(self, kind: str, payload: Mapping[str, Json] | None = None) -> None:
        """Record that something happened."""
        history.add_event(self._ledger, kind, payload or {})

    def add_derived(self, kind: str, payload: Json, inputs: Sequence[str] = ()) -> str:
        """
        Return the id of a new derived record, numbered after the last of its kind.

        Parameters
        ----------
        payload : JSON value
            The result itself.
        inputs : sequence of str
            Hashes of what it was computed from.
        """
        return history.add_derived(self._ledger, kind, payload, inputs)

    def record_campaign_text(self, text: str) -> bool:
        """Return whether a new version of the campaign file was recorded: only when its text changed."""
        return history.add_campaign_text(self._ledger, text)
