"""Errors as one JSON shape or one page, with their true status."""

from __future__ import annotations

from dataclasses import dataclass

from voidless.errors import InputError, VoidlessError

__all__ = ["Fault", "fault_of"]


@dataclass(frozen=True)
class Fault:
    """Status of the answer and the four parts of the error, as the command line prints them."""

    status: int
    where: str
    what: str
    expected: str = ""
    remedy: str = ""

    def to_dict(self) -> dict[str, dict[str, str]]:
        """Return the error object of the exchange format."""
        return {
            "error": {
                "where": self.where,
                "what": self.what,
                "expected": self.expected,
                "remedy": self.remedy,
            }
        }


def fault_of(error: VoidlessError) -> Fault:
    """Return the fault that answers an error: 400 for wrong input, 500 for a computation that failed."""
    status = 400 if isinstance(error, InputError) else 500
    return Fault(status, error.where, error.what, error.expected, error.remedy)
