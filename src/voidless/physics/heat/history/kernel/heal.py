"""Healing of the welds of a column."""

# mypy: disable-error-code="untyped-decorator, no-any-return"
# ruff: noqa: C901 - compiled loops: one body each

from __future__ import annotations

from typing import Any

import numpy as np

from voidless.physics.heat.history.state import Facts, State

from .bend import off_line
from .compiled import ONE, each, inlined, nth, some, span
from .ground import body_below
from .hot import first_hot, first_hot_beside
from .rates import BESIDE, THROUGH, growth, rate_integral
from .rows import at_layer, layer_of, lowest, row_at, row_of, stage_of

__all__ = ["heal"]


@inlined
def heal(slot: int, tick: int, facts: Facts, s: State) -> None:
    """Add the step's share to the healing integrals of the welds of a listed column or block."""
    entity = s.listed[slot]
    fine = s.f_block.shape[0]
    is_block = entity >= fine
    block = entity - fine if is_block else s.f_block[entity]
    base = s.base[block]
    seconds = span(s.last[entity], tick, facts, s)
    age = 0.0 if is_block else span(s.seen[entity], tick, facts, s)
    grown = growth(age, seconds)
    stage = stage_of(base, facts)
    old, new, thick, lean = s.warm[nth(entity)], s.fresh[nth(slot)], s.row_thick[stage], s.row_lean[stage]
    cell = 0 if is_block else s.cell_start[entity] - s.first[entity] + base
    rows, low = s.rows[entity], lowest(base, facts)
    start = max(0, -base)
    if not is_block:
        start = max(start, s.first[entity] - base)
    last = s.top_known[entity] - base
    below = nth(low)
    # most of a column is too cold to heal: begin at its lowest hot row
    hot = first_hot(old, new, rows, facts, is_block)
    if base > 0 and some(s.body[block, (base >> facts.shift) - 1] > facts.stop):
        hot = 0
    deep, deep_before, deep_after = (base >> facts.shift) - 1, 0.0, 0.0
    if base > 0 and hot == 0:
        passed = span(s.body_last[block], tick, facts, s)
        deep_after = body_below(entity, block, deep, passed, facts, s)
        part = max(passed - seconds, 0.0) / passed if passed > 0.0 else 0.0
        deep_before = s.body[block, deep] + (deep_after - s.body[block, deep]) * part
    for local in each(max(start, layer_of(hot, facts)), last + 1):
        r = nth(row_of(local, facts))
        before, after = old[r], new[r]
        if r == nth(0) and (local == 0 or facts.coarse == 0):
            before, after = 0.0, 0.0
            if base > 0 and local == 0:
                whole = thick[0] + s.body_thick[deep]
                before = (old[0] * s.body_thick[deep] + deep_before * thick[0]) / whole
                after = (new[0] * s.body_thick[deep] + deep_after * thick[0]) / whole
        elif local >= facts.coarse or (local & 1) == 0:
            before += (old[r - ONE] - before) * lean[r]
            after += (new[r - ONE] - after) * lean[r]
        if local <= facts.coarse and s.gaps[entity] == 0 and max(before, after) > facts.stop:
            before += off_line(old, local, r, below, nth(rows), base, deep_before, facts, s)
            after += off_line(new, local, r, below, nth(rows), base, deep_after, facts, s)
        gained = 0.0
        if max(before, after) > facts.stop:
            gained = rate_integral(before, after, seconds, age, grown, THROUGH, facts, s.rates)
        if is_block:
            s.block_healed[block, local, 0] += gained
            before = at_layer(old, local, 0, rows, low, thick, facts)
            after = at_layer(new, local, 0, rows, low, thick, facts)
            if max(before, after) > facts.stop:
                s.block_healed[block, local, 1] += rate_integral(
                    before, after, seconds, age, grown, BESIDE, facts, s.rates
                )
        elif gained > 0.0:
            s.healed[cell + local, 0] += gained
    if is_block:
        return
    for direction in range(4):
        neighbour = s.neighbour[entity, direction]
        if neighbour >= 0 and (s.sides[entity] >> direction) & 1:
            heal_beside(
                entity, slot, neighbour, direction, base, cell, start, last, seconds, age, grown, facts, s
            )


