"""What lies below a column: the bed or the coarse body, and where its own thick rows begin."""

# mypy: disable-error-code="untyped-decorator, no-any-return"

from __future__ import annotations

from typing import Any

from voidless.physics.heat.history.state import Facts, State, Work

from .compiled import ONE, SOURCE, at, inlined, nth, span
from .rows import lowest, stage_of

__all__ = ["body_below", "filled", "ground", "thinner"]

DAMPED = (
    1.0 / 3.0
)  # of how the flow below the body's top row falls as that warms: what lies below warms as well


@inlined
def filled(block: int, deep: int, s: State) -> float:
    """Return how full a row of the body is: what is nearly empty can take and give but little at a time."""
    return s.body_capacity[block, deep] / (s.block_cells[block] * s.body_thick[deep])


@inlined
def ground(entity: int, block: int, base: int, lane: int, tick: int, facts: Facts, s: State, w: Work) -> None:
    """Couple the lowest row to the bed or to the body below; an empty row there has nothing to give."""
    r = lowest(base, facts)
    share = s.share[entity, r]
    thick = s.row_thick[stage_of(base, facts), r]
    w.lowest[lane] = r
    if base <= 0:
        if facts.bed_contact > 0.0:
            w.below[lane] = share / (thick / (2.0 * facts.diffusivity) + 1.0 / facts.bed_contact)
            w.below_at[lane] = facts.bed
        return
    deep = nth((base >> facts.shift) - 1)
    if s.body_capacity[block, deep] <= 0.0:
        return
    full = filled(block, deep, s)
    speed = min(share, full) * s.deep_speed[deep]
    # what the body takes in the step changes it as well
    away = s.deep_away[deep] * (span(s.body_last[block], tick, facts, s) - 0.5 * w.seconds[lane])
    slope, grip = under_body(block, deep, facts, s)
    held = 1.0 + DAMPED * abs(away) * grip
    w.below[lane] = speed / (1.0 + 0.5 * speed * w.seconds[lane] / (s.body_thick[deep] * full * held))
    there = s.body[block, deep] + (s.under[entity] - slope * away) / held
    w.below_at[lane] = there + s.deep_lean[deep] * slope


@inlined
def under_body(block: int, deep: Any, facts: Facts, s: State) -> tuple[float, float]:
    """Return the slope below a row of the body [K/m], and by how much it rises with the row's temperature [1/m]."""
    if deep == nth(0):
        if facts.bed_contact <= 0.0:
            return 0.0, 0.0
        grip = 1.0 / (0.5 * s.body_thick[0] + facts.diffusivity / facts.bed_contact)
        return (s.body[block, 0] - facts.bed) * grip, grip
    if s.body_capacity[block, deep - ONE] <= 0.0:
        return 0.0, 0.0
    return (s.body[block, deep] - s.body[block, deep - ONE]) * s.deep_grip[deep], s.deep_grip[deep]


@inlined
def body_below(entity: int, block: int, deep: int, since: float, facts: Facts, s: State) -> float:
    """
    Return the temperature of the body's top row some time after the body stepped, as a column finds it. [K]

    The body steps seldom: what the column has given it since counts, and what flows down into the rows below, the less
    the more that has changed it.
    """
    row = nth(deep)
    away = s.deep_away[row] * since
    slope, grip = under_body(block, row, facts, s)
    return s.body[block, row] + (s.under[entity] - slope * away) / (1.0 + DAMPED * abs(away) * grip)


@inlined
def thinner(rows: int, stage: Any, share: Any, lane: int, facts: Facts, s: State, w: Work) -> None:
    """Set what goes through the face where coarse rows meet fine ones right: a parabola through three rows."""
    if facts.coarse == 0 or rows <= facts.coarse >> 1:
        return
    above = nth(facts.coarse >> 1)
    row = above - ONE
    skew, up = s.row_skew[stage], s.row_up[stage]
    if share[row - ONE] > 0.0:
        flow = up[row - ONE] * skew * (w.own[row] - w.own[row - ONE])
    else:
        flow = up[row] * skew / (1.0 + skew) * (w.own[above] - w.own[row])
    flow *= min(share[row], share[above]) * w.seconds[lane]
    w.x[at(row, SOURCE, lane)] -= flow
    w.x[at(above, SOURCE, lane)] += flow
