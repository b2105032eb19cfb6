"""What a heat history holds while it runs: facts, state and scratch as plain tuples of arrays."""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np

from voidless.physics.heat.history.grid import Cells
from voidless.physics.heat.history.types import Method, Polymer, Surroundings

__all__ = ["LATER", "LEAST", "Facts", "State", "Work", "facts_of", "state_of", "work_of"]

_RATE_STEP = 0.25  # [K] of the table of healing rates; linear between, error of the rate below 1e-4
LEAST = 1e-5  # a healing integral that makes no difference: at a healing of 0.3 an eighth of a percent
_NEVER = -(10**8)
LATER = 2**30  # a tick that is not reached; all fit 32 bits


class Facts(NamedTuple):
    """Numbers that do not change during a run; temperatures against the air. SI."""

    tick: float
    diffusivity: float
    stop: float
    rate_steps: float
    bed: float
    bed_contact: float
    grade: float
    across: tuple[float, float]
    block_across: tuple[float, float]
    crossing: tuple[float, float]
    to_column: tuple[float, float]
    to_block: tuple[float, float]
    resistance: float
    part: float
    level: float
    sub: int
    coarse: int
    fine: int
    group: int
    shift: int
    side_ticks: int
    block_ticks: int
    block_most: int
    sleep_ticks: int
    calm_ticks: int
    body_ticks: int


class State(NamedTuple):
    """Arrays per column (blocks after the columns where both count), per block, per cell and per event."""

    # columns, then blocks
    warm: Any
    pending: Any
    under: Any
    share: Any
    rows: Any
    gaps: Any
    top_known: Any
    slot: Any
    last: Any
    due: Any
    steps: Any
    # columns
    f_block: Any
    neighbour: Any
    seen: Any
    born: Any
    top: Any
    first: Any
    area: Any
    faces: Any
    cut: Any
    cell_start: Any
    sides: Any
    meets: Any
    odd: Any
    # blocks
    member: Any
    block_first: Any
    block_cells: Any
    block_beside: Any
    block_border: Any
    block_air: Any
    block_healed: Any
    base: Any
    asleep: Any
    wake: Any
    slept: Any
    stirred: Any
    soon: Any
    before: Any
    # the body below
    body: Any
    body_old: Any
    body_pending: Any
    body_capacity: Any
    body_air: Any
    body_up: Any
    body_inverse: Any
    body_healed: Any
    body_rows: Any
    body_last: Any
    body_thick: Any
    deep_grip: Any
    deep_speed: Any
    deep_lean: Any
    deep_away: Any
    # cells, layers, events
    healed: Any
    welds: Any
    thick: Any
    layer_thick: Any
    row_thick: Any
    row_up: Any
    row_skew: Any
    row_near: Any
    row_curve: Any
    row_lean: Any
    rates: Any
    event_column: Any
    event_layer: Any
    event_warm: Any
    event_air: Any
    event_pass: Any
    tick_first: Any
    clock: Any
    # book-keeping
    ledger: Any
    now: Any
    counts: Any
    awake: Any
    listed: Any
    fresh: Any


class Work(NamedTuple):
    """Scratch of one worker: rows × fields × lanes in one array, and what a lane has once."""

    x: Any
    # lanes
    seconds: Any
    stage: Any
    over: Any
    below: Any
    below_at: Any
    rows: Any
    lowest: Any
    # rows of the column at hand
    own: Any
    got: Any
    lost: Any
    moved: Any


def facts_of(cells: Cells, polymer: Polymer, around: Surroundings, method: Method) -> Facts:
    """Return the numbers of a run."""
    tick = method.tick
    across = cells.across
    block_across = (across[0] * cells.block_shape[0], across[1] * cells.block_shape[1])
    exchange = 2.0 * polymer.diffusivity * (across[0] ** -2 + across[1] ** -2)
    crossing = tuple(width**2 / (4.0 * np.pi * polymer.diffusivity) for width in across)
    calm = max(1, round(method.calm / tick))
    # the explicit exchange between blocks overshoots as that between columns does
    wide = 2.0 * polymer.diffusivity * (block_across[0] ** -2 + block_across[1] ** -2)
    # in whole times at which blocks are looked at: one that is due, but not yet stepped, gives what it is not given
    block_ticks = calm * max(1, int(min(method.block_step, method.sideways / wide) / (tick * calm) + 1e-9))
    return Facts(
        tick=tick,
        diffusivity=polymer.diffusivity,
        stop=_counted_from(cells, polymer, method) - around.air,
        rate_steps=1.0 / _RATE_STEP,
        bed=around.bed - around.air,
        bed_contact=around.bed_coefficient / polymer.heat_per_volume,
        grade=method.grade,
        across=across,
        block_across=block_across,
        crossing=(crossing[0], crossing[1]) if method.fresh_contact else (0.0, 0.0),
        to_column=(polymer.diffusivity / across[0] ** 2, polymer.diffusivity / across[1] ** 2),
        to_block=(
            2.0 * polymer.diffusivity / (across[0] * (across[0] + block_across[0])),
            2.0 * polymer.diffusivity / (across[1] * (across[1] + block_across[1])),
        ),
        resistance=0.5 / polymer.diffusivity,
        part=1.0 / method.rows_per_layer,
        # beads side by side differ from each other, cells of a bead lie on a slope
        level=0.5 if method.cells_per_bead == 1 else 0.0,
        sub=method.rows_per_layer,
        coarse=cells.coarse,
        fine=cells.fine,
        group=cells.group,
        shift=cells.group.bit_length() - 1,  # a power of two
        side_ticks=max(1, int(method.sideways / exchange / tick)),
        block_ticks=block_ticks,
        block_most=max(1, int(method.sideways / wide / tick / block_ticks)),
        sleep_ticks=round(method.sleep_after / tick),
        calm_ticks=calm,
        # whole steps of sleeping blocks: what they give the body it has when it steps
        body_ticks=block_ticks * max(1, round(method.body_step / tick / block_ticks)),
    )


