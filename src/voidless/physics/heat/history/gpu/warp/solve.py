"""Implicit step of one column by all threads of a team: rows are eliminated in pairs, ever farther apart."""

# mypy: disable-error-code="untyped-decorator, no-any-return, import-untyped"

from __future__ import annotations

from typing import Any

from voidless.physics.heat.history.state import Work

from .compiled import (
    CAPACITY,
    END,
    INVERSE,
    LOSS,
    MIDDLE,
    NEXT,
    ONE,
    RATE,
    SOURCE,
    START,
    UP,
    A,
    C,
    F,
    inlined,
    nth,
    rows_in,
    together,
)
from .weights import FIRST, SECOND, STAGE

__all__ = ["solve"]


@inlined
def solve(most: int, w: Work) -> None:
    """Step the team's column by TR-BDF2: two tridiagonal solves."""
    x, seconds = w.x, w.seconds[0]
    d = STAGE * seconds
    over = 1.0 / seconds if seconds > 0.0 else 0.0
    bottom, top, below, none = nth(w.lowest[0]), nth(most), w.below[0], nth(0)
    for r in rows_in(0, most):
        if r == bottom:
            x[LOSS + r] += below
            x[SOURCE + r] += below * w.below_at[0] * seconds
        up, old, loss, capacity = x[UP + r], x[START + r], x[LOSS + r], x[CAPACITY + r]
        down = x[UP + r - ONE] if r > none else 0.0
        flux = -loss * old
        if r + ONE < top:
            flux += up * (x[START + r + ONE] - old)
        if r > none:
            flux -= down * (old - x[START + r - ONE])
        rate = x[SOURCE + r] * over
        inverse = 1.0 / (capacity + d * (up + down + loss))
        x[RATE + r], x[INVERSE + r] = rate, inverse
        x[A + r], x[C + r] = -d * down * inverse, -d * up * inverse
        x[F + r] = (capacity * old + d * (flux + 2.0 * rate)) * inverse
    together()
    eliminate(most, x, MIDDLE)
    for r in rows_in(0, most):
        inverse = x[INVERSE + r]
        down = x[UP + r - ONE] if r > none else 0.0
        mixed = FIRST * x[MIDDLE + r] - SECOND * x[START + r]
        x[A + r], x[C + r] = -d * down * inverse, -d * x[UP + r] * inverse
        x[F + r] = (x[CAPACITY + r] * mixed + d * x[RATE + r]) * inverse
    together()
    eliminate(most, x, END)


@inlined
def eliminate(most: int, x: Any, result: Any) -> None:
    """
    Solve a_i t_(i-1) + t_i + c_i t_(i+1) = f_i by parallel cyclic reduction.

    Notes
    -----
    Hockney and Jesshope, Parallel Computers 2 (1988), section 5.4. Each level doubles how far apart the rows of an
    equation are; what would lie beyond the ends has a factor of zero.
    """
    top, apart = nth(most), ONE
    here, there = nth(0), NEXT
    while apart < top:
        for r in rows_in(0, most):
            a, c, f = x[A + here + r], x[C + here + r], x[F + here + r]
            whole, a_next, c_next = 1.0, 0.0, 0.0
            if r >= apart:
                low = here + r - apart
                whole -= a * x[C + low]
                f -= a * x[F + low]
                a_next = -a * x[A + low]
            if r + apart < top:
                high = here + r + apart
                whole -= c * x[A + high]
                f -= c * x[F + high]
                c_next = -c * x[C + high]
            inverse = 1.0 / whole
            x[A + there + r], x[C + there + r], x[F + there + r] = (
                a_next * inverse,
                c_next * inverse,
                f * inverse,
            )
        together()
        here, there = there, here
        apart = nth(apart << ONE)
    for r in rows_in(0, most):
        x[result + r] = x[F + here + r]
    together()
