"""
Where a column is hot enough to heal in any of the settings side by side.

All rows are looked at, so that none waits for the one before, and all settings begin at the same row.
"""

# mypy: disable-error-code="untyped-decorator, no-any-return"

from __future__ import annotations

from typing import Any

from voidless.physics.heat.history.state import Facts

from .compiled import MOST, inlined, nth, rows_in, some

__all__ = ["first_hot", "first_hot_beside", "limit_of"]

HALF = 1 << (MOST.bit_length() - 1)


@inlined
def limit_of(facts: Facts) -> float:
    """Return below which a coarse row is cold throughout: along its slope it may be a quarter above its middle."""
    return min(facts.stop, 0.75 * facts.stop)


@inlined
def least(value: Any) -> Any:
    """Return the least of a number of rows over the settings side by side, by asking whether any has fewer."""
    low, step = 0, HALF
    while step > 0:
        if not some(value < low + step):
            low += step
        step >>= 1
    return low


@inlined
def first_hot(old: Any, new: Any, rows: int, facts: Facts, slopes: bool) -> int:
    """Return the lowest row that is hot enough to heal, before the step or after; all rows where there is none."""
    limit = limit_of(facts) if slopes else facts.stop
    found = nth(rows)
    for r in rows_in(0, rows):
        if max(old[r], new[r]) > limit:
            found = min(found, r)
    return least(found)


@inlined
def first_hot_beside(
    old: Any, new: Any, theirs: Any, due: Any, given: Any, steps_too: bool, rows: int, facts: Facts
) -> int:
    """Return the lowest row whose face to another column of equal rows may be hot enough to heal."""
    limit, whole, half = 2.0 * limit_of(facts), 2.0 * facts.stop, facts.coarse >> 1
    found = nth(rows)
    for r in rows_in(0, rows):
        later = due[r] if steps_too else theirs[r] + given[r]
        if max(old[r] + theirs[r], new[r] + later) > (limit if r < half else whole):
            found = min(found, r)
    return least(found)