def _counted_from(cells: Cells, polymer: Polymer, method: Method) -> float:
    """Return below which the whole print would not be long enough to heal anything worth counting. [K]"""
    warm = polymer.stop + _RATE_STEP * np.arange(400)
    seconds = float(cells.event_time[-1] - cells.event_time[0]) + method.after
    counts = polymer.log_rate(np.asarray(warm, dtype=np.float64)) + np.log(
        max(seconds, method.tick)
    ) > np.log(LEAST)
    return float(warm[int(np.argmax(counts))])


def _meets(cells: Cells) -> Any:
    """Return a bit a side of every column: whether passes of the nozzle meet there in any layer."""
    found = cells.sides.copy()
    for direction in range(4):
        beside = cells.neighbour[:, direction]
        theirs = np.where(beside >= 0, cells.sides[beside] >> (direction ^ 1) & 1, 0).astype(np.uint8)
        found |= theirs << np.uint8(direction)
    return found


def _rates(polymer: Polymer, lowest: float) -> Any:
    """Return the healing rate from a temperature up, its logarithm first."""
    warm = lowest + _RATE_STEP * np.arange(1500)
    logarithm = polymer.log_rate(np.asarray(warm, dtype=np.float64))
    return np.column_stack([logarithm, np.exp(logarithm)])


def _rows(cells: Cells, sub: int, diffusivity: float) -> tuple[Any, Any, Any]:
    """
    Return thickness [m] and conductance to the row above [m/s] of rows, for every base a window can have, and a share.

    Through the face where thick rows meet thin ones goes what the slope between their means says, and the share times
    more: less what the slope below it says.
    """
    bases = np.arange(-cells.coarse, cells.thick.size, cells.group)
    pairs = bases[:, None] + np.arange(cells.coarse)
    thick = np.where(pairs >= 0, cells.thick[np.clip(pairs, 0, cells.thick.size - 1)], 0.0)
    coarse = thick.reshape(bases.size, -1, 2).sum(axis=2)
    layers = bases[:, None] + cells.coarse + np.arange(cells.fine)
    fine = np.repeat(cells.thick[np.minimum(layers, cells.thick.size - 1)] / sub, sub, axis=1)
    rows = np.concatenate([np.where(coarse > 0.0, coarse, 1.0), fine], axis=1)
    up = 2.0 * diffusivity / (rows + np.concatenate([rows[:, 1:], rows[:, -1:]], axis=1))
    half = cells.coarse >> 1
    skew = np.zeros(bases.size)
    if half:
        low, thick_row, thin = rows[:, half - 2], rows[:, half - 1], rows[:, half]
        skew = (thick_row - thin) / (low + thick_row + thin)
        up[:, half - 1] *= 1.0 + skew
    return rows, up, skew


def _deep_rows(cells: Cells, diffusivity: float, sub: int) -> tuple[Any, Any, Any, Any]:
    """
    Return what columns need of each row of the body, where it is the top one.

    How the slope below it rises with its temperature [1/m]; the conductance to the columns' lowest row [m/s], and what
    of the slope below counts there [m], so that the slope in the face is that of a parabola through three rows of
    unequal thickness; how much of the slope below a time takes away [m/s].
    """
    own, layers = cells.body_thick, cells.thick.size
    below = np.concatenate([own[:1], own[:-1]])
    first = np.minimum(cells.group * np.arange(1, own.size + 1), layers - 1)
    pair = cells.thick[first] + cells.thick[np.minimum(first + 1, layers - 1)]
    above = pair if cells.coarse else cells.thick[first] / sub
    apart, skew = 0.5 * (own + above), (own - above) / (below + own + above)
    speed, lean = diffusivity * (1.0 + skew) / apart, skew / (1.0 + skew) * apart
    return 2.0 / (own + below), speed, lean, diffusivity / own


