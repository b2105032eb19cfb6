"""A setting as commanded to the setting as it really was."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from voidless.errors import InputError
from voidless.measure.series.trend import coverage_factor

__all__ = ["RealisedLine", "realised_line"]


@dataclass(frozen=True)
class RealisedLine:
    """
    What a commanded setting really gives.

    Attributes
    ----------
    setting : str
        Name of the setting.
    center, value, slope : float
        Commanded value in the middle of the readings, what it really gave, and how that changes with the command.
        [unit of the setting], [unit of the setting], [1]
    value_uncertainty, slope_uncertainty, common_uncertainty : float
        Standard uncertainties: of the middle and the slope by scatter, and of the reference instrument. [as above]
    low, high : float
        Commands between which it was read. [unit of the setting]
    flags : tuple of str
        What to know.
    """

    setting: str
    center: float
    value: float
    slope: float
    value_uncertainty: float
    slope_uncertainty: float
    common_uncertainty: float
    low: float
    high: float
    flags: tuple[str, ...] = ()

    def at(self, commanded: float) -> tuple[float, float]:
        """
        Return what a command really gives, and its standard uncertainty.

        Parameters
        ----------
        commanded : float
            [unit of the setting]

        Raises
        ------
        InputError
            The command lies outside the range that was read, widened by a tenth of it.
        """
        room = 0.1 * (self.high - self.low)
        if not self.low - room <= commanded <= self.high + room:
            raise InputError(
                self.setting,
                f"{commanded:g}",
                f"{self.low:g} to {self.high:g}, where it was read",
                "Read it there too.",
            )
        away = commanded - self.center
        spread = np.sqrt(
            self.value_uncertainty**2 + (away * self.slope_uncertainty) ** 2 + self.common_uncertainty**2
        )
        return self.value + self.slope * away, float(spread)


def realised_line(
    setting: str, commanded: Sequence[float], read: Sequence[float], reference_uncertainty: float
) -> RealisedLine:
    """
    Return the line from commands to what a reference instrument read.

    Parameters
    ----------
    setting : str
        Name of the setting, such as `nozzle_c`.
    commanded, read : sequence of float
        Pairs; commands taken up and down, so that a lag shows. [unit of the setting]
    reference_uncertainty : float
        Standard uncertainty of the reference instrument, common to all readings. [unit of the setting]

    Returns
    -------
    realised : RealisedLine
        With one command only, an offset whose slope is taken as 1, said so.

    Raises
    ------
    InputError
        No pair, unequal numbers, or a value that is not finite.

    Notes
    -----
    A thermometer on the outside of a nozzle reads less than the melt: contact and immersion belong into
    `reference_uncertainty`.
    """
    x, y = np.asarray(commanded, dtype=float), np.asarray(read, dtype=float)
    if not (
        x.size == y.size > 0
        and np.all(np.isfinite(x))
        and np.all(np.isfinite(y))
        and reference_uncertainty >= 0
    ):
        raise InputError(
            setting, f"{x.size} commands, {y.size} readings", "as many, finite", "Complete the pairs."
        )
    spread = x - x.mean()
    power = float(spread @ spread)
    flags = []
    slope = float(spread @ y) / power if power > 0 else 1.0
    left = y - y.mean() - slope * spread
    freedom = x.size - (2 if power > 0 else 1)
    scatter = float(np.sqrt(left @ left / freedom)) * coverage_factor(freedom) if freedom > 0 else 0.0
    if power == 0:
        flags.append("one command only: its offset is taken for the whole range")
    if freedom <= 0:
        flags.append("no repeated reading: the scatter is not known and not in the uncertainty")
    return RealisedLine(
        setting,
        float(x.mean()),
        float(y.mean()),
        slope,
        scatter / x.size**0.5,
        scatter / power**0.5 if power > 0 else 0.0,
        reference_uncertainty,
        float(x.min()),
        float(x.max()),
        tuple(flags),
    )
