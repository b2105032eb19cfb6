"""When a column steps next."""

# mypy: disable-error-code="untyped-decorator, no-any-return"

from __future__ import annotations

from voidless.physics.heat.history.state import Facts, State

from .compiled import inlined

__all__ = ["next_due"]


@inlined
def next_due(column: int, tick: int, age: int, facts: Facts, s: State) -> int:
    """
    Return the tick of a column's next step, where a bead last came near some ticks ago.

    Steps are powers of two, so that long ones end where short ones do, up to the one at which the explicit exchange
    sideways would overshoot. What is quiet for longer steps half as often, every other column half a step later: its
    faces still exchange as often, since either side's step does it.
    """
    grown, step = facts.grade * age, 1
    while 2 * step <= grown and 2 * step <= facts.side_ticks:
        step *= 2
    later = 0
    if 2 * step <= grown:
        later = step * s.odd[column]
        step *= 2
    return ((tick + later) // step + 1) * step - later
