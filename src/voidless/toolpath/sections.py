"""Sections -> patterns: each different one planned once, those of a large part by several processes at a time."""

from __future__ import annotations

import os
import threading
from collections import deque
from collections.abc import Callable, Generator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import accumulate
from typing import TYPE_CHECKING, Any

from voidless.errors import ComputationError
from voidless.toolpath.fill.even import CAREFUL
from voidless.toolpath.fill.plan import plan_region
from voidless.toolpath.fill.types import Fill, Pattern

if TYPE_CHECKING:
    from concurrent.futures import Executor

__all__ = ["ALONE", "Crew", "Section", "plan_sections", "usable_cores"]

_WORTH_PITCHES2 = 3e5
"""Area from which further processes gain more than their start costs: some five seconds of work. [pitches squared]"""
_ALL_PITCHES2, _SOME_PITCHES2 = 8e4, 2e4
"""
Area of large sections up to which melt is corrected in all of them, some fifty seconds of work, and of those, the
smallest first, in which it is if there are more: in a solid of which every layer differs the rest keeps what its beads
find free. [pitches squared]
"""
_AHEAD = 4
"""Sections that wait for, or are with, each process. [1]"""
_MOST_PROCESSES = 8

_Key = tuple[bytes, float, float | None]


@dataclass(frozen=True, eq=False)
class Section:
    """
    What is to be filled.

    Attributes
    ----------
    region : shapely Polygon or MultiPolygon
        Holes included. [mm]
    angle_deg : float
        Direction of the raster. [deg]
    reference_mm : float or None
        Width that raster beads along X have to divide. [mm]
    """

    region: Any
    angle_deg: float
    reference_mm: float | None


@dataclass(frozen=True)
class Crew:
    """
    Who plans, and who hears of it.

    Attributes
    ----------
    processes : int
        Most processes that plan sections of one build. Beyond 1 the main module of the program must be importable
        without running (`if __name__ == "__main__"`), since each process imports it. [1]
    tell : callable
        Told in words how far planning is.
    """

    processes: int = 1
    tell: Callable[[str], None] = lambda _: None


ALONE = Crew()
"""One process, nothing told."""


def usable_cores() -> int:
    """Return how many processes this machine can run at a time, 8 at most. [1]"""
    own = getattr(os, "sched_getaffinity", None)  # Linux tells those that this process may use
    return min(_MOST_PROCESSES, len(own(0)) if own else os.cpu_count() or 1)


def plan_sections(
    sections: Sequence[Section], fill: Fill, crew: Crew = ALONE
) -> Generator[Pattern, None, None]:
    """
    Return the pattern of each section.

    Parameters
    ----------
    sections : sequence of Section
        Sections in the order in which their patterns are wanted; what is the same is planned once.
    fill : Fill
        How they are filled.
    crew : Crew
        How many processes plan; patterns are the same to the last bit for any number.

    Yields
    ------
    pattern : Pattern
        In order, as soon as it is planned.

    Raises
    ------
    InputError
        As `plan_region`.
    ComputationError
        A process was ended from outside.
    """
    names: dict[int, bytes] = {}
    keys = [_key(section, names) for section in sections]
    different = {key: section.region for key, section in zip(keys, sections, strict=True)}
    area = sum(region.area for region in different.values())
    several = (
        crew.processes > 1
        and fill.even  # else a section takes little time
        and area > _WORTH_PITCHES2 * fill.pitch_mm**2
        and len(different) > 1
    )
    mended = _mended(different, fill)
    plain = replace(fill, mended=False)
    tasks = [(region, fill if key in mended else plain, key[1], key[2]) for key, region in different.items()]
    patterns = _by_processes(tasks, crew.processes) if several else (plan_region(*task) for task in tasks)
    fresh, known = zip(different, patterns, strict=True), dict[_Key, Pattern]()
    for number, key in enumerate(keys):
        if key not in known:  # then it is the next of the different ones
            other, known[key] = next(fresh)
            assert other == key
        crew.tell(f"filling sections: {(number + 1) / len(keys):.0%}")
        yield known[key]


def _mended(different: Mapping[_Key, Any], fill: Fill) -> set[_Key]:
    """Return which sections are corrected: all that are small, and of others the smallest up to a sum of areas."""
    large = [key for key, region in different.items() if region.area > CAREFUL * fill.pitch_mm**2]
    large.sort(key=lambda key: different[key].area)
    sums = list(accumulate(different[key].area for key in large))
    few = not sums or sums[-1] <= _ALL_PITCHES2 * fill.pitch_mm**2
    most = (_ALL_PITCHES2 if few else _SOME_PITCHES2) * fill.pitch_mm**2
    return {*different} - {key for key, area in zip(large, sums, strict=True) if area > most}


def _key(section: Section, names: dict[int, bytes]) -> _Key:
    """Return what tells a section from those that are planned differently."""
    angle = round(section.angle_deg % 180.0, 9)
    along = abs((angle + 90.0) % 180.0 - 90.0) < 1e-6
    name = names.setdefault(id(section.region), b"")  # sections keep their regions alive
    if not name:
        name = names[id(section.region)] = section.region.wkb
    return name, angle, section.reference_mm if along else None


def _by_processes(tasks: Sequence[tuple[Any, ...]], processes: int) -> Generator[Pattern, None, None]:
    """Return the patterns of tasks in order, planned by several processes, few of them ahead of what is asked for."""
    from concurrent.futures import ProcessPoolExecutor
    from concurrent.futures.process import BrokenProcessPool
    from multiprocessing import get_context

    yield plan_region(*tasks[0])  # here, so that its compiled code lies ready for all
    pool = ProcessPoolExecutor(processes, get_context("spawn"), initializer=_begin)
    try:
        yield from _in_order(pool, tasks[1:], processes * _AHEAD)
    except BrokenProcessPool as fault:
        raise ComputationError(
            "fill",
            "a process that plans sections has ended",
            "it to last until all are planned",
            "Memory may be short: close other programs, or let one process plan.",
        ) from fault
    finally:
        pool.shutdown(wait=True, cancel_futures=True)


def _in_order(pool: Executor, tasks: Sequence[tuple[Any, ...]], ahead: int) -> Generator[Pattern, None, None]:
    waiting: deque[Any] = deque()
    for task in tasks:
        waiting.append(pool.submit(plan_region, *task))
        if len(waiting) == ahead:
            yield waiting.popleft().result()
    while waiting:
        yield waiting.popleft().result()


def _begin() -> None:
    """Let the process that asks decide when this one stops, and stop with it."""
    import signal

    signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=_end_with_parent, daemon=True).start()


def _end_with_parent() -> None:
    from multiprocessing import parent_process

    parent = parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)
