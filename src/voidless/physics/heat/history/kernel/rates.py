"""Healing over a step between two temperatures."""

# mypy: disable-error-code="untyped-decorator, no-any-return"

from __future__ import annotations

from typing import Any

from voidless.physics.heat.history.state import Facts

from .compiled import inlined

__all__ = ["rate_integral"]


@inlined
def rate_integral(warm: float, later: float, seconds: float, facts: Facts, rates: Any) -> float:
    """Return the healing integral over a step between two temperatures, its logarithm linear between. [1]"""
    if warm <= facts.stop and later <= facts.stop:
        return 0.0
    first, last, share = warm, later, 1.0
    if last < facts.stop:
        share = (first - facts.stop) / (first - last)
        last = facts.stop
    elif first < facts.stop:
        share = (last - facts.stop) / (last - first)
        first = facts.stop
    low, slow = looked_up(first, facts, rates)
    high, fast = looked_up(last, facts, rates)
    difference = high - low
    mean = (fast - slow) / difference if abs(difference) > 1e-3 else 0.5 * (slow + fast)
    return mean * seconds * share


@inlined
def looked_up(temperature: float, facts: Facts, rates: Any) -> tuple[float, float]:
    """Return one over the weld time, its logarithm first, from a table."""
    place = (temperature - facts.stop) * facts.rate_steps
    index = min(max(int(place), 0), rates.shape[0] - 2)
    share = place - index
    logarithm = rates[index, 0] + (rates[index + 1, 0] - rates[index, 0]) * share
    return logarithm, rates[index, 1] + (rates[index + 1, 1] - rates[index, 1]) * share
