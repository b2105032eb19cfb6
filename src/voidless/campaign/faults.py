"""All faults of a file at once: collected, then raised as one error in the order of the file."""

from __future__ import annotations

from types import TracebackType

from voidless.errors import InputError

__all__ = ["Faults"]

_SHORT = 60  # a longer list of what was expected is left to the first fault
_NAMED = 8  # further faults that the error lists; more would bury the first


class Faults:
    """A collection of input errors, raised together."""

    def __init__(self) -> None:
        self.found: list[InputError] = []

    def add(self, where: str, what: str, expected: str, remedy: str) -> None:
        """Keep one more fault."""
        self.found.append(InputError(where, what, expected, remedy))

    def kept(self) -> _Kept:
        """Return a context that keeps the input error of its block and lets work go on after it."""
        return _Kept(self)

    def raise_all(self) -> None:
        """
        Raise the first fault of the file, which also names the others.

        Raises
        ------
        InputError
            At least one fault was kept.
        """
        if not self.found:
            return
        first, *others = sorted(self.found, key=_line)
        what = first.what
        if others:
            listed = "; ".join(_short(fault) for fault in others[:_NAMED])
            more = f"; and {len(others) - _NAMED} more" if len(others) > _NAMED else ""
            what = f"{what}. Further faults: {listed}{more}"
        raise InputError(first.where, what, first.expected, first.remedy)


class _Kept:
    def __init__(self, faults: Faults) -> None:
        self.faults = faults

    def __enter__(self) -> None:
        return None

    def __exit__(
        self, _kind: type[BaseException] | None, fault: BaseException | None, _trace: TracebackType | None
    ) -> bool:
        if isinstance(fault, InputError):
            self.faults.found.append(fault)
            return True
        return False


def _short(fault: InputError) -> str:
    expected = f" (expected {fault.expected})" if 0 < len(fault.expected) <= _SHORT else ""
    return f"{fault.where}: {fault.what}{expected}"


def _line(fault: InputError) -> int:
    tail = fault.where.rpartition(":")[2]
    return int(tail) if tail.isdecimal() else 0
