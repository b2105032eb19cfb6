"""Rows of a column side by side with those of another, or with the air."""

# mypy: disable-error-code="untyped-decorator, no-any-return"

from __future__ import annotations

from voidless.physics.heat.history.state import State, Work

from .compiled import add, inlined, nth, rows_in

__all__ = ["exchange", "lose"]


@inlined
def lose(first: int, stop: int, speed: float, w: Work) -> None:
    """Let rows lose heat to the air beside them."""
    for r in rows_in(first, stop):
        w.lost[r] += speed


@inlined
def exchange(first: int, stop: int, partner: int, factor: float, weight: float, s: State, w: Work) -> None:
    """Exchange heat of rows with a partner's, and book what the partner gives where it does not step now."""
    theirs = s.warm[nth(partner)]
    for r in rows_in(first, stop):
        w.moved[r] = factor * (theirs[r] - w.own[r])
    for r in rows_in(first, stop):
        w.got[r] += w.moved[r]
    if weight > 0.0:
        given = s.pending[nth(partner)]
        for r in rows_in(first, stop):
            add(given, r, -weight * w.moved[r])
