"""Implicit step of several columns side by side."""

# mypy: disable-error-code="untyped-decorator, no-any-return, call-overload, assignment"

from __future__ import annotations

from typing import Any

from voidless.physics.heat.history.state import Work

from .compiled import (
    CAPACITY,
    END,
    INVERSE,
    LANES,
    LOSS,
    MIDDLE,
    ONE,
    RATE,
    ROW,
    SOURCE,
    START,
    STRIDE,
    UP,
    at,
    inlined,
    nth,
    rows_in,
)
from .weights import FIRST, SECOND, STAGE

__all__ = ["solve"]


@inlined
def solve(most: int, w: Work) -> None:
    """Step every lane by TR-BDF2: two tridiagonal solves with one factorisation."""
    x, stage, over = w.x, w.stage, w.over
    for n in range(LANES):
        stage[n] = STAGE * w.seconds[n]
        over[n] = 1.0 / w.seconds[n] if w.seconds[n] > 0.0 else 0.0
        x[at(w.lowest[n], LOSS, n)] += w.below[n]
        x[at(w.lowest[n], SOURCE, n)] += w.below[n] * w.below_at[n] * w.seconds[n]
    top = nth(most)
    for n in range(STRIDE):
        i = n
        d = stage[n]
        rate = x[i + SOURCE] * over[n]
        x[i + RATE] = rate
        up, old = x[i + UP], x[i + START]
        high = x[i + ROW + START]
        flux = up * (high - old) - x[i + LOSS] * old
        x[i + MIDDLE] = x[i + CAPACITY] * old + d * (flux + 2.0 * rate)
        x[i + INVERSE] = 1.0 / (x[i + CAPACITY] + d * (up + x[i + LOSS]))
    for r in rows_in(ONE, top):
        for n in range(STRIDE):
            i = r * ROW + n
            b = i - ROW
            d = stage[n]
            rate = x[i + SOURCE] * over[n]
            x[i + RATE] = rate
            up, down, old, loss = x[i + UP], x[b + UP], x[i + START], x[i + LOSS]
            flux = up * (x[i + ROW + START] - old) - down * (old - x[b + START]) - loss * old
            factor = d * down * x[b + INVERSE]
            right = x[i + CAPACITY] * old + d * (flux + 2.0 * rate) + factor * x[b + MIDDLE]
            x[i + MIDDLE] = right
            x[i + INVERSE] = 1.0 / (x[i + CAPACITY] + d * (up + down + loss) - d * down * factor)
    back_substitute(top, MIDDLE, w)
    for n in range(STRIDE):
        mixed = FIRST * x[n + MIDDLE] - SECOND * x[n + START]
        x[n + END] = x[n + CAPACITY] * mixed + stage[n] * x[n + RATE]
    for r in rows_in(ONE, top):
        for n in range(STRIDE):
            i = r * ROW + n
            b = i - ROW
            mixed = FIRST * x[i + MIDDLE] - SECOND * x[i + START]
            right = x[i + CAPACITY] * mixed + stage[n] * x[i + RATE]
            x[i + END] = right + stage[n] * x[b + UP] * x[b + INVERSE] * x[b + END]
    back_substitute(top, END, w)


@inlined
def back_substitute(top: Any, field: Any, w: Work) -> None:
    """Turn right-hand sides into temperatures, from the top down."""
    x, stage = w.x, w.stage
    last = (top - ONE) * ROW
    for n in range(STRIDE):
        x[last + n + field] *= x[last + n + INVERSE]
    for back in rows_in(ONE, top):
        for n in range(STRIDE):
            i = last - back * ROW + n
            value = x[i + field] + stage[n] * x[i + UP] * x[i + ROW + field]
            x[i + field] = value * x[i + INVERSE]
