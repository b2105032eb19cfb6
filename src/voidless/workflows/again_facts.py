"""What a stored table says of builds when it is read again: beside what rules, and what a person has said since."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from voidless.measure.results import BuildFacts, FileResult
from voidless.records.write_facts import BUILD_FACTS
from voidless.records.writer import Writer
from voidless.workflows.filing import Desk

__all__ = ["FactChange", "changed_facts", "facts_gone", "store_facts"]

_NAMES = ("exposure_h", "humidity_pct", "outcome", "order", "session")


@dataclass(frozen=True)
class FactChange:
    """A fact of a build that a file says otherwise than it did: before and after, None where it was not said."""

    build: str
    name: str
    before: Any
    after: Any

    def row(self) -> dict[str, Any]:
        """Return it as a row of an answer."""
        return {"build": self.build, "fact": self.name, "before": self.before, "after": self.after}


def changed_facts(desk: Desk, result: FileResult, sha: str) -> list[FactChange]:
    """
    Return the facts of builds that a file gives now and did not give so before.

    Parameters
    ----------
    desk : Desk
        Knows the campaign's builds and sessions.
    result : FileResult
        The file as it is read now.
    sha : str
        Its hash.

    Notes
    -----
    A fact that rules by another source, a person's word or a later file, stands.
    """
    ruling = {(fact.build, fact.name): fact for fact in desk.opened.store.build_facts()}
    found = []
    for (build, name), value in _said(desk, result).items():
        held = ruling.get((build, name))
        if held is not None and (held.source_sha != sha or held.value == value):
            continue
        found.append(FactChange(build, name, held.value if held else None, value))
    return found


def facts_gone(desk: Desk, result: FileResult, sha: str) -> list[str]:
    """Return words on facts that rule by a file which no longer gives them; a fact is only ever replaced by another."""
    said = _said(desk, result)
    ruling = {(fact.build, fact.name): fact for fact in desk.opened.store.build_facts()}
    return [
        f"{build}: {name} {fact.value} came from this file, which no longer gives it; log the true one"
        for (build, name), fact in ruling.items()
        if fact.source_sha == sha and name.partition(" ")[0] in _NAMES and (build, name) not in said
    ]


def store_facts(writer: Writer, desk: Desk, changes: Sequence[FactChange], sha: str) -> None:
    """Put changed facts on record; what ruled before stays there."""
    for change in changes:
        value = desk.session(writer, change.after) if change.name == "session" else change.after
        writer.set_build_fact(change.build, change.name, value, sha)


def _said(desk: Desk, result: FileResult) -> dict[tuple[str, str], Any]:
    """Return what a file says of builds, by build and fact, as records hold it; a new session by its own words."""
    found: dict[tuple[str, str], Any] = {}
    for facts in result.build_facts:
        build = facts.build or next(iter(desk.builds.get(facts.run, ())), "")
        if not build:
            continue
        for name, value in _values(facts).items():
            if name == "session":
                value = desk.sessions.get(value, value)  # a label that no session has is one to come
            kept = BUILD_FACTS[name](value) if name != "session" else value
            found[build, desk.fact_name(name, facts.run, build)] = kept
    return found


def _values(facts: BuildFacts) -> Mapping[str, Any]:
    values = {name: getattr(facts, name) for name in _NAMES}
    return {name: value for name, value in values.items() if value not in (None, "")}
