"""Where the facts come from, and when they are worked out again."""

from __future__ import annotations

import threading
from collections.abc import Callable, Mapping
from concurrent.futures import Future, wait
from pathlib import Path
from typing import Any

__all__ = ["FactsOf", "FactsReader", "ResultOf", "campaign_facts", "one_result"]

FactsOf = Callable[[Path], Mapping[str, Any]]

ResultOf = Callable[[Path, str], Mapping[str, Any]]

_Stamp = tuple[tuple[str, int, int], ...]
_Facts = Future[Mapping[str, Any]]


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
    """
    Return what tells whether the campaign changed.

    Reading changes the shared-memory file of a database, and makes and removes an empty log of what is to be written.
    """
    found = []
    for path in sorted(folder.iterdir()) if folder.is_dir() else ():
        if not path.is_file() or path.name.endswith("-shm"):
            continue
        state = path.stat()
        if state.st_size or not path.name.endswith("-wal"):
            found.append((path.name, state.st_mtime_ns, state.st_size))
    return tuple(found)


class FactsReader:
    """
    Facts of one campaign, worked out once for each state of its folder, by a thread of their own.

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
        self._one = threading.Lock()
        self._kept: tuple[_Stamp, _Facts] | None = None

    def begin(self) -> _Facts:
        """Return the facts of the folder as it stands now, which may still be worked out."""
        with self._lock:
            stamp = _stamp(self._folder)
            if self._kept is None or self._kept[0] != stamp:
                self._kept = (stamp, Future())
                # a daemon: a server that is stopped does not wait for a fit
                threading.Thread(target=self._run, args=(self._kept[1],), daemon=True).start()
            return self._kept[1]

    def facts(self) -> Mapping[str, Any]:
        """Return the facts of the folder as it stands now, however long they take."""
        found = self.soon(None)
        while found is None:  # the folder changed meanwhile
            found = self.soon(None)
        return found

    def soon(self, seconds: float | None) -> Mapping[str, Any] | None:
        """Return the facts of the folder as it stands now, None where they are not worked out in time."""
        asked = self.begin()
        wait([asked], seconds)
        if not asked.done() or asked.cancelled():
            return None
        if asked.exception() is not None:
            self._forget(asked)
        return asked.result()

    def _forget(self, failed: _Facts) -> None:
        """Try anew when asked again."""
        with self._lock:
            if self._kept is not None and self._kept[1] is failed:
                self._kept = None

    def _run(self, wanted: _Facts) -> None:
        with self._one:  # fitting twice at once would only be slower
            kept = self._kept
            if kept is not None and kept[1] is not wanted:
                wanted.cancel()
                wanted.set_running_or_notify_cancel()
                return
            try:
                wanted.set_result(self._work(self._folder))
            except BaseException as fault:  # noqa: BLE001 - told to those who wait for it
                wanted.set_exception(fault)
