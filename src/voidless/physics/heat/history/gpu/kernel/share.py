"""Steps by all teams of a block at once."""

# mypy: disable-error-code="untyped-decorator, no-any-return, import-untyped"

from __future__ import annotations

from typing import Any

from voidless.physics.heat.history.state import Facts, State

from .compiled import inlined, wait
from .step import HEAL, KEEP, SOLVE, work_on

__all__ = ["step_listed"]


@inlined
def step_listed(count: int, tick: int, facts: Facts, s: State, w: Any) -> None:
    """Step every listed column or block to this tick."""
    for phase in (SOLVE, HEAL, KEEP):
        work_on(phase, count, tick, facts, s, w)
        wait()
