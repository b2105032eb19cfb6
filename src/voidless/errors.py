"""
The one tree of exceptions and warnings.

    VoidlessError                     where, what, expected, remedy
    ├── InputError (ValueError)       what was given is wrong; nothing was stored; exit status 2
    │   └── QuestionError             only a person can answer; `option` names how; exit status 2
    └── ComputationError (RuntimeError)   a computation failed; exit status 1
        └── RecordsError              the campaign's records could not be read or written; exit status 1

    VoidlessWarning (UserWarning)
    ├── ModelRangeWarning             a model was asked outside the range it was checked in
    ├── ConvergenceWarning            a solver stopped before its tolerance
    └── DataQualityWarning            data were usable but something about them is wrong
"""

from __future__ import annotations

__all__ = [
    "ComputationError",
    "ConvergenceWarning",
    "DataQualityWarning",
    "InputError",
    "ModelRangeWarning",
    "QuestionError",
    "RecordsError",
    "VoidlessError",
    "VoidlessWarning",
]


class VoidlessError(Exception):
    """
    Something that went wrong, said so that a person can mend it.

    Parameters
    ----------
    where : str
        File and line, command or function in which it was found.
    what : str
        What was found, with value and unit.
    expected : str
        What would have been right.
    remedy : str
        What to do about it.
    """

    exit_status = 1

    def __init__(self, where: str, what: str, expected: str = "", remedy: str = "") -> None:
        super().__init__(where, what, expected, remedy)
        self.where = where
        self.what = what
        self.expected = expected
        self.remedy = remedy

    def __str__(self) -> str:
        text = f"{self.where}: {self.what}" if self.where else self.what
        if self.expected:
            text += f" (expected {self.expected})"
        if self.remedy:
            text += f". {self.remedy}"
        return text

    def to_dict(self) -> dict[str, str]:
        """Return the four parts under their exchange names."""
        return {
            "where": self.where,
            "what": self.what,
            "expected": self.expected,
            "remedy": self.remedy,
        }


class InputError(VoidlessError, ValueError):
    """What was given is wrong; nothing was stored."""

    exit_status = 2


class QuestionError(InputError):
    """
    Something only a person can answer.

    Parameters
    ----------
    where, what, remedy : str
        As in `VoidlessError`.
    option : str
        The command-line option that answers the question, for example ``--section xy=20,z=30``.
    """

    def __init__(self, where: str, what: str, option: str, remedy: str = "") -> None:
        super().__init__(where, what, option, remedy)
        self.option = option

    def __reduce__(self) -> tuple[object, ...]:
        return (type(self), (self.where, self.what, self.option, self.remedy))


class ComputationError(VoidlessError, RuntimeError):
    """A computation failed on input that was accepted."""

    exit_status = 1


class RecordsError(ComputationError):
    """The records of a campaign could not be read or written."""


class VoidlessWarning(UserWarning):
    """Base of every warning of this package."""


class ModelRangeWarning(VoidlessWarning):
    """A model was asked outside the range in which it was checked."""


class ConvergenceWarning(VoidlessWarning):
    """A solver stopped before it reached its tolerance."""


class DataQualityWarning(VoidlessWarning):
    """Data were usable, but something about them is wrong."""
