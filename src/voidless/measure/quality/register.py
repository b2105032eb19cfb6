"""What checks of an instrument mean for the results that rest on it: sound, corrected, or in doubt."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from voidless.errors import InputError

__all__ = ["InstrumentCheck", "Standing", "Verdict", "rederived", "verdict_on"]


class Standing(StrEnum):
    """How a result stands after the checks of its instrument."""

    SOUND = "sound"
    CORRECTED = "corrected"
    DOUBTFUL = "doubtful"
    UNCHECKED = "unchecked"


@dataclass(frozen=True)
class InstrumentCheck:
    """
    One check against something known.

    Attributes
    ----------
    at : datetime
        When, with time zone.
    passed : bool
        Whether it met its limit.
    gain, offset : float or None
        Reading = gain x truth + offset, where the check found them. [1], [unit of the readings]
    gain_uncertainty, offset_uncertainty : float
        Standard uncertainties. [1], [unit of the readings]
    """

    at: datetime
    passed: bool
    gain: float | None = None
    offset: float | None = None
    gain_uncertainty: float = 0.0
    offset_uncertainty: float = 0.0

    @property
    def known(self) -> bool:
        """Whether the check says by how much readings are wrong."""
        return self.gain is not None or self.offset is not None


@dataclass(frozen=True)
class Verdict:
    """
    How one result stands.

    Attributes
    ----------
    standing : Standing
        Sound between two passed checks; unchecked before the first or after the last.
    check : InstrumentCheck or None
        The failed check that tells.
    words : str
        Why.
    """

    standing: Standing
    check: InstrumentCheck | None
    words: str


def verdict_on(measured_at: datetime, checks: Sequence[InstrumentCheck]) -> Verdict:
    """
    Return how a result stands that was measured at a moment.

    Parameters
    ----------
    measured_at : datetime
        When it was measured.
    checks : sequence of InstrumentCheck
        All checks of its instrument, in any order.

    Returns
    -------
    verdict : Verdict
        A failed check reaches back to the last one that passed and forward to the next. Where it says by how much
        readings are wrong the result can be corrected; a drift that grew in between cannot be known, so
        `rederived` widens the uncertainty by the whole correction over root 3.
    """
    ordered = sorted(checks, key=lambda check: check.at)
    before = [check for check in ordered if check.at <= measured_at][-1:]
    after = [check for check in ordered if check.at > measured_at][:1]
    failed = [check for check in (*after, *before) if not check.passed]
    if failed:
        known = next((check for check in failed if check.known), None)
        when = f"{failed[0].at:%Y-%m-%d %H:%M}"
        if known is None:
            return Verdict(
                Standing.DOUBTFUL, failed[0], f"the check of {when} failed and does not say by how much"
            )
        return Verdict(
            Standing.CORRECTED, known, f"corrected by what the check of {known.at:%Y-%m-%d %H:%M} found"
        )
    if not before or not after:
        missing = "before" if not before else "after"
        return Verdict(Standing.UNCHECKED, None, f"no check of the instrument {missing} the measurement")
    return Verdict(Standing.SOUND, None, "checks before and after passed")


def rederived(
    value: float, uncertainty: float, power: float, check: InstrumentCheck, reading: float
) -> tuple[float, float]:
    """
    Return a result as it would have been with a sound instrument.

    Parameters
    ----------
    value, uncertainty : float
        The result and its standard uncertainty. [unit of the result]
    power : float
        How the result goes with the reading: 1 for a stress by its force, -1 for a stress by its area, -2 for a
        bending stress by thickness. [1]
    check : InstrumentCheck
        What was found wrong.
    reading : float
        The instrument's reading that the result came from. [unit of the readings]

    Returns
    -------
    corrected : (float, float)
        Value and standard uncertainty: that of the check, and the correction over root 3, for when the
        instrument went wrong is not known. [unit of the result]

    Raises
    ------
    InputError
        The check does not say by how much, or its correction turns the reading to 0 or below.
    """
    if not check.known:
        raise InputError(
            "check", "a failed check without a deviation", "by how much readings are wrong", "Log it."
        )
    gain, offset = check.gain if check.gain is not None else 1.0, check.offset or 0.0
    if not (gain > 0 and reading > 0 and reading - offset > 0):
        raise InputError(
            "check", f"gain {gain:g}, offset {offset:g} at {reading:g}", "a reading above 0", "Check it."
        )
    true = (reading - offset) / gain
    factor = float((true / reading) ** power)
    share = math.hypot(check.gain_uncertainty / gain, check.offset_uncertainty / (reading - offset))
    moved = abs(factor - 1.0) / 3**0.5
    new = value * factor
    return new, math.sqrt((uncertainty * factor) ** 2 + (new * power * share) ** 2 + (value * moved) ** 2)
