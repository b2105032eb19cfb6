"""Which instruments a file's results rest on: as a person says, or as the file or its name does."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from voidless.campaign.types import Observation
from voidless.errors import InputError
from voidless.measure.quality.powers import power_of
from voidless.measure.results import FileResult, fits_name
from voidless.quantities import suggest
from voidless.records.facts import Instrument, Use
from voidless.records.writer import Writer
from voidless.workflows.instruments import reconsider

__all__ = ["Instruments", "tie", "tie_stored"]


@dataclass(frozen=True)
class Instruments:
    """
    What is known of instruments when files are read.

    Attributes
    ----------
    known : mapping of str to Instrument
        The register, by label.
    said : tuple of (str, str)
        Pattern of file names and label, as a person says.
    at : datetime or None
        When the files were measured, as a person says.
    """

    known: Mapping[str, Instrument]
    said: tuple[tuple[str, str], ...] = ()
    at: datetime | None = None

    def __post_init__(self) -> None:
        """Refuse an instrument that is not in the register."""
        for _, label in self.said:
            if label not in self.known:
                known = tuple(self.known)
                remedy = (
                    suggest(label, known) or f"Log it first: voidless log DIR instrument instrument={label}"
                )
                expected = "one of " + ", ".join(known) if known else "a logged instrument"
                raise InputError("--instrument", f"{label!r} is not known", expected, remedy)

    def of(self, result: FileResult) -> tuple[list[str], list[str]]:
        """Return the labels of the instruments of a file, and what to say of names that are in no register."""
        said = [label for pattern, label in self.said if fits_name(result.file, pattern)]
        if said:
            return list(dict.fromkeys(said)), []
        stated = result.extra.get("instrument", "")
        if stated and stated in self.known:
            return [stated], []
        notes = [f"states instrument {stated!r}, which is not logged"] if stated else []
        return [label for label in self.known if _named(result.file, label)], notes


def _named(file: str, label: str) -> bool:
    """Return whether a file's own name holds a label, set apart from what stands beside it."""
    own = file.replace("\\", "/").rpartition("/")[2]
    return re.search(rf"(?<![0-9a-z]){re.escape(label)}(?![0-9a-z])", own, re.IGNORECASE) is not None


def tie(
    writer: Writer, instruments: Instruments, result: FileResult, sha: str, filed: Sequence[Observation]
) -> list[str]:
    """
    Return what to say of the instruments of a file, once its results are tied to them.

    Parameters
    ----------
    writer : Writer
        The open transaction, which holds the results already.
    instruments : Instruments
        The register, and what a person says.
    result : FileResult
        The file.
    sha : str
        Its hash.
    filed : sequence of Observation
        Its results, as filed.

    Notes
    -----
    Checks that are logged already count at once.
    """
    everywhere, notes = instruments.of(result)
    known = set(instruments.known)
    unsaid: dict[str, list[str]] = {}
    for name in dict.fromkeys(item.key.quantity for item in filed):
        own = {item.extra.get("instrument", "") for item in filed if item.key.quantity == name} - {""}
        notes += [f"states instrument {label!r}, which is not logged" for label in sorted(own - known)]
        # Several instruments of one quantity are told row by row.
        for label in everywhere or (own & known if len(own) == 1 else ()):
            power = power_of(instruments.known[label].kind, name)
            writer.add_use(Use(label, sha, name, power, None, instruments.at))
            unsaid.setdefault(label, []).extend([name] if power is None else [])
    for label, names in unsaid.items():
        reconsider(writer, label)
        notes.append(
            f"rests on {label}" + (f"; how {', '.join(names)} go with it is not known" if names else "")
        )
    return notes


def tie_stored(writer: Writer, instrument: Instrument, use: Use, gave: Sequence[str]) -> list[str]:
    """
    Return how the results of a stored file go with an instrument's reading, once they are tied to it.

    Parameters
    ----------
    writer : Writer
        The open transaction.
    instrument : Instrument
        As the register has it.
    use : Use
        What a person says; without a quantity it means all that the file gave.
    gave : sequence of str
        Quantities that the file gave.

    Notes
    -----
    A power that is not said follows from what the instrument is, as when a file is read.
    """
    told = []
    for name in [use.quantity] if use.quantity else sorted(gave) or [""]:
        power = power_of(instrument.kind, name) if use.power is None else use.power
        writer.add_use(replace(use, quantity=name, power=power))
        if power is None:
            told.append(f"how {name or 'each result'} goes with it is not known: power= says it")
        elif use.power is None:
            told.append(f"{name} with power {power:g} of the reading, by its kind {instrument.kind!r}")
    return told
