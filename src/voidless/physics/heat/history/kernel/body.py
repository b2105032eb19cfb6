"""The coarse body below the columns."""

# mypy: disable-error-code="untyped-decorator, no-any-return"

from __future__ import annotations

from typing import Any

from voidless.physics.heat.history.state import Facts, State

from .bend import above_body, at_bed, bend, middle_slope, within
from .compiled import ONE, add, called, each, inlined, span, together
from .rates import rate_integral
from .rows import lowest, row_of, rows_below, stage_of

__all__ = ["flush", "step_body"]

THETA = 0.55  # weight of the end of a step: near the trapezoid rule, and damps


@called
def flush(block: int, facts: Facts, s: State) -> None:
    """Raise a block's window: its lowest rows become a row of the body, its lowest fine layers coarse rows."""
    base = s.base[block]
    deep = base >> facts.shift
    stage = stage_of(base, facts)
    energy, capacity, air = 0.0, 0.0, 0.0
    together()
    for k in each(s.block_first[block], s.block_first[block + 1]):
        column = s.member[k]
        if s.rows[column] == 0:
            continue
        if base >= 0:
            for r in range(min(facts.group >> 1, s.rows[column])):
                filled = s.share[column, r] * s.row_thick[stage, r] * s.area[column]
                energy += filled * (s.warm[column, r] + s.pending[column, r])
                capacity += filled
                above = s.share[column, r + 1] if r + 1 < s.rows[column] else 0.0
                air += max(s.share[column, r] - above, 0.0) * s.area[column]
                for direction in range(4):
                    if s.neighbour[column, direction] < 0:
                        air += filled * s.faces[column, direction, 2] / facts.across[direction // 2]
        s.under[column] = 0.0
        raise_column(column, base, facts, s)
    if base >= 0:
        s.body[block, deep] = energy / capacity if capacity > 0.0 else 0.0
        s.body_capacity[block, deep] = capacity
        s.body_air[block, deep] = air
        s.body_rows[block] = deep + 1
    s.base[block] = base + facts.group
    together()


@inlined
def raise_column(column: int, base: int, facts: Facts, s: State) -> None:
    """Move a column's rows down by one group of layers, keeping its energy above the lowest group."""
    warm, pending, share = s.warm[column], s.pending[column], s.share[column]
    stage = stage_of(base, facts)
    group, half, rows = facts.group, facts.coarse >> 1, s.rows[column]
    for r in range(half):
        if r + (group >> 1) < half:
            source = r + (group >> 1)
            there = source < rows
            warm[r] = warm[source] if there else 0.0
            pending[r] = pending[source] if there else 0.0
            share[r] = share[source] if there else 0.0
            continue
        energy, extra, filled = 0.0, 0.0, 0.0
        first = facts.coarse + 2 * (r + (group >> 1) - half)
        for source in range(row_of(first, facts), row_of(first, facts) + 2 * facts.sub):
            if source < rows:
                part = share[source] * s.row_thick[stage, source]
                filled += part
                energy += part * warm[source]
                extra += part * pending[source]
        warm[r] = energy / filled if filled > 0.0 else 0.0
        pending[r] = extra / filled if filled > 0.0 else 0.0
        whole = s.row_thick[stage + ONE, r]
        share[r] = min(filled / whole, 1.0)
    for r in range(half, share.shape[0]):
        source = r + group * facts.sub
        there = source < rows
        warm[r] = warm[source] if there else 0.0
        pending[r] = pending[source] if there else 0.0
        share[r] = share[source] if there else 0.0
    new_base = base + group
    s.rows[column] = rows_below(s.top_known[column] - new_base, facts)
    s.gaps[column] = 0
    for r in range(lowest(new_base, facts), s.rows[column]):
        if share[r] < 1.0 - 1e-9:
            s.gaps[column] = 1


@inlined
def step_body(block: int, tick: int, facts: Facts, s: State) -> None:
    """Step the coarse rows below a block: implicit up and down, explicit sideways."""
    count = s.body_rows[block]
    together()
    seconds = span(s.body_last[block], tick, facts, s)
    s.body_last[block] = tick
    if count == 0 or seconds <= 0.0:
        return
    forget_given(block, s)
    before, after = (1.0 - THETA) * seconds, THETA * seconds
    bed, down = to_bed(block, facts, s), 0.0
    for k in range(count):
        capacity = s.body_capacity[block, k]
        warm = s.body_old[block, k]
        loss = s.body_air[block, k] * s.now[0]
        right = capacity * warm + s.body_pending[block, k] + seconds * from_beside(block, k, facts, s)
        s.body_pending[block, k] = 0.0
        if k == 0:
            loss += bed
            right += seconds * bed * facts.bed
        up = upwards(block, k, count, facts, s)
        s.body_up[block, k] = up
        right -= before * loss * warm
        if up > 0.0:
            right += before * up * (s.body_old[block, k + 1] - warm)
        pivot = (capacity if capacity > 0.0 else 1.0) + after * (up + down + loss)
        if down > 0.0:
            factor = after * down * s.body_inverse[block, k - 1]
            pivot -= after * down * factor
            right += factor * s.body[block, k - 1] + before * down * (s.body_old[block, k - 1] - warm)
        s.body_inverse[block, k] = 1.0 / pivot
        s.body[block, k] = right
        down = up
    for back in range(count):
        k = count - 1 - back
        high = s.body[block, k + 1] if back > 0 else 0.0
        value = (s.body[block, k] + after * s.body_up[block, k] * high) * s.body_inverse[block, k]
        s.body[block, k] = value
        mean = THETA * value + (1.0 - THETA) * s.body_old[block, k]
        add(s.ledger, 1, s.body_air[block, k] * s.now[0] * mean * seconds)
        if k == 0:
            add(s.ledger, 2, bed * (mean - facts.bed) * seconds)
    heal_body(block, count, seconds, facts, s)


@inlined
def forget_given(block: int, s: State) -> None:
    """Begin anew to count what columns give the body: it has it now."""
    if s.asleep[block] != 0:
        s.under[s.f_block.shape[0] + block] = 0.0
        return
    for k in each(s.block_first[block], s.block_first[block + 1]):
        s.under[s.member[k]] = 0.0


@inlined
def from_beside(block: int, k: int, facts: Facts, s: State) -> float:
    """Return what flows into a row of the body from the rows beside it. [K m/s]"""
    flow = 0.0
    for direction in range(4):
        beside = s.block_beside[block, direction]
        if beside >= 0 and k < s.body_rows[beside] and s.body_capacity[beside, k] > 0.0:
            width = facts.block_across[direction // 2]
            touching = min(
                s.body_capacity[block, k] / s.block_cells[block],
                s.body_capacity[beside, k] / s.block_cells[beside],
            )
            speed = facts.diffusivity * s.block_border[block, direction] / width * touching
            flow += speed * (s.body_old[beside, k] - s.body_old[block, k])
    return flow


@inlined
def upwards(block: int, k: int, count: int, facts: Facts, s: State) -> float:
    """Return the conductance from a row of the body to the one above. [m/s]"""
    if k + 1 >= count or s.body_capacity[block, k] <= 0.0 or s.body_capacity[block, k + 1] <= 0.0:
        return 0.0
    own, above = s.body_thick[k], s.body_thick[k + 1]
    full = min(s.body_capacity[block, k] / own, s.body_capacity[block, k + 1] / above)
    return facts.diffusivity * full * 2.0 / (own + above)


@inlined
def to_bed(block: int, facts: Facts, s: State) -> float:
    """Return the conductance from the lowest row of the body to the bed. [m/s]"""
    if facts.bed_contact <= 0.0:
        return 0.0
    filled = s.body_capacity[block, 0] / s.body_thick[0]
    return filled / (s.body_thick[0] / (2.0 * facts.diffusivity) + 1.0 / facts.bed_contact)


@inlined
def heal_body(block: int, count: int, seconds: float, facts: Facts, s: State) -> None:
    """Add the step's share to the welds in the body: layer by layer, along the parabola through its row."""
    rise = above_body(block, facts, s) - s.body[block, count - 1]
    for k in range(count):
        thick = s.body_thick[k]
        old, new = s.body_old[block, k], s.body[block, k]
        old_slope, old_bend = through_row(s.body_old, rise, block, k, count, facts, s)
        slope, bent = through_row(s.body, rise, block, k, count, facts, s)
        most = max(
            old + 0.5 * thick * abs(old_slope) + thick * thick * abs(old_bend) / 12.0,
            new + 0.5 * thick * abs(slope) + thick * thick * abs(bent) / 12.0,
        )
        if most <= facts.stop:
            continue
        place = -0.5 * thick  # of the lower face of the layer
        for layer in range(k * facts.group, min((k + 1) * facts.group, s.body_healed.shape[1])):
            up = facts.sub * s.thick[layer]
            for part in range(2):  # through the lower face, beside the middle
                z = place + 0.5 * part * up
                before, after = within(old, old_slope, old_bend, thick, z), within(new, slope, bent, thick, z)
                gained = rate_integral(before, after, seconds, 0.0, 0.0, 0.0, facts, s.rates)
                s.body_healed[block, layer, part] += gained
            place += up


@inlined
def through_row(
    body: Any, rise: float, block: int, k: int, count: int, facts: Facts, s: State
) -> tuple[float, float]:
    """Return how temperature rises in the middle of a row of the body, and how that does. [K/m], [K/m²]"""
    own, below = s.body_thick[k], s.body_thick[k]
    if k == 0 or s.body_capacity[block, k - 1] <= 0.0:
        down = at_bed(body[block, k], own, facts) if k == 0 else 0.0
    else:
        below = s.body_thick[k - 1]
        down = 2.0 * (body[block, k] - body[block, k - 1]) / (own + below)
    if k + 1 < count:
        if s.body_capacity[block, k + 1] <= 0.0:
            return down, 0.0
        above, rise = s.body_thick[k + 1], body[block, k + 1] - body[block, k]
    else:
        above = s.row_thick[stage_of(s.base[block], facts), 0]
    up = 2.0 * rise / (own + above)
    bent = bend(down, up, below, own, above)
    return middle_slope(up, bent, own, above), bent
