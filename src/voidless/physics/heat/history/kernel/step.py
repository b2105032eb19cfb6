"""Step of all columns or blocks that are due."""

# mypy: disable-error-code="untyped-decorator, no-any-return"
# ruff: noqa: C901 - compiled loops: one body each

from __future__ import annotations

from voidless.physics.heat.history.state import Facts, State, Work

from .compiled import (
    CAPACITY,
    END,
    LANES,
    LOSS,
    ROW,
    SOURCE,
    START,
    UP,
    alone,
    at,
    merged,
    nth,
    rows_in,
    team,
    together,
    wait,
)
from .exchange import gather
from .heal import heal
from .settle import settle
from .solve import solve

__all__ = ["step_listed"]


@merged
def step_listed(count: int, tick: int, facts: Facts, s: State, w: Work) -> None:
    """Step every listed column or block to this tick."""
    mine, teams = team()
    for place in range(mine * LANES, count, teams * LANES):
        used = min(LANES, count - place)
        most = 1
        for lane in range(used):
            gather(s.listed[place + lane], lane, tick, facts, s, w)
            most = max(most, w.rows[lane])
        for lane in range(LANES):
            filled = w.rows[lane] if lane < used else 0
            if filled == 0:
                w.below[lane] = 0.0
                w.below_at[lane] = 0.0
                w.lowest[lane] = 0
            if lane >= used:
                w.seconds[lane] = 0.0
            for r in range(filled, most):
                for field in (START, SOURCE, LOSS, UP):
                    w.x[at(r, field, lane)] = 0.0
                w.x[at(r, CAPACITY, lane)] = 1.0
        together()
        solve(most, w)
        together()
        for lane in range(used):
            settle(s.listed[place + lane], lane, facts, s, w)
            s.slot[s.listed[place + lane]] = place + lane
            fresh = s.fresh[nth(place + lane)]
            for r in rows_in(0, w.rows[lane]):
                fresh[r] = w.x[r * ROW + END + nth(lane)]
        together()
    wait()
    for place in range(mine, count, teams):
        if s.rows[s.listed[place]] > 0:
            heal(place, tick, facts, s)
    wait()
    for place in range(mine, count, teams):
        entity = s.listed[place]
        s.slot[entity] = -1
        warm, fresh = s.warm[nth(entity)], s.fresh[nth(place)]
        for r in rows_in(0, s.rows[entity]):
            warm[r] = fresh[r]
        s.last[entity] = tick
        if alone():
            s.steps[entity] += 1
    wait()
