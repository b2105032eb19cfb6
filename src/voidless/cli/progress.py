"""Stages of long work on standard error, so that standard output holds the answer alone."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable

from voidless.cli.answer import printable

__all__ = ["Progress", "stages"]

Progress = Callable[[str], None]


def stages(quiet_s: float = 0.8, every_s: float = 1.0) -> Progress:
    """
    Return a function that is told of each stage and says so once the work has taken a while.

    Parameters
    ----------
    quiet_s : float
        Time before anything is said. [s]
    every_s : float
        Least time between two lines. [s]
    """
    started = time.monotonic()
    said = float("-inf")

    def tell(stage: str) -> None:
        nonlocal said
        elapsed = time.monotonic() - started
        if elapsed >= quiet_s and elapsed - said >= every_s:
            said = elapsed
            line = printable(stage).replace("\n", "\\n")
            sys.stderr.write(f"[{elapsed:5.1f} s] {line}\n")
            sys.stderr.flush()

    return tell
