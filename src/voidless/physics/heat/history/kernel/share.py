"""
Steps shared by two threads of the CPU.

The columns of a tick are dealt into two halves. The thread that runs the ticks offers the second half of a phase, does
the first, and does the second as well unless the other thread has taken it by then. So nothing waits for a thread that
the system has set aside, except in the middle of a half, and after such a wait it goes on alone for a while; results
are the same, since either half has its own books.
"""

# mypy: disable-error-code="untyped-decorator, no-any-return, call-arg, var-annotated, unreachable"

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np

from voidless.physics.heat.history.state import Facts, State, Work

from .atomic import read, swap, write
from .compiled import LANES, called
from .step import HEAL, KEEP, SOLVE, work_on

__all__ = ["Crew", "board_of", "dismiss", "lend_a_hand", "step_listed"]

# Words of the board, each on a line of memory of its own.
OFFER, DONE, PHASE, COUNT, TICK, ALONE = 0, 16, 32, 48, 64, 80
_LENGTH = 96
_END = -1
_PATIENCE = 1 << 14  # looks at the board before the other thread rests, some tens of microseconds
_WHILE = 4000  # phases that are done alone after a wait as long, since the system has other work


class Crew(NamedTuple):
    """Scratch for both halves, and the board on which the second is offered."""

    first: Work
    second: Work
    board: Any
    alone: bool


def board_of() -> Any:
    """Return a board without an offer: an even number offers, the next one says that it is taken."""
    board = np.zeros(_LENGTH, dtype=np.int64)
    board[OFFER] = 1
    return board


def dismiss(board: Any) -> None:
    """Send the other thread home."""
    board[OFFER] = _END


@called
def step_listed(count: int, tick: int, facts: Facts, s: State, crew: Crew) -> None:
    """Step every listed column or block to this tick."""
    board = crew.board
    for phase in (SOLVE, HEAL, KEEP):
        if crew.alone or count <= LANES or board[ALONE] > 0:
            board[ALONE] -= 1
            work_on(phase, count, tick, facts, s, crew.first)
            if count > 0:
                work_on(phase, count, tick, facts, s, crew.second)
            continue
        board[PHASE], board[COUNT], board[TICK] = phase, count, tick
        offer = board[OFFER] + 1
        write(board, OFFER, offer)
        work_on(phase, count, tick, facts, s, crew.first)
        if swap(board, OFFER, offer, offer + 1):
            work_on(phase, count, tick, facts, s, crew.second)
        else:
            waited = 0
            while read(board, DONE) != offer:
                waited += 1
            board[ALONE] = _WHILE if waited > _PATIENCE else 0


@called
def lend_a_hand(facts: Facts, s: State, crew: Crew) -> bool:
    """Do second halves that are offered; return False when all is done, True when none was offered for long."""
    board, idle = crew.board, 0
    while idle < _PATIENCE:
        offer = read(board, OFFER)
        if offer == _END:
            return False
        if offer & 1 == 0 and swap(board, OFFER, offer, offer + 1):
            work_on(board[PHASE], board[COUNT], board[TICK], facts, s, crew.second)
            write(board, DONE, offer)
            idle = 0
        idle += 1
    return True
