"""What a column lost in a step."""

# mypy: disable-error-code="untyped-decorator, no-any-return, call-overload, assignment"

from __future__ import annotations

from voidless.physics.heat.history.state import Facts, State, Work

from .compiled import (
    END,
    LOSS,
    MIDDLE,
    START,
    add,
    at,
    inlined,
    nth,
    rows_in,
)
from .weights import OLD

__all__ = ["settle"]


@inlined
def settle(entity: int, lane: int, facts: Facts, s: State, w: Work) -> None:
    """Book what a lane lost to air, bed and body."""
    fine = s.f_block.shape[0]
    block = entity - fine if entity >= fine else s.f_block[entity]
    cells = s.block_cells[block] if entity >= fine else s.area[entity]
    seconds = w.seconds[lane]
    lost = 0.0
    bottom = nth(w.lowest[lane])
    for r in rows_in(0, w.rows[lane]):
        loss = w.x[at(r, LOSS, lane)] - (w.below[lane] if r == bottom else 0.0)
        if loss > 0.0:
            mean = (
                OLD * (w.x[at(r, START, lane)] + w.x[at(r, MIDDLE, lane)])
                + (1.0 - 2.0 * OLD) * w.x[at(r, END, lane)]
            )
            lost += loss * mean * seconds
    add(s.ledger, 1, lost * cells)
    if w.below[lane] > 0.0:
        mean = (
            OLD * (w.x[at(w.lowest[lane], START, lane)] + w.x[at(w.lowest[lane], MIDDLE, lane)])
            + (1.0 - 2.0 * OLD) * w.x[at(w.lowest[lane], END, lane)]
        )
        down = w.below[lane] * (mean - w.below_at[lane]) * seconds * cells
        if s.base[block] <= 0:
            add(s.ledger, 2, down)
        else:
            deep = (s.base[block] >> facts.shift) - 1
            add(s.body_pending, (block, deep), down)
            s.under[entity] += down * s.block_cells[block] / (cells * s.body_capacity[block, deep])
