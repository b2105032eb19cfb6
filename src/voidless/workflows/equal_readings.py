"""Whether a new file holds readings that are stored already: a table that has grown, or a copy under another label."""

from __future__ import annotations

import shlex
from collections.abc import Iterable, Mapping, Sequence

from voidless.campaign.types import Observation
from voidless.errors import QuestionError
from voidless.measure.results import FileResult, Kind, fits_name
from voidless.workflows.instruments import first_read
from voidless.workflows.opening import OpenCampaign
from voidless.workflows.reductions import kept_numbers, numbers_of

__all__ = ["StoredReadings"]

_DIGITS = 8
"""Significant digits from which on equal values are no chance: one in a hundred million."""
_Reading = tuple[str, str, float]
"""Quantity, feature and value; without the method, which may be added when it is stored."""
_Labels = tuple[str, str, str]
"""Run, build and specimen."""
_Seen = Mapping[_Reading, set[_Labels]]
_Numbers = list[dict[str, float]]


class StoredReadings:
    """
    What is stored, file by file, as first read.

    Parameters
    ----------
    opened : OpenCampaign
        The campaign.
    allowed : sequence of str
        Patterns of the names of files that a person says hold readings of their own.
    """

    def __init__(self, opened: OpenCampaign, allowed: Sequence[str] = ()) -> None:
        self._opened, self._allowed = opened, tuple(allowed)
        self._files: dict[str, tuple[_Seen, _Numbers]] | None = None

    def add(self, name: str, result: FileResult, filed: Iterable[Observation]) -> None:
        """Take over what a file gave that was stored since."""
        if self._files is not None:
            self._files[name] = (_seen(filed), numbers_of(result))

    def ask(self, result: FileResult) -> QuestionError | None:
        """
        Return the question of a file whose readings are stored already; None where they are new.

        Parameters
        ----------
        result : FileResult
            What the file gave.

        Notes
        -----
        In a table only rows with their own labels count, since builds may repeat each other to the last digit; those of
        no named specimen (repeats have equal keys) where the new file holds all of the old one. A record of an
        instrument is another's, under whatever label, where all that was reduced from it is.
        """
        if not result.observations or any(fits_name(result.file, pattern) for pattern in self._allowed):
            return None
        new, numbers = _seen(result.observations), numbers_of(result)
        for name, (old, kept) in self._stored().items():
            common = new.keys() & old.keys()
            grown = len(common) == len(old)  # all of the old file is in the new one
            same = {key for key in common if _alike(new[key], old[key], grown)}
            if _digits(value for *_, value in same) >= _DIGITS:
                return _question(result.file, name, f"{len(same)} of {len(new)} readings are", grown=grown)
            if result.taken_for is Kind.RESULT_TABLE or len(common) < len(new) or kept != numbers:
                continue
            values = [value for *_, value in common] + [value for each in numbers for value in each.values()]
            if _digits(values) >= _DIGITS:
                return _question(result.file, name, "its readings are", f", as {_who(old, common)}")
        return None

    def _stored(self) -> dict[str, tuple[_Seen, _Numbers]]:
        if self._files is None:
            rows = {row.id: row for row in self._opened.store.rows(current=False)}
            found: dict[str, list[Observation]] = {}
            for row in rows.values():
                if row.current and row.source_name:
                    found.setdefault(row.source_name, []).append(first_read(row, rows).observation)
            numbers = kept_numbers(self._opened)
            self._files = {name: (_seen(each), numbers.get(name, [])) for name, each in found.items()}
        return self._files


def _seen(observations: Iterable[Observation]) -> _Seen:
    """Return who has each reading."""
    found: dict[_Reading, set[_Labels]] = {}
    for one in observations:
        key = (one.key.quantity, one.key.feature, one.value)
        found.setdefault(key, set()).add((one.run, one.build, one.specimen))
    return found


def _alike(new: set[_Labels], old: set[_Labels], unnamed: bool) -> bool:
    """Return whether a specimen has its reading already; a run or build that is not said may be any."""
    return any(
        mine[2] == theirs[2]
        and (unnamed or mine[2])
        and all(a == b or not a or not b for a, b in zip(mine, theirs, strict=True))
        for mine in new
        for theirs in old
    )


def _digits(values: Iterable[float]) -> int:
    """Return how many significant digits values have together, at most eight each."""
    return sum(len(f"{abs(value):.7e}".partition("e")[0].replace(".", "").rstrip("0")) for value in values)


def _who(old: _Seen, keys: Iterable[_Reading]) -> str:
    return ", ".join(sorted({" ".join(filter(None, who)) for key in keys for who in old[key]}))


def _question(file: str, stored: str, what: str, who: str = "", grown: bool = False) -> QuestionError:
    """Return the question; where the new file holds all of the old one, its first option is the likely answer."""
    return QuestionError(
        file,
        f"{what} stored already, from {stored}{who}",
        f"{'' if grown else 'your word: '}--replaces {shlex.quote(stored)} where this file corrects or completes it, "
        f"--distinct {shlex.quote(file.rpartition('/')[2])} where both are readings of their own",
        "Say which; nothing is counted twice by itself.",
    )
