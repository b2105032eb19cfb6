"""The coarse body below the columns."""

# mypy: disable-error-code="untyped-decorator, no-any-return"

from __future__ import annotations

from typing import Any

from voidless.physics.heat.history.state import Facts, State

from .compiled import ONE, add, called, each, inlined, span, together
from .rates import rate_integral
from .rows import lowest, row_of, rows_below, stage_of

__all__ = ["flush", "step_body"]


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
        raise_column(column, base, facts, s)
    if base >= 0:
        s.body[block, deep] = energy / capacity if capacity > 0.0 else 0.0
        s.body_capacity[block, deep] = capacity
        s.body_air[block, deep] = air
        s.body_rows[block] = deep + 1
    s.base[block] = base + facts.group
    together()


@called
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


@called
def step_body(block: int, tick: int, facts: Facts, s: State) -> None:
    """Step the coarse rows below a block: implicit up and down, explicit sideways."""
    count = s.body_rows[block]
    together()
    seconds = span(s.body_last[block], tick, facts, s)
    s.body_last[block] = tick
    if count == 0 or seconds <= 0.0:
        return
    cells = s.block_cells[block]
    for k in range(count):
        capacity = s.body_capacity[block, k]
        warm = s.body[block, k]
        loss = s.body_air[block, k] * s.now[0]
        right = capacity * warm + s.body_pending[block, k]
        s.body_pending[block, k] = 0.0
        for direction in range(4):
            beside = s.block_beside[block, direction]
            if beside >= 0 and k < s.body_rows[beside] and s.body_capacity[beside, k] > 0.0:
                width = facts.block_across[direction // 2]
                touching = min(capacity / cells, s.body_capacity[beside, k] / s.block_cells[beside])
                speed = facts.diffusivity * s.block_border[block, direction] / width * touching
                right += speed * seconds * (s.body_old[beside, k] - s.body_old[block, k])
        up = 0.0
        if k + 1 < count and capacity > 0.0 and s.body_capacity[block, k + 1] > 0.0:
            full = min(capacity / s.body_thick[k], s.body_capacity[block, k + 1] / s.body_thick[k + 1])
            up = facts.diffusivity * full * 2.0 / (s.body_thick[k] + s.body_thick[k + 1])
        down = 0.0
        if k > 0:
            down = s.body_up[block, k - 1]
        elif facts.bed_contact > 0.0:
            filled = capacity / s.body_thick[0]
            bed = filled / (s.body_thick[0] / (2.0 * facts.diffusivity) + 1.0 / facts.bed_contact)
            loss += bed
            right += seconds * bed * facts.bed
        if capacity <= 0.0:
            capacity = 1.0
        s.body_up[block, k] = up
        pivot = capacity + seconds * (up + down + loss)
        if k > 0:
            factor = seconds * down * s.body_inverse[block, k - 1]
            pivot -= seconds * down * factor
            right += factor * s.body[block, k - 1]
        s.body_inverse[block, k] = 1.0 / pivot
        s.body[block, k] = right
    for back in range(count):
        k = count - 1 - back
        high = s.body[block, k + 1] if back > 0 else 0.0
        value = (s.body[block, k] + seconds * s.body_up[block, k] * high) * s.body_inverse[block, k]
        s.body[block, k] = value
        add(s.ledger, 1, s.body_air[block, k] * s.now[0] * value * seconds)
    if facts.bed_contact > 0.0:
        filled = s.body_capacity[block, 0] / s.body_thick[0]
        bed = filled / (s.body_thick[0] / (2.0 * facts.diffusivity) + 1.0 / facts.bed_contact)
        add(s.ledger, 2, bed * (s.body[block, 0] - facts.bed) * seconds)
    heal_body(block, count, seconds, facts, s)


@inlined
def heal_body(block: int, count: int, seconds: float, facts: Facts, s: State) -> None:
    """Add the step's share to the welds in the body: layer by layer, along the slope through its row."""
    for k in range(count):
        thick = s.body_thick[k]
        old, new = s.body_old[block, k], s.body[block, k]
        old_slope, slope = (
            slope_at(s.body_old, block, k, count, facts, s),
            slope_at(s.body, block, k, count, facts, s),
        )
        if max(old + 0.5 * thick * abs(old_slope), new + 0.5 * thick * abs(slope)) <= facts.stop:
            continue
        place = -0.5 * thick  # of the lower face of the layer
        for layer in range(k * facts.group, min((k + 1) * facts.group, s.body_healed.shape[1])):
            up = facts.sub * s.thick[layer]
            for part in range(2):  # through the lower face, beside the middle
                z = place + 0.5 * part * up
                gained = rate_integral(
                    old + old_slope * z, new + slope * z, seconds, 0.0, 0.0, 0.0, facts, s.rates
                )
                s.body_healed[block, layer, part] += gained
            place += up


@inlined
def slope_at(body: Any, block: int, k: int, count: int, facts: Facts, s: State) -> float:
    """Return how temperature rises through a row of the body. [K/m]"""
    low = k if k == 0 or s.body_capacity[block, k - 1] <= 0.0 else k - 1
    high = k if k + 1 >= count or s.body_capacity[block, k + 1] <= 0.0 else k + 1
    slope = 0.0
    if high > low:
        apart = 0.5 * (s.body_thick[low] + s.body_thick[high]) + (s.body_thick[k] if high - low == 2 else 0.0)
        slope = (body[block, high] - body[block, low]) / apart
    if k == 0:
        slope = 0.5 * (
            slope + (bed_slope(body[block, 0], s.body_thick[0], facts) if facts.bed_contact > 0.0 else 0.0)
        )
    return slope


@inlined
def bed_slope(warm: float, thick: float, facts: Facts) -> float:
    """Return how temperature rises in the lowest row: what flows into the bed flows through it. [K/m]"""
    return (warm - facts.bed) / (0.5 * thick + facts.diffusivity / facts.bed_contact)
