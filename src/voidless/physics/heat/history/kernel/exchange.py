"""What a column exchanges with its sides, the ground and the air."""

# mypy: disable-error-code="untyped-decorator, no-any-return"

from __future__ import annotations

import math

from voidless.physics.heat.history.state import Facts, State, Work

from .compiled import (
    CAPACITY,
    LOSS,
    ONE,
    ROW,
    SOURCE,
    START,
    UP,
    add,
    called,
    inlined,
    nth,
    rows_in,
    span,
)
from .ground import filled, ground, thinner
from .rows import lowest, row_at, row_of, stage_of
from .sides import exchange, lose

__all__ = ["contact_seconds", "gather"]


@inlined
def contact_seconds(since: float, seconds: float, crossing: float) -> float:
    """
    Return the time that a coarse face must exchange to carry what two fresh half-spaces carry.

    The flux between half-spaces that touched t ago is k ΔT/√(π α t), twice the one between their means over
    d at t = d²/(4 π α), the crossing; before it the exact flux counts.
    """
    if since >= crossing:
        return seconds
    young = min(since + seconds, crossing)
    return 2.0 * math.sqrt(crossing) * (math.sqrt(young) - math.sqrt(since)) + since + seconds - young


@inlined
def gather(entity: int, lane: int, tick: int, facts: Facts, s: State, w: Work) -> None:
    """Put one column into a lane: temperatures, capacities, conductances and what came from the sides."""
    fine = s.f_block.shape[0]
    is_block = entity >= fine
    block = entity - fine if is_block else s.f_block[entity]
    rows = s.rows[entity]
    base = s.base[block]
    w.seconds[lane] = span(s.last[entity], tick, facts, s)
    w.rows[lane] = rows
    w.below[lane] = 0.0
    w.below_at[lane] = 0.0
    if rows == 0:
        return
    warm, pending = s.warm[nth(entity)], s.pending[nth(entity)]
    for r in rows_in(0, rows):
        w.own[r] = warm[r]
        w.got[r] = pending[r]
    for r in rows_in(0, rows):
        w.lost[r] = 0.0
        pending[r] = 0.0
    if is_block:
        sideways_block(entity, block, base, lane, tick, facts, s, w)
    else:
        for direction in range(4):
            sideways(entity, base, direction, lane, tick, facts, s, w)
    share, thick = s.share[nth(entity)], s.row_thick[stage_of(base, facts)]
    up, x = s.row_up[stage_of(base, facts)], w.x
    bottom = nth(lowest(base, facts))
    for r in rows_in(0, rows):
        own = share[r]
        # the lowest faces the bed or the body
        below = own if r == bottom else (share[r - ONE] if r > nth(0) else 0.0)
        above = share[r + ONE] if r + ONE < nth(rows) else 0.0
        capacity = own * thick[r] if own > 0.0 else thick[r]
        i = r * ROW + nth(lane)
        x[i + START] = w.own[r]
        x[i + CAPACITY] = capacity
        x[i + SOURCE] = w.got[r] * capacity
        x[i + UP] = up[r] * min(own, above)
        loss = w.lost[r] * capacity
        if own > above:
            loss += (own - above) * open_face(thick[r], facts, s)
        if own > below:
            loss += (own - below) * open_face(thick[r], facts, s)
        x[i + LOSS] = loss
    thinner(rows, stage_of(base, facts), share, lane, facts, s, w)
    ground(entity, block, base, lane, tick, facts, s, w)


@inlined
def open_face(thick: float, facts: Facts, s: State) -> float:
    """Return the conductance from the middle of a row to the air. [m/s]"""
    return s.now[0] / (1.0 + s.now[0] * thick * facts.resistance)


