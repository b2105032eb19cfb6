"""Numbers as colours of a perceptually uniform map, with a labelled bar."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from voidless.reporting.facts import require

__all__ = ["Shade", "shade_of"]

Floats = NDArray[np.float64]

_STEPS = 64
_UNKNOWN = "#b9b9b9"
_TAIL = 0.005
"""Share of the length at either end whose numbers take the end's colour: a few odd beads do not drown the rest."""


@dataclass(frozen=True)
class Shade:
    """
    A scale of colours.

    Attributes
    ----------
    low, high : float
        Numbers at its ends.
    label : str
        What it shows, with its unit.
    below, above : bool
        Whether some numbers lie beyond its ends and are drawn in the end's colour.
    """

    low: float
    high: float
    label: str
    below: bool = False
    above: bool = False

    @cached_property
    def colours(self) -> list[str]:
        """Colours from low to high."""
        from matplotlib import colormaps
        from matplotlib.colors import to_hex

        return [to_hex(colormaps["viridis"](step / (_STEPS - 1))) for step in range(_STEPS)]

    def colour(self, value: float | None) -> str:
        """Return the colour of a number, grey where it is not known."""
        if value is None or not math.isfinite(value):
            return _UNKNOWN
        share = (value - self.low) / (self.high - self.low)
        return self.colours[min(max(int(share * _STEPS), 0), _STEPS - 1)]

    def ticks(self) -> list[tuple[float, str]]:
        """Return places from 0 to 1 along the scale and what is written there."""
        from matplotlib.ticker import MaxNLocator

        span = self.high - self.low
        marks = [
            m
            for m in MaxNLocator(4, steps=[1, 2, 2.5, 5, 10]).tick_values(self.low, self.high)
            if self.low <= m <= self.high
        ]
        digits = next((d for d in range(6) if np.allclose(marks, np.round(marks, d), 0.0, 1e-6 * span)), 6)
        return [((mark - self.low) / span, f"{mark:.{digits}f}") for mark in marks]


def shade_of(values: Sequence[float | None], weights: Sequence[float], label: str) -> Shade:
    """
    Return a scale that holds all numbers but the outermost half per cent of the length at either end.

    Parameters
    ----------
    values : sequence of float or None
        Numbers; None where one is not known.
    weights : sequence of float
        How much each counts, as the length of its bead.
    label : str
        What they are, with their unit.

    Raises
    ------
    InputError
        No number is known.
    """
    known = np.array([math.nan if value is None else value for value in values])
    weight = np.asarray(weights, dtype=float)[np.isfinite(known)]
    known = known[np.isfinite(known)]
    require(len(known) > 0, f"no number of {label}", "at least one")
    order = np.argsort(known)
    share = np.cumsum(weight[order]) / weight.sum()
    low, high = (
        float(known[order][min(np.searchsorted(share, s), len(known) - 1)]) for s in (_TAIL, 1.0 - _TAIL)
    )
    if high - low <= 0.01 * abs(high):  # all alike: shown as alike
        middle = 0.5 * (low + high)
        room = 0.05 * abs(middle) or 0.5
        low, high = middle - room, middle + room
    return Shade(low, high, label, bool(known.min() < low), bool(known.max() > high))
