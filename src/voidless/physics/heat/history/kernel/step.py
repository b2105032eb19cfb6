"""Phases of the step of all columns or blocks that are due."""

# mypy: disable-error-code="untyped-decorator, no-any-return"

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
    called,
    half,
    inlined,
    nth,
    rows_in,
    together,
)
from .exchange import gather
from .heal import heal
from .settle import settle
from .solve import solve

__all__ = ["HEAL", "KEEP", "SOLVE", "work_on"]

SOLVE, HEAL, KEEP = 0, 1, 2
"""Phases of a step: each reads what the one before has written for other columns."""


@called
def work_on(phase: int, count: int, tick: int, facts: Facts, s: State, w: Work) -> None:
    """Do a phase of a step for this team's share of the listed columns or blocks."""
    if phase == SOLVE:
        solve_listed(count, tick, facts, s, w)
    elif phase == HEAL:
        mine, teams = half(w)
        for place in range(mine, count, teams):
            if s.rows[s.listed[place]] > 0:
                heal(place, tick, facts, s)
    else:
        keep_listed(count, tick, s, w)


@inlined
def solve_listed(count: int, tick: int, facts: Facts, s: State, w: Work) -> None:
    """Find the new temperatures."""
    mine, teams = half(w)
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


@inlined
def keep_listed(count: int, tick: int, s: State, w: Work) -> None:
    """Put the new temperatures in place of the old ones."""
    mine, teams = half(w)
    for place in range(mine, count, teams):
        entity = s.listed[place]
        s.slot[entity] = -1
        warm, fresh = s.warm[nth(entity)], s.fresh[nth(place)]
        for r in rows_in(0, s.rows[entity]):
            warm[r] = fresh[r]
        s.last[entity] = tick
        if alone():
            s.steps[entity] += 1
