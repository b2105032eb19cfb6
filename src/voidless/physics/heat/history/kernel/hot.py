"""Where a column is hot enough to heal."""

# mypy: disable-error-code="untyped-decorator, no-any-return"

from __future__ import annotations

from typing import Any

from voidless.physics.heat.history.state import Facts

from .compiled import inlined, nth

__all__ = ["first_hot", "first_hot_beside", "limit_of"]


@inlined
def limit_of(facts: Facts) -> float:
    """Return below which a coarse row is cold throughout: along its slope it may be a quarter above its middle."""
    return min(facts.stop, 0.75 * facts.stop)


@inlined
def first_hot(old: Any, new: Any, rows: int, facts: Facts, slopes: bool) -> int:
    """Return the lowest row that is hot enough to heal, before the step or after; all rows where there is none."""
    limit = limit_of(facts) if slopes else facts.stop
    for r in range(rows):
        if max(old[nth(r)], new[nth(r)]) > limit:
            return r
    return rows


@inlined
def first_hot_beside(
    old: Any, new: Any, theirs: Any, due: Any, given: Any, steps_too: bool, rows: int, facts: Facts
) -> int:
    """Return the lowest row whose face to another column of equal rows may be hot enough to heal."""
    limit, whole, half = 2.0 * limit_of(facts), 2.0 * facts.stop, facts.coarse >> 1
    for row in range(rows):
        r = nth(row)
        later = due[r] if steps_too else theirs[r] + given[r]
        if max(old[r] + theirs[r], new[r] + later) > (limit if row < half else whole):
            return row
    return rows
