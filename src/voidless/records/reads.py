"""What the records of one campaign say: every read sees one unchanging state."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Mapping
from contextlib import AbstractContextManager

from sqlalchemy import func

from voidless.campaign.types import Build, Exposure, Observation, Run
from voidless.errors import InputError
from voidless.quantities import suggest
from voidless.records import history, read_plan, read_results, spools
from voidless.records.facts import (
    BuildFact,
    Check,
    Derived,
    Event,
    Instrument,
    ObservationRow,
    PlannedBuild,
    RecordedSetting,
    Session,
    Specimen,
    Spool,
    Use,
)
from voidless.records.inspecting import counts, inputs_hash
from voidless.records.ledger import Scope

__all__ = ["AbstractReads"]


class AbstractReads(ABC):
    """The reads of a campaign's records; where they are read from is the store's."""

    @abstractmethod
    def _scope(self) -> AbstractContextManager[Scope]:
        """Give one state of the records of one campaign."""

    # ---- runs and builds

    def runs(self, *, withdrawn: bool = False) -> list[Run]:
        """Return the runs in order of their labels; withdrawn ones only when asked for."""
        with self._scope() as scope:
            return read_plan.runs(scope, withdrawn=withdrawn)

    def builds(self) -> list[Build]:
        """Return every build that was not withdrawn, once per run, in print order; settings are the run's."""
        with self._scope() as scope:
            return read_plan.builds(scope)

    def planned(self) -> list[PlannedBuild]:
        """Return the open proposals: planned, without result, failure or withdrawal, in print order."""
        with self._scope() as scope:
            return read_plan.planned(scope)

    def spent_labels(self) -> list[str]:
        """Return the labels of builds with a result or a logged failure."""
        with self._scope() as scope:
            return read_plan.spent_labels(scope)

    def builds_spent(self) -> int:
        """Return how many builds have a result or a logged failure."""
        return len(self.spent_labels())

    def build_facts(self) -> list[BuildFact]:
        """Return everything logged about builds, superseded facts included, oldest first."""
        with self._scope() as scope:
            return read_plan.build_facts(scope)

    def realised(self) -> list[RecordedSetting]:
        """Return what settings really were, as last recorded, by build and name."""
        with self._scope() as scope:
            return read_plan.realised(scope)

    def sessions(self) -> list[Session]:
        """Return the sessions, by ordinal."""
        with self._scope() as scope:
            return read_plan.sessions(scope)

    # ---- results

    def observations(self, *, current: bool = True) -> list[Observation]:
        """Return the observations that rule, or all that were ever recorded, oldest first."""
        return [row.observation for row in self.rows(current=current)]

    def rows(self, *, current: bool = True) -> list[ObservationRow]:
        """Return observations with id, file, time and what became of them, oldest first."""
        with self._scope() as scope:
            return read_results.observation_rows(scope, current=current)

    def find_observations(self, *, current: bool = True, **wanted: str | None) -> list[ObservationRow]:
        """
        Return the observations that match all names given.

        Parameters
        ----------
        current : bool
            Whether to leave out what was superseded or withdrawn.
        **wanted : str or None
            `run`, `build`, `specimen`, `quantity`, `method`, `feature`, `source_sha`, `instrument`;
            None does not ask, an empty text asks for "not stated".

        Raises
        ------
        InputError
            A name is not one of these.
        """
        conditions = []
        for name, value in wanted.items():
            column = read_results.FILTERS.get(name)
            if column is None:
                known = tuple(read_results.FILTERS)
                raise InputError("records", f"{name!r} is not known", ", ".join(known), suggest(name, known))
            if value is not None:
                conditions.append(func.coalesce(column, "") == value)
        with self._scope() as scope:
            return read_results.observation_rows(scope, conditions, current=current)

    def observations_from(self, sha: str, *, current: bool = True) -> list[ObservationRow]:
        """Return the observations that came from a file of this very content."""
        return self.find_observations(current=current, source_sha=sha)

    def specimens(self) -> list[Specimen]:
        """Return the specimens as last described."""
        with self._scope() as scope:
            return read_results.specimens(scope)

    def instruments(self) -> list[Instrument]:
        """Return the instruments as last described."""
        with self._scope() as scope:
            return read_results.instruments(scope)

    def checks(self, instrument: str | None = None) -> list[Check]:
        """Return the checks of one instrument or of all, by time."""
        with self._scope() as scope:
            return read_results.checks(scope, instrument)

    def uses(self) -> list[Use]:
        """Return which files' results rest on which instruments."""
        with self._scope() as scope:
            return read_results.uses(scope)

    # ---- spools

    def spools(self) -> list[Spool]:
        """Return the spools as last described."""
        with self._scope() as scope:
            return spools.spools(scope)

    def exposures(self) -> list[Exposure]:
        """Return where the spools have been, corrected intervals only."""
        with self._scope() as scope:
            return spools.exposures(scope)

    # ---- history

    def events(self, kind: str | None = None) -> list[Event]:
        """Return the events of one kind or all, oldest first."""
        with self._scope() as scope:
            return history.events(scope, kind)

    def latest_derived(self, kind: str) -> Derived | None:
        """Return the newest derived record of a kind; None when there is none."""
        with self._scope() as scope:
            return next(iter(history.derived(scope, kind)), None)

    def derived(self, kind: str) -> list[Derived]:
        """Return all derived records of a kind, newest first."""
        with self._scope() as scope:
            return history.derived(scope, kind)

    def inputs_hash(self) -> str:
        """Return a hash that changes whenever anything changes that results are derived from."""
        with self._scope() as scope:
            return inputs_hash(scope)

    def counts(self) -> Mapping[str, int]:
        """Return how many runs, builds, specimens, ruling observations, files and so on there are."""
        with self._scope() as scope:
            return counts(scope)
