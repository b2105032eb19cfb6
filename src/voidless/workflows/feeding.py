"""Builds fed ahead of the pressure lag that their machine was measured to have."""

from __future__ import annotations

from typing import Any

from voidless.errors import InputError
from voidless.machines import Machine
from voidless.toolpath.lag_feed import FedAhead, feed_build
from voidless.toolpath.moves import Toolpath

__all__ = ["fed_ahead", "fed_dict", "fed_words"]


def fed_ahead(toolpath: Toolpath, machine: Machine) -> FedAhead:
    """
    Return a build fed ahead of the machine's own pressure lag.

    Parameters
    ----------
    toolpath : Toolpath
        A planned build.
    machine : Machine
        Lag and limits.

    Raises
    ------
    InputError
        Nobody stated or measured the lag: feeding ahead of a wrong one does harm.
    """
    if machine.lag_assumed:
        raise InputError(
            "voidless make --feed-ahead",
            f"the pressure lag of {machine.name} is not known",
            "lag_s measured or stated",
            "Print `voidless make --lag-print` and read its widths, or state lag_s under [machines.NAME].",
        )
    return feed_build(toolpath, machine, machine.lag_s)


def fed_dict(fed: FedAhead | None, machine: Machine) -> dict[str, Any] | None:
    """Return lag, its source, and what feeding ahead of it saves; None where a build is fed as it lies."""
    if fed is None:
        return None
    return {
        "lag_s": machine.lag_s,
        "source": machine.notes["lag_s"],
        "misplaced_without_pct": fed.misplaced_without_pct,
        "misplaced_pct": fed.misplaced_pct,
    }


def fed_words(fed: FedAhead | None, machine: Machine) -> str | None:
    """Return the same for people."""
    if fed is None:
        return None
    return (
        f"fed ahead of a pressure lag of {machine.lag_s:.3g} s: by it {fed.misplaced_pct:.1f} % of the melt leaves the "
        f"nozzle too early or too late, {fed.misplaced_without_pct:.1f} % without; switch off what the firmware does "
        "against it"
    )
