"""All faults of a table's rows as one error."""

from __future__ import annotations

from collections.abc import Sequence

from voidless.errors import InputError

__all__ = ["MAX_FAULTS", "rows_refused"]

MAX_FAULTS = 20
"""How many faults are listed; one mistake may stand in every row."""


def rows_refused(where: str, faults: Sequence[str], expected: str, remedy: str) -> InputError:
    """
    Return the error that lists what is wrong with rows.

    Parameters
    ----------
    where : str
        File, and the first line that is meant.
    faults : sequence of str
        One a fault, beginning with its line.
    expected, remedy : str
        What rows should be like; what to do.
    """
    listed = "".join(f"\n  {fault}" for fault in faults[:MAX_FAULTS])
    more = f"\n  and {len(faults) - MAX_FAULTS} more" if len(faults) > MAX_FAULTS else ""
    number = "1 fault" if len(faults) == 1 else f"{len(faults)} faults"
    return InputError(where, f"{number}:{listed}{more}\n", expected, remedy)
