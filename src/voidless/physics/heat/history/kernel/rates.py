"""Healing over a step between two temperatures."""

# mypy: disable-error-code="untyped-decorator, no-any-return"

from __future__ import annotations

from typing import Any

from voidless.physics.heat.history.state import Facts

from .compiled import inlined

__all__ = ["BESIDE", "THROUGH", "growth", "rate_integral"]

THROUGH, BESIDE = 0.42, 0.0  # falls of the logarithm of the rate in a step above which they bend, by weld


@inlined
def growth(age: float, seconds: float) -> float:
    """Return the logarithm by which the time since a bead came near grows in a step to an age; 0 at its beginning."""
    if age < 1.25 * seconds:
        return 0.0
    x = seconds / (2.0 * age - seconds)
    square = x * x
    return 2.0 * x * (1.0 + square * (1.0 / 3.0 + square * (1.0 / 5.0 + square / 7.0)))  # to half a percent


@inlined
def rate_integral(
    warm: float,
    later: float,
    seconds: float,
    age: float,
    grown: float,
    least: float,
    facts: Facts,
    rates: Any,
) -> float:
    """
    Return the healing integral over a step between two temperatures. [1]

    What a bead has warmed cools the slower the longer ago that was: where the logarithm of the rate falls by more than
    `least`, the rate is a power of the time since, whose logarithm grows by `grown` in the step. Elsewhere, and where
    `grown` is 0, the logarithm of the rate is linear in time, as where a whole layer cools slowly.
    """
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
    if grown > 0.0 and share == 1.0 and difference < -least:
        power = grown + difference
        if abs(power) < 1e-3:
            return (age - seconds) * slow * grown
        return (age * fast - (age - seconds) * slow) * grown / power
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
