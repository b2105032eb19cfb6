"""Ticks: who is due, what is laid."""

# mypy: disable-error-code="untyped-decorator, no-any-return"
# ruff: noqa: C901 - compiled loops: one body each

from __future__ import annotations

from voidless.physics.heat.history.state import LATER, Facts, State, Work

from .body import flush, step_body
from .compiled import add, alone, append, called, each, inlined, merged, team, together, wait
from .rest import fall_asleep, wake_marked
from .rows import lowest, row_of, rows_below, stage_of
from .schedule import next_due
from .step import step_listed

__all__ = ["advance"]


@inlined
def lay(event: int, tick: int, facts: Facts, s: State) -> None:
    """Lay one cell of a bead on its column."""
    column, layer = s.event_column[event], s.event_layer[event]
    base = s.base[s.f_block[column]]
    thick = facts.sub * s.thick[layer]
    add(s.ledger, 0, thick * s.area[column] * s.event_warm[event])
    local = layer - base
    if local < 0:
        return
    first, high = row_of(local, facts), rows_below(local, facts)
    for r in range(s.rows[column], high):
        s.warm[column, r] = 0.0
        s.pending[column, r] = 0.0
        s.share[column, r] = 0.0
    stage = stage_of(base, facts)
    together()
    for r in range(first, high):
        part = 1.0 if local >= facts.coarse else thick / s.row_thick[stage, r]
        before = s.share[column, r]
        together()
        s.warm[column, r] = (s.warm[column, r] * before + s.event_warm[event] * part) / (before + part)
        s.pending[column, r] *= before / (before + part)
        s.share[column, r] = min(before + part, 1.0)
    s.rows[column] = max(s.rows[column], high)
    s.born[column] = tick
    s.top[column] = layer
    s.top_known[column] = max(s.top_known[column], layer)
    s.gaps[column] = 0
    for r in range(lowest(base, facts), s.rows[column]):
        if s.share[column, r] < 1.0 - 1e-9:
            s.gaps[column] = 1


@inlined
def set_air(coefficient: float, facts: Facts, s: State) -> None:
    """Set what faces lose to the air from now on: open tops by the first number, sides by axis."""
    s.now[0] = coefficient
    for axis in range(2):
        across = facts.across[axis]
        s.now[1 + axis] = coefficient / (across * (1.0 + coefficient * across * facts.resistance))


@called
def lay_deep(event: int, facts: Facts, s: State) -> None:
    """Lay a late bead below the columns: its heat counts, its welds are not followed."""
    column, layer = s.event_column[event], s.event_layer[event]
    block, deep = s.f_block[column], layer >> facts.shift
    thick = facts.sub * s.thick[layer] * s.area[column]
    capacity = s.body_capacity[block, deep] + thick
    together()
    warm = s.body[block, deep] * s.body_capacity[block, deep] + thick * s.event_warm[event]
    s.body[block, deep] = warm / capacity
    s.body_capacity[block, deep] = capacity


@inlined
def in_pass(event: int, direction: int, s: State) -> bool:
    """Return whether the cell beside is laid just before or after, in one pass: along a bead next to nothing flows."""
    return (s.event_pass[event] >> direction) & 1 != 0


@inlined
def stir(column: int, tick: int, s: State) -> None:
    """Mark the block of a column two cells or less from a bead that is laid: it wakes."""
    block = s.f_block[column]
    s.stirred[block] = tick
    if s.asleep[block]:
        s.wake[block] = 1
        s.due[s.f_block.shape[0] + block] = tick


@inlined
def list_stirred(start: int, stop: int, s: State) -> None:
    """List the blocks that the beads of a tick wake, each once."""
    for event in range(start, stop):
        column = s.event_column[event]
        list_woken(column, s)
        for direction in range(4):
            near = s.neighbour[column, direction]
            if near >= 0:
                list_woken(near, s)
                if s.neighbour[near, direction] >= 0:
                    list_woken(s.neighbour[near, direction], s)


@inlined
def list_woken(column: int, s: State) -> None:
    """List the block of a column if it is marked and not listed yet."""
    block = s.f_block[column]
    if s.asleep[block] and s.wake[block] == 1:
        s.wake[block] = 2
        append(s.listed, s.counts, 1, s.f_block.shape[0] + block)


@inlined
def list_blocks(tick: int, s: State) -> None:
    """List the sleeping blocks that are due."""
    me, many = team()
    for block in range(me, s.asleep.shape[0], many):
        entity = s.f_block.shape[0] + block
        if s.asleep[block] and s.due[entity] <= tick:
            append(s.listed, s.counts, 1, entity)


