"""Where the facts come from, and when they are worked out again."""

from __future__ import annotations

import threading
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

__all__ = ["FactsOf", "FactsReader", "ResultOf", "campaign_facts", "one_result"]

FactsOf = Callable[[Path], Mapping[str, Any]]

ResultOf = Callable[[Path, str], Mapping[str, Any]]

_Stamp = tuple[tuple[str, int, int], ...]


def campaign_facts(folder: Path) -> Mapping[str, Any]:
    """Return the facts of the campaign in a folder."""
    from voidless.workflows.facts import campaign_facts as work

    found: Mapping[str, Any] = work(folder)
    return found


def one_result(folder: Path, wanted: str) -> Mapping[str, Any]:
    """Return one result of the campaign in a folder, by its id, with how it was reduced."""
    from voidless.workflows.results import one_result as work

    found: Mapping[str, Any] = work(folder, wanted)
    return found


def _stamp(folder: Path) -> _Stamp:
    """Return what tells whether the campaign changed; shared-memory files of a database change on reading."""
    found = []
    for path in sorted(folder.iterdir()) if folder.is_dir() else ():
        if path.is_file() and not path.name.endswith("-shm"):
            state = path.stat()
            found.append((path.name, state.st_mtime_ns, state.st_size))
    return tuple(found)


class FactsReader:
    """
    Facts of one campaign, worked out once for each state of its folder.

    Parameters
    ----------
    folder : Path
        The campaign.
    work : callable
        Folder to facts.
    """

    def __init__(self, folder: Path, work: FactsOf = campaign_facts) -> None:
        self._folder = folder
        self._work = work
        self._lock = threading.Lock()
        self._kept: tuple[_Stamp, Mapping[str, Any]] | None = None

    def facts(self) -> Mapping[str, Any]:
        """Return the facts of the folder as it stands now."""
        with self._lock:
            stamp = _stamp(self._folder)
            if self._kept is None or self._kept[0] != stamp:
                self._kept = (stamp, self._work(self._folder))
            return self._kept[1]