def state_of(cells: Cells, polymer: Polymer, around: Surroundings, method: Method) -> State:
    """Return the state before the first tick."""
    sub = method.rows_per_layer
    grip, speed, lean, away = _deep_rows(cells, polymer.diffusivity, sub)
    row_thick, row_up, row_skew = _rows(cells, sub, polymer.diffusivity)
    rows, layers = row_thick.shape[1], cells.coarse + cells.fine
    columns, blocks = cells.columns, cells.blocks
    both, deep = columns + blocks, cells.body_thick.size
    ticks = np.floor((cells.event_time - cells.event_time[0]) / method.tick + 0.5).astype(np.int64)
    # The last tick is one at which body and blocks step as well, so that nothing is left over.
    whole_steps = facts_of(cells, polymer, around, method).body_ticks
    count = 1 + whole_steps * -(-(int(ticks[-1]) + round(method.after / method.tick)) // whole_steps)
    tick_first = np.searchsorted(ticks, np.arange(count + 1)).astype(np.int64)

    def whole(*shape: int) -> Any:
        return np.zeros(shape, dtype=np.int64)

    last = np.zeros(both, dtype=np.int64)
    return State(
        warm=np.zeros((both, rows)),
        pending=np.zeros((both, rows)),
        under=np.zeros(both),
        share=np.zeros((both, rows)),
        rows=whole(both),
        gaps=whole(both),
        top_known=np.full(both, -1),
        slot=np.full(both, -1),
        last=last,
        due=np.full(both, LATER),
        steps=whole(both),
        f_block=cells.block_of,
        neighbour=cells.neighbour,
        seen=np.full(columns, _NEVER),
        born=np.full(columns, -1),
        top=np.full(columns, -1),
        first=cells.first_layer,
        area=cells.area,
        faces=cells.faces,
        cut=np.any(cells.faces[:, :, :3] != 1.0, axis=(1, 2)).astype(np.int64),
        cell_start=cells.cell_start,
        sides=cells.sides,
        meets=_meets(cells),
        odd=cells.odd,
        member=cells.member,
        block_first=cells.block_first,
        block_cells=cells.block_cells,
        block_beside=cells.block_beside,
        block_border=cells.block_border,
        block_air=cells.block_air,
        block_healed=np.zeros((blocks, layers, 2)),
        base=np.full(blocks, -cells.coarse),
        asleep=np.ones(blocks, dtype=np.int64),
        wake=whole(blocks),
        slept=whole(blocks),
        stirred=np.full(blocks, _NEVER),
        soon=whole(blocks),
        before=np.zeros((blocks, rows)),
        body=np.zeros((blocks, deep)),
        body_old=np.zeros((blocks, deep)),
        body_pending=np.zeros((blocks, deep)),
        body_capacity=np.zeros((blocks, deep)),
        body_air=np.zeros((blocks, deep)),
        body_up=np.zeros((blocks, deep)),
        body_inverse=np.zeros((blocks, deep)),
        body_healed=np.zeros((blocks, cells.thick.size, 2)),
        body_rows=whole(blocks),
        body_last=whole(blocks),
        body_thick=cells.body_thick,
        deep_grip=grip,
        deep_speed=speed,
        deep_lean=lean,
        deep_away=away,
        healed=np.zeros((cells.cells, 5), dtype=np.float32),
        welds=cells.welds,
        thick=cells.thick / sub,
        layer_thick=cells.thick,
        row_thick=row_thick,
        row_up=row_up,
        row_skew=row_skew,
        row_near=2.0 / (row_thick + np.roll(row_thick, -1, axis=1)),
        row_curve=3.0 / (np.roll(row_thick, 1, axis=1) + row_thick + np.roll(row_thick, -1, axis=1)),
        row_lean=row_thick / (row_thick + np.roll(row_thick, 1, axis=1)),
        rates=_rates(polymer, _counted_from(cells, polymer, method)),
        event_column=cells.event_column,
        event_layer=cells.event_layer,
        event_warm=cells.event_warm - around.air,
        event_air=cells.event_air / polymer.heat_per_volume,
        event_pass=cells.event_pass,
        tick_first=tick_first,
        clock=np.zeros(1),  # time of every tick, where settings of different speed share ticks
        ledger=np.zeros(3),
        now=np.zeros(3),
        counts=whole(2),
        awake=whole(blocks),
        listed=whole(both),
        fresh=np.zeros((both, rows)),
    )


def work_of(state: State, lanes: int, fields: int) -> Work:
    """Return scratch for one worker."""
    rows = state.warm.shape[1] + 2
    single = [np.zeros(lanes) for _ in range(5)]
    whole = [np.zeros(lanes, dtype=np.int64) for _ in range(2)]
    column = [np.zeros(rows) for _ in range(4)]
    return Work(np.zeros(rows * fields * lanes), *single, *whole, *column)