@inlined
def sideways(
    entity: int, base: int, direction: int, lane: int, tick: int, facts: Facts, s: State, w: Work
) -> None:
    """Exchange heat of a column with what lies on one side: a column, a block, the body or air."""
    fine = s.f_block.shape[0]
    rows = s.rows[entity]
    axis = direction >> 1
    face, ratio, air = 1.0, 1.0, s.now[1 + axis]
    if s.cut[entity] != 0:  # of whole columns nothing has to be looked up
        shares = s.faces[nth(entity), nth(direction)]
        face, ratio, air = shares[0], shares[1], air * shares[2]
    neighbour = s.neighbour[entity, direction]
    if neighbour < 0:
        lose(0, rows, air, w)
        return
    beside = s.f_block[neighbour]
    asleep = s.asleep[beside] == 1
    partner = fine + beside if asleep else neighbour
    speed = face * (facts.to_block[axis] if asleep else facts.to_column[axis])
    last_there = s.slept[beside] if asleep else s.last[neighbour]
    seconds = span(max(s.last[entity], last_there), tick, facts, s)
    # how much more the other side takes of what is exchanged; one that steps now takes it by itself
    if asleep:
        ratio = s.area[entity] / s.block_cells[beside]
    level = facts.level * (1.0 + ratio)
    weight = ratio if asleep or s.due[neighbour] > tick else 0.0
    if s.base[beside] != base or s.gaps[entity] == 1 or s.gaps[partner] == 1:
        to_body = face * facts.to_block[axis] * w.seconds[lane]
        piecewise(
            entity,
            neighbour,
            partner,
            base,
            direction,
            tick,
            speed,
            seconds,
            level,
            weight,
            to_body,
            air,
            facts,
            s,
            w,
        )
        return
    high = min(rows, s.rows[partner])
    lose(high, rows, air, w)
    low = lowest(base, facts)
    bulk = high
    near = max(s.seen[entity], s.seen[neighbour])  # the same for both sides
    both = min(s.top[entity], s.top[neighbour])
    # within a pass nothing is fresh but at its ends
    if (
        not asleep
        and span(near, tick, facts, s) - seconds < facts.crossing[axis]
        and ((s.meets[entity] >> direction) & 1 != 0 or s.top[entity] != s.top[neighbour])
    ):
        bulk = min(max(row_of(max(both - 1 - base, 0), facts), low), high)
    exchange(low, bulk, partner, levelled(speed * seconds, level), weight, s, w)
    if bulk < high:
        fresh = face_seconds(entity, neighbour, both, direction, tick, seconds, facts, s)
        exchange(bulk, high, partner, levelled(speed * fresh, level), weight, s, w)


@inlined
def levelled(z: float, level: float) -> float:
    """Return what two columns exchange in a step that began with their difference, which falls as they do."""
    return z / (1.0 + z * level)


@inlined
def touched(entity: int, neighbour: int, s: State) -> int:
    """Return the tick since which two columns differ: when the later of their top beads was laid, or the upper one."""
    mine, theirs = s.top[entity], s.top[neighbour]
    if mine == theirs:
        return max(s.born[entity], s.born[neighbour])
    return s.born[entity] if mine > theirs else s.born[neighbour]


@inlined
def face_seconds(
    entity: int, neighbour: int, layer: int, direction: int, tick: int, seconds: float, facts: Facts, s: State
) -> float:
    """
    Return for how long a face between two columns exchanges, longer while their contact is fresh.

    Fresh is the contact of two passes, and what lies below a bead that has none beside it yet; a layer down as well.
    """
    both = min(s.top[entity], s.top[neighbour])
    if layer < both - 1:
        return seconds
    if s.top[entity] == s.top[neighbour] and not welded(entity, neighbour, both, direction, s):
        return seconds
    since = max(span(touched(entity, neighbour, s), tick, facts, s) - seconds, 0.0)
    return contact_seconds(since, seconds, facts.crossing[direction >> 1] * s.faces[entity, direction, 3])


@inlined
def welded(entity: int, neighbour: int, layer: int, direction: int, s: State) -> bool:
    """Return whether two passes of the nozzle meet in a face; cells of one pass follow each other without a step."""
    if layer < s.first[entity] or layer < s.first[neighbour]:
        return False
    mine = s.welds[nth(s.cell_start[entity] - s.first[entity] + layer)]
    other = s.welds[nth(s.cell_start[neighbour] - s.first[neighbour] + layer)]
    return ((mine >> direction) | (other >> (direction ^ 1))) & 1 != 0


