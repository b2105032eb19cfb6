"""Which row of a column a layer is: coarse rows hold two layers, fine layers hold several rows."""

# mypy: disable-error-code="untyped-decorator, no-any-return"

from __future__ import annotations

from typing import Any

from voidless.physics.heat.history.state import Facts

from .compiled import ONE, inlined, nth

__all__ = ["at_layer", "layer_of", "lowest", "row_at", "row_of", "rows_below", "stage_of"]


@inlined
def row_of(local: int, facts: Facts) -> int:
    """Return the lowest row of a layer counted from the window's base: coarse rows hold two layers."""
    if local < facts.coarse:
        return local >> 1
    return (facts.coarse >> 1) + (local - facts.coarse) * facts.sub


@inlined
def layer_of(row: int, facts: Facts) -> int:
    """Return the lowest layer in a row, counted from the window's base."""
    half = facts.coarse >> 1
    return 2 * row if row < half else facts.coarse + (row - half) // facts.sub


@inlined
def rows_below(local: int, facts: Facts) -> int:
    """Return the number of rows up to and with a layer counted from the window's base."""
    if local < 0:
        return 0
    return row_of(local, facts) + (facts.sub if local >= facts.coarse else 1)


@inlined
def row_at(local: int, part: int, facts: Facts) -> int:
    """Return the row of a part of a layer."""
    return row_of(local, facts) + (part if local >= facts.coarse else 0)


@inlined
def stage_of(base: int, facts: Facts) -> Any:
    """Return the place of a base in the tables of rows."""
    return nth((base + facts.coarse) >> facts.shift)


@inlined
def lowest(base: int, facts: Facts) -> int:
    """Return the first row that can hold material: rows below the bed are empty."""
    return row_of(-base, facts) if base < 0 else 0


@inlined
def at_layer(t: Any, local: int, part: int, rows: int, low: int, thick: Any, facts: Facts) -> float:
    """Return the temperature of a part of a layer; in a coarse row of two layers along the slope through it."""
    r = nth(row_at(local, part, facts))
    if local >= facts.coarse:
        return t[r]
    up = r + ONE if r + ONE < nth(rows) else r
    down = r - ONE if r > nth(low) else r
    if up == down:
        return t[r]
    apart = 0.5 * (thick[up] + thick[down])
    if up != r and down != r:
        apart += thick[r]
    step = 0.25 * thick[r] * (t[up] - t[down]) / apart
    return t[r] + step if local & 1 else t[r] - step
