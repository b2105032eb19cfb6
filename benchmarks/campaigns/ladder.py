"""One factor at a time as practised: best of five rungs, factor after factor, ranges halved after every pass."""

from __future__ import annotations

import numpy as np
from benchmarks.campaigns.history import History
from benchmarks.campaigns.rules import Step
from benchmarks.labs.bench import SPACE, build_minutes, feasible
from numpy.typing import NDArray

Floats = NDArray[np.float64]

_ORDER = ("nozzle_c", "flow_pct", "speed_mm_s", "fan_pct", "layer_mm", "width_mm")
_RUNGS = 5
_PASSES = 6


class Ladder:
    """Keeps the best single measurement as the present setting, and recommends it."""

    def step(self, history: History, rng: np.random.Generator) -> Step:  # noqa: ARG002 - nothing is drawn
        """Return the best measured setting and the next rung."""
        points = history.points
        best = points[self._best(history, len(points))]
        return Step(best, float("nan"), self._next(history))

    def _best(self, history: History, count: int) -> int:
        """Return the build with the smallest shortfall, the fastest of those that pass."""
        table, limits = history.table[:count], history.limits
        with np.errstate(invalid="ignore"):
            spread = np.nanstd(table, axis=0) + 1e-9
        short = np.maximum(limits[:, 0] - table, 0.0) + np.maximum(table - limits[:, 1], 0.0)
        total = np.where(np.isnan(table).any(axis=1), np.inf, np.sum(short / spread, axis=1))
        return int(np.lexsort((build_minutes(history.points[:count]), total))[0])

    def _next(self, history: History) -> Floats:
        """Return the first rung that has not been built; the ladder is climbed anew from the records."""
        points, at = history.points, 1
        here = points[0]
        for turn in range(_PASSES):
            reach = 0.5**turn
            for name in _ORDER:
                for rung in _rungs(here, name, reach):
                    if at >= len(points):
                        return rung
                    assert np.allclose(points[at], rung)
                    at += 1
                here = points[self._best(history, at)]
        return points[self._best(history, len(points))]


def _rungs(here: Floats, name: str, reach: float) -> list[Floats]:
    """Return the rungs of one factor about the present setting, without that setting itself."""
    column = SPACE.names.index(name)
    half = 0.5 * reach * (SPACE.high[column] - SPACE.low[column])
    middle = np.clip(here[column], SPACE.low[column] + half, SPACE.high[column] - half)
    rungs = np.tile(here, (_RUNGS, 1))
    rungs[:, column] = np.linspace(middle - half, middle + half, _RUNGS)
    rungs = np.unique(SPACE.snap(rungs), axis=0)
    rungs = rungs[feasible(rungs) & np.any(rungs != here, axis=1)]
    return list(rungs)
