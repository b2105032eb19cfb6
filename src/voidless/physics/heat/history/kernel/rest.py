"""Blocks that fall asleep and wake."""

# mypy: disable-error-code="untyped-decorator, no-any-return"

from __future__ import annotations

from voidless.physics.heat.history.state import Facts, State

from .compiled import append, called, each, inlined, team, together, wait
from .rows import lowest
from .schedule import next_due

__all__ = ["fall_asleep", "wake_marked"]


@inlined
def wake_marked(count: int, tick: int, facts: Facts, s: State) -> None:
    """Wake listed blocks that an event has marked: columns take up what their block went through."""
    mine, teams = team()
    fine = s.f_block.shape[0]
    for place in range(mine, count, teams):
        entity = s.listed[place]
        block = entity - fine
        marked = s.wake[block]
        together()
        if marked == 0:
            s.due[entity] = tick + block_step(tick - s.stirred[block], facts)
            continue
        s.wake[block] = 0
        s.asleep[block] = 0
        s.soon[block] = tick
        for k in range(s.block_first[block], s.block_first[block + 1]):
            column = s.member[k]
            for r in each(0, s.rows[column]):
                if (
                    s.share[column, r] > 0.0
                ):  # what is not there stays at nothing, or it would seem to lose heat
                    s.warm[column, r] += s.warm[entity, r] - s.before[block, r]
            s.under[column] = s.under[entity]
            s.last[column] = tick
            s.due[column] = next_due(column, tick, tick - s.seen[column], facts, s)
        hand_out(block, s)
        append(s.awake, s.counts, 0, block)
    wait()


@inlined
def block_step(quiet: int, facts: Facts) -> int:
    """Return the ticks of a sleeping block's step: a twelfth of its quiet time, in whole shortest steps."""
    return facts.block_ticks * min(max(quiet // (12 * facts.block_ticks), 1), facts.block_most)


@inlined
def hand_out(block: int, s: State) -> None:
    """Give the healing of a sleeping block to the welds of its columns."""
    base = s.base[block]
    for local in each(0, s.block_healed.shape[1]):
        through, beside = s.block_healed[block, local, 0], s.block_healed[block, local, 1]
        if through == 0.0 and beside == 0.0:
            continue
        s.block_healed[block, local, 0] = 0.0
        s.block_healed[block, local, 1] = 0.0
        for k in range(s.block_first[block], s.block_first[block + 1]):
            column = s.member[k]
            layer = base + local
            if s.first[column] <= layer <= s.top_known[column]:
                cell = s.cell_start[column] - s.first[column] + layer
                s.healed[cell, 0] += through
                for direction in range(4):
                    s.healed[cell, 1 + direction] += beside


@called
def fall_asleep(block: int, tick: int, facts: Facts, s: State) -> None:
    """Put the mean of a block's columns into the block."""
    entity = s.f_block.shape[0] + block
    most, top, under = 0, -1, 0.0
    for k in range(s.block_first[block], s.block_first[block + 1]):
        under += s.under[s.member[k]] * s.area[s.member[k]]
        most = max(most, s.rows[s.member[k]])
        top = max(top, s.top_known[s.member[k]])
    s.rows[entity] = most
    s.top_known[entity] = top
    s.gaps[entity] = 0
    cells = s.block_cells[block]
    s.under[entity] = under / cells
    for r in each(0, most):
        total, filled = 0.0, 0.0
        for k in range(s.block_first[block], s.block_first[block + 1]):
            column = s.member[k]
            if r < s.rows[column] and s.share[column, r] > 0.0:
                s.warm[column, r] += s.pending[column, r]
                s.pending[column, r] = 0.0
                part = s.share[column, r] * s.area[column]
                total += part * s.warm[column, r]
                filled += part
        s.share[entity, r] = filled / cells
        if filled < cells * (1.0 - 1e-9) and r >= lowest(s.base[block], facts):
            s.gaps[entity] = 1
        s.warm[entity, r] = total / filled if filled > 0.0 else 0.0
        s.before[block, r] = s.warm[entity, r]
        s.pending[entity, r] = 0.0
    s.asleep[block] = 1
    s.slept[block] = tick
    s.last[entity] = tick
    s.due[entity] = (tick // facts.block_ticks + 1) * facts.block_ticks  # together with the body below