@called
def piecewise(
    entity: int,
    neighbour: int,
    partner: int,
    base: int,
    direction: int,
    tick: int,
    speed: float,
    seconds: float,
    level: float,
    weight: float,
    to_body: float,
    air: float,
    facts: Facts,
    s: State,
    w: Work,
) -> None:
    """Exchange heat sideways where rows do not match or are not whole, layer by layer and part by part."""
    beside = s.f_block[neighbour]
    other_base = s.base[beside]
    stage, other_stage = stage_of(base, facts), stage_of(other_base, facts)
    asleep = partner != neighbour
    for layer in range(max(base, s.first[entity]), s.top_known[entity] + 1):
        worth = seconds
        if not asleep:
            worth = face_seconds(entity, neighbour, layer, direction, tick, seconds, facts, s)
        # both sides must find the same layers beside each other, or what one gives the other does not take
        there = layer - other_base
        meets = layer <= s.top_known[partner] and (asleep or layer >= s.first[neighbour])
        for k in range(facts.sub):
            mine = row_at(layer - base, k, facts)
            if mine >= s.rows[entity]:
                continue
            share = s.share[entity, mine]
            if share <= 0.0:
                continue
            full = fullness(share, entity, layer, base, facts, s)
            part = s.thick[layer] / (s.row_thick[stage, mine] * share)
            if there < 0:
                deep = layer >> facts.shift
                if s.body_capacity[beside, deep] > 0.0:
                    moved = to_body * (s.body[beside, deep] - w.own[mine]) * part
                    moved *= full * filled(beside, deep, s)
                    w.got[mine] += moved
                    back = moved * share * s.row_thick[stage, mine] * s.area[entity]
                    add(s.body_pending, (beside, deep), -back)
                else:
                    w.lost[mine] += air * part * full
                continue
            theirs = row_at(there, k, facts)
            other = s.share[partner, theirs] if meets and theirs < s.rows[partner] else 0.0
            touching = other
            if not asleep:
                touching = fullness(other, neighbour, layer, other_base, facts, s)
            touching = min(full, touching)
            w.lost[mine] += air * part * (full - touching)
            if touching > 0.0:
                moved = (
                    levelled(speed * worth, level) * (s.warm[partner, theirs] - w.own[mine]) * part * touching
                )
                w.got[mine] += moved
                if weight > 0.0:
                    back = moved * share * s.row_thick[stage, mine]
                    back /= other * s.row_thick[other_stage, theirs]
                    add(s.pending, (partner, theirs), -weight * back)


@inlined
def fullness(share: float, column: int, layer: int, base: int, facts: Facts, s: State) -> float:
    """Return how full a layer of a column is whose row has that share: thick rows may hold a layer less than others."""
    if layer - base >= facts.coarse:
        return share
    pair = base + ((layer - base) >> 1 << 1)
    if s.first[column] <= pair and pair < s.top_known[column]:
        return share
    return min(2.0 * share, 1.0)


@inlined
def sideways_block(
    entity: int, block: int, base: int, lane: int, tick: int, facts: Facts, s: State, w: Work
) -> None:
    """Exchange heat of a sleeping block with sleeping neighbours, the coarse body and the air beside it."""
    fine = s.f_block.shape[0]
    rows = s.rows[entity]
    cells = s.block_cells[block]
    stage = stage_of(base, facts)
    lose(0, rows, s.block_air[block] * s.now[0] / cells, w)
    for direction in range(4):
        beside = s.block_beside[block, direction]
        if beside < 0:
            continue
        border = s.block_border[block, direction]
        speed = facts.diffusivity * border / facts.block_across[direction // 2] / cells
        air = s.now[0] * border / cells
        partner = fine + beside
        if s.base[beside] > base:
            for layer in range(max(base, 0), s.base[beside]):
                deep = layer >> facts.shift
                mine = row_of(layer - base, facts)
                if mine < rows and s.body_capacity[beside, deep] > 0.0 and s.share[entity, mine] > 0.0:
                    part = s.layer_thick[layer] / s.row_thick[stage, mine]
                    moved = speed * w.seconds[lane] * (s.body[beside, deep] - w.own[mine]) * part
                    moved *= filled(beside, deep, s)
                    w.got[mine] += moved
                    back = moved * s.share[entity, mine] * s.row_thick[stage, mine] * cells
                    add(s.body_pending, (beside, deep), -back)
        if s.asleep[beside] == 0 or s.base[beside] != base:
            continue
        seconds = span(max(s.last[entity], s.last[partner]), tick, facts, s)
        books = s.due[partner] > tick
        high = min(rows, s.rows[partner])
        lose(high, rows, air, w)
        for r in rows_in(lowest(base, facts), high):
            share, other = s.share[entity, r], s.share[partner, r]
            if share <= 0.0:
                continue
            touching = min(share, other) / share
            w.lost[r] += air * (1.0 - touching)
            if touching > 0.0:
                moved = speed * seconds * touching * (s.warm[partner, r] - w.own[r])
                w.got[r] += moved
                if books:
                    back = moved * share * cells / (other * s.block_cells[beside])
                    add(s.pending, (partner, r), -back)
