"""Temperature within a row: the parabola whose means over the row and those above and below are theirs."""

# mypy: disable-error-code="untyped-decorator, no-any-return"

from __future__ import annotations

from typing import Any

from voidless.physics.heat.history.state import Facts, State

from .compiled import ONE, each, inlined
from .rows import stage_of

__all__ = ["above_body", "at_bed", "bend", "middle_slope", "off_line", "within"]


@inlined
def bend(down: float, up: float, below: float, own: float, above: float) -> float:
    """
    Return how the slope rises through a row [K/m²], from the slopes between its mean and those of its neighbours.

    Where the slope at the lower face is known instead, a row as thick below it counts.
    """
    return 3.0 * (up - down) / (below + own + above)


@inlined
def middle_slope(up: float, bent: float, own: float, above: float) -> float:
    """Return the slope in the middle of a row, from the one between its mean and that of the row above. [K/m]"""
    return up - bent * (own + 2.0 * above) / 6.0


@inlined
def within(mean: float, slope: float, bent: float, own: float, place: float) -> float:
    """Return the temperature at a place above a row's middle."""
    return mean + slope * place + bent * (0.5 * place * place - own * own / 24.0)


@inlined
def at_bed(warm: float, thick: float, facts: Facts) -> float:
    """Return how temperature rises in the lowest row: what flows into the bed flows through it. [K/m]"""
    if facts.bed_contact <= 0.0:
        return 0.0
    return (warm - facts.bed) / (0.5 * thick + facts.diffusivity / facts.bed_contact)


@inlined
def row_bend(t: Any, r: Any, low: Any, base: int, deep: float, facts: Facts, s: State) -> float:
    """Return the bend of a column's coarse row, over the body or the bed where it is the lowest. [K/m²]"""
    stage = stage_of(base, facts)
    near, curve = s.row_near[stage], s.row_curve[stage]
    up = (t[r + ONE] - t[r]) * near[r]
    if r > low:
        return (up - (t[r] - t[r - ONE]) * near[r - ONE]) * curve[r]
    own, above = s.row_thick[stage, r], s.row_thick[stage, r + ONE]
    if base > 0:
        below = s.body_thick[(base >> facts.shift) - 1]
        return bend(2.0 * (t[r] - deep) / (own + below), up, below, own, above)
    return bend(at_bed(t[r], own, facts), up, own, own, above)


@inlined
def off_line(
    t: Any, local: int, r: Any, low: Any, rows: Any, base: int, deep: float, facts: Facts, s: State
) -> float:
    """
    Return how far the temperature of a weld in or below a coarse row is off what a straight line gives. [K]

    Between the middles of two rows that is the line through their means, within one its mean; the top one is straight.
    """
    thick = s.row_thick[stage_of(base, facts)]
    bent = 0.0
    if local < facts.coarse and r + ONE < rows:
        bent = row_bend(t, r, low, base, deep, facts, s)
    if local < facts.coarse and local & 1:
        return -bent * thick[r] * thick[r] * (1.0 / 24.0)
    if r == low:
        below = s.body_thick[(base >> facts.shift) - 1] if base > 0 else 0.0
        return -bent * thick[r] * below * (1.0 / 6.0)
    beneath = row_bend(t, r - ONE, low, base, deep, facts, s)
    bent = 0.5 * (bent + beneath) if local < facts.coarse else beneath
    return -bent * thick[r] * thick[r - ONE] * (1.0 / 6.0)


@inlined
def above_body(block: int, facts: Facts, s: State) -> float:
    """Return the mean temperature of what lies on the body, that of the body's top row where nothing does. [K]"""
    base = s.base[block]
    entity = s.f_block.shape[0] + block
    if s.asleep[block] and s.rows[entity] > 0 and s.share[entity, 0] > 0.0:
        return s.warm[entity, 0]
    total, filled = 0.0, 0.0
    for k in each(s.block_first[block], s.block_first[block + 1]):
        column = s.member[k]
        if s.rows[column] > 0:
            part = s.share[column, 0] * s.area[column]
            total += part * s.warm[column, 0]
            filled += part
    return total / filled if filled > 0.0 else s.body[block, (base >> facts.shift) - 1]