@inlined
def list_columns(tick: int, calm: bool, facts: Facts, s: State) -> None:
    """List the columns that are due, and those of blocks that may go to sleep."""
    mine, teams = team()
    for place in range(mine, s.counts[0], teams):
        block = s.awake[place]
        rest = calm and tick - s.stirred[block] >= facts.sleep_ticks
        if s.soon[block] > tick and not rest:
            continue
        soon = LATER
        for k in each(s.block_first[block], s.block_first[block + 1]):
            column = s.member[k]
            if rest:
                s.due[column] = tick
            if s.due[column] <= tick and s.last[column] < tick and s.rows[column] > 0:
                append(s.listed, s.counts, 1, column)
                soon = tick + 1  # what steps now will say when it steps next
            soon = min(soon, max(s.due[column], tick + 1))
        s.soon[block] = soon


@merged
def advance(first_tick: int, last_tick: int, facts: Facts, s: State, w: Work) -> None:
    """Run ticks `first_tick` to `last_tick`, laying what comes in them."""
    me, many = team()
    for tick in range(first_tick, last_tick):
        start, stop = s.tick_first[tick], s.tick_first[tick + 1]
        for event in range(start + me, stop, many):
            column = s.event_column[event]
            s.due[column] = tick
            s.soon[s.f_block[column]] = tick
            stir(column, tick, s)
            for direction in range(4):
                near = s.neighbour[column, direction]
                if near >= 0:
                    if not in_pass(event, direction, s):
                        s.due[near] = tick
                        s.soon[s.f_block[near]] = tick
                    stir(near, tick, s)
                    if s.neighbour[near, direction] >= 0:
                        stir(s.neighbour[near, direction], tick, s)
        calm = tick % facts.calm_ticks == 0
        if me == 0:
            s.counts[1] = 0
            if stop > start:
                set_air(s.event_air[start], facts, s)
        wait()
        # blocks that sleep, then columns that are due
        for kind in range(0 if calm or stop > start else 1, 2):
            if kind == 0 and calm:
                list_blocks(tick, s)
            elif kind == 0:
                if me == 0 and alone():
                    list_stirred(start, stop, s)
            else:
                list_columns(tick, calm, facts, s)
            wait()
            count = s.counts[1]
            step_listed(count, tick, facts, s, w)
            if kind == 0:
                wake_marked(count, tick, facts, s)
            else:
                for place in range(me, count, many):
                    column = s.listed[place]
                    s.due[column] = next_due(column, tick, tick - s.seen[column], facts, s)
            wait()
            if me == 0:
                s.counts[1] = 0
            wait()
        # what is laid now
        if me == 0:
            for event in range(start, stop):
                block = s.f_block[s.event_column[event]]
                while s.event_layer[event] - s.base[block] >= facts.coarse + facts.fine:
                    flush(block, facts, s)
            for event in range(start, stop):
                if s.event_layer[event] < s.base[s.f_block[s.event_column[event]]]:
                    lay_deep(event, facts, s)
        wait()
        for event in range(start + me, stop, many):
            lay(event, tick, facts, s)
        wait()
        for event in range(start + me, stop, many):
            column = s.event_column[event]
            s.seen[column] = tick
            s.last[column] = tick
            s.due[column] = tick + 1
            s.soon[s.f_block[column]] = tick + 1
            for direction in range(4):
                neighbour = s.neighbour[column, direction]
                if neighbour >= 0 and not in_pass(event, direction, s):
                    s.seen[neighbour] = tick
                    s.last[neighbour] = tick
                    s.due[neighbour] = tick + 1
                    s.soon[s.f_block[neighbour]] = tick + 1
        wait()
        if calm:
            rest_and_body(tick, facts, s)


@called
def rest_and_body(tick: int, facts: Facts, s: State) -> None:
    """Send quiet blocks to sleep and step the coarse body."""
    me, many = team()
    blocks = s.asleep.shape[0]
    count = s.counts[0]
    for place in range(me, count, many):
        block = s.awake[place]
        if tick - s.stirred[block] >= facts.sleep_ticks:
            fall_asleep(block, tick, facts, s)
    wait()
    if me == 0 and alone():
        kept = 0
        for place in range(count):
            block = s.awake[place]
            if s.asleep[block] == 0:
                s.awake[kept] = block
                kept += 1
        s.counts[0] = kept
    if tick % facts.body_ticks == 0:
        for block in range(me, blocks, many):
            for k in range(s.body_rows[block]):
                s.body_old[block, k] = s.body[block, k]
        wait()
        for block in range(me, blocks, many):
            step_body(block, tick, facts, s)
    wait()