@inlined
def heal_beside(
    entity: int,
    slot: int,
    neighbour: int,
    direction: int,
    base: int,
    cell: int,
    start: int,
    last: int,
    seconds: float,
    age: float,
    grown: float,
    facts: Facts,
    s: State,
) -> None:
    """Add the step's share to the welds of a column with beads on one side that were laid earlier."""
    beside = s.f_block[neighbour]
    asleep = s.asleep[beside] == 1
    partner = s.f_block.shape[0] + beside if asleep else neighbour
    shift = base - s.base[beside]
    steps_too = not asleep and s.slot[neighbour] >= 0
    old, new = s.warm[nth(entity)], s.fresh[nth(slot)]
    theirs, due, given = (
        s.warm[nth(partner)],
        s.fresh[nth(max(s.slot[neighbour], 0))],
        s.pending[nth(partner)],
    )
    begin = max(start, -shift)
    if shift == 0:
        both = min(s.rows[entity], s.rows[partner])
        begin = max(
            begin, layer_of(first_hot_beside(old, new, theirs, due, given, steps_too, both, facts), facts)
        )
    bit = np.uint8(1 << direction)
    rows, low = s.rows[entity], lowest(base, facts)
    other_rows, other_low = s.rows[partner], lowest(s.base[beside], facts)
    thick, other_thick = s.row_thick[stage_of(base, facts)], s.row_thick[stage_of(s.base[beside], facts)]
    for local in each(begin, last + 1):
        there = local + shift
        if s.welds[nth(cell + local)] & bit == 0 or row_of(there, facts) >= other_rows:
            continue
        if local >= facts.coarse and there >= facts.coarse:
            gained = heal_fine(
                row_of(local, facts),
                row_of(there, facts),
                old,
                new,
                theirs,
                due,
                given,
                steps_too,
                seconds,
                age,
                grown,
                facts,
                s,
            )
            if gained > 0.0:
                s.healed[nth(cell + local), nth(1 + direction)] += gained
            continue
        parts = facts.sub if local >= facts.coarse else 1
        gained = 0.0
        for k in range(parts):
            other = at_layer(theirs, there, k, other_rows, other_low, other_thick, facts)
            if steps_too:
                later = at_layer(due, there, k, other_rows, other_low, other_thick, facts)
            else:
                later = other + given[nth(row_at(there, k, facts))]
            before = 0.5 * (at_layer(old, local, k, rows, low, thick, facts) + other)
            after = 0.5 * (at_layer(new, local, k, rows, low, thick, facts) + later)
            if max(before, after) > facts.stop:
                gained += rate_integral(before, after, seconds, age, grown, BESIDE, facts, s.rates)
        if gained > 0.0:
            s.healed[nth(cell + local), nth(1 + direction)] += gained / parts


@inlined
def heal_fine(
    row: int,
    row_there: int,
    old: Any,
    new: Any,
    theirs: Any,
    due: Any,
    given: Any,
    steps_too: bool,
    seconds: float,
    age: float,
    grown: float,
    facts: Facts,
    s: State,
) -> float:
    """Return what the rows of a fine layer heal with those of another on average: most of all hot faces."""
    gained = 0.0
    mine, other = nth(row), nth(row_there)
    for k in range(facts.sub):
        r, o = mine + nth(k), other + nth(k)
        later = due[o] if steps_too else theirs[o] + given[o]
        before, after = 0.5 * (old[r] + theirs[o]), 0.5 * (new[r] + later)
        if max(before, after) > facts.stop:
            gained += rate_integral(before, after, seconds, age, grown, BESIDE, facts, s.rates)
    return gained * facts.part
