"""The give of machine and grips: taken out of crosshead travel, from a table or one number."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from voidless.errors import ComputationError, InputError

__all__ = ["REACH", "Compliance", "compliance_table", "constant_compliance", "correct_compliance"]

Floats = NDArray[np.float64]

NO_END_N = 1e7
REACH = 1.25
"""Share of the last known force up to which the give is prolonged as it ended. [1] Our choice."""
ENDING = 2.0 / 3.0
"""Share of the last known force from which the ending is taken. [1] Our choice."""
PROLONGED_DOUBT = 0.1
"""Standard uncertainty of what is prolonged, as a share of it. [1] Our choice."""


@dataclass(frozen=True)
class Compliance:
    """
    Travel that machine and grips take up, by force.

    Attributes
    ----------
    force_n : tuple of float
        From 0, rising. [N]
    give_mm : tuple of float
        Travel at each force. [mm]
    uncertainty_mm : tuple of float
        Standard uncertainty of each; empty where it is not known. [mm]
    source : str
        Where it is from.
    """

    force_n: tuple[float, ...]
    give_mm: tuple[float, ...]
    uncertainty_mm: tuple[float, ...] = ()
    source: str = ""

    @property
    def end_n(self) -> float:
        """Largest force that it is known for. [N]"""
        return self.force_n[-1]

    def at(self, force_n: Floats) -> Floats:
        """Return the give at each force, prolonged as it ended up to `REACH`, NaN above. [mm]"""
        force = np.asarray(force_n, dtype=float)
        prolonged = self.give_mm[-1] + self._ending() * (force - self.end_n)
        above = np.where(force <= REACH * self.end_n, prolonged, np.nan)
        return np.where(force > self.end_n, above, np.interp(force, self.force_n, self.give_mm))

    def uncertainty_at(self, force_n: float) -> float | None:
        """Return the standard uncertainty of the give at a force, None if not known. [mm]"""
        if not self.uncertainty_mm:
            return None
        own = float(np.interp(force_n, self.force_n, self.uncertainty_mm))
        return float(np.hypot(own, PROLONGED_DOUBT * self._ending() * max(force_n - self.end_n, 0.0)))

    def _ending(self) -> float:
        """Return give per force near the last force that it is known for. [mm/N]"""
        from_n = ENDING * self.end_n
        rise = self.give_mm[-1] - float(np.interp(from_n, self.force_n, self.give_mm))
        return rise / (self.end_n - from_n)

    def uncertainty_between(self, low_n: float, high_n: float) -> float | None:
        """Return the standard uncertainty of the difference between two forces, None if not known. [mm]"""
        if not self.uncertainty_mm:
            return None
        low, high = np.interp((low_n, high_n), self.force_n, self.uncertainty_mm)
        # One number is wrong by the same share everywhere; points of a table are taken as independent.
        return float(abs(high - low) if len(self.force_n) == 2 else np.hypot(low, high))


def constant_compliance(
    mm_per_n: float, uncertainty_mm_n: float | None = None, source: str = ""
) -> Compliance:
    """
    Return a compliance that is the same at every force.

    Parameters
    ----------
    mm_per_n : float
        Travel per force. [mm/N]
    uncertainty_mm_n : float or None
        Its standard uncertainty. [mm/N]
    source : str
        Where it is from.

    Returns
    -------
    compliance : Compliance
        A straight line through 0.

    Raises
    ------
    InputError
        It is negative or not finite.
    """
    if not 0 <= mm_per_n < np.inf:
        raise InputError(source or "compliance", f"{mm_per_n:g} mm/N", "0 or above", "Correct it.")
    unsure = () if uncertainty_mm_n is None else (0.0, uncertainty_mm_n * NO_END_N)
    return Compliance((0.0, NO_END_N), (0.0, mm_per_n * NO_END_N), unsure, source)


def compliance_table(
    force_n: Sequence[float],
    give_mm: Sequence[float],
    uncertainty_mm: Sequence[float] = (),
    source: str = "compliance table",
) -> Compliance:
    """
    Return a compliance from a table of forces.

    Parameters
    ----------
    force_n, give_mm : sequence of float
        Forces, rising, and the travel of machine and grips at each. [N], [mm]
    uncertainty_mm : sequence of float
        Standard uncertainty of each; empty where it is not known. [mm]
    source : str
        Where it is from, for errors.

    Returns
    -------
    compliance : Compliance
        With 0 mm at 0 N put in front where the table begins higher.

    Raises
    ------
    InputError
        Fewer than two forces, forces that do not rise, or a give that falls.
    """
    force, give = np.asarray(force_n, dtype=float), np.asarray(give_mm, dtype=float)
    unsure = np.asarray(uncertainty_mm, dtype=float)
    if force.size and force[0] > 0:
        force, give = np.insert(force, 0, 0.0), np.insert(give, 0, 0.0)
        unsure = np.insert(unsure, 0, 0.0) if unsure.size else unsure
    good = force.size == give.size >= 2 and bool(np.all(np.isfinite(give))) and unsure.size in (0, force.size)
    if not good or not (np.all(np.diff(force) > 0) and np.all(np.diff(give) >= 0) and np.all(unsure >= 0)):
        raise InputError(
            source,
            f"{force.size} forces from {np.min(force, initial=np.inf):g} N, or a travel that falls",
            "forces that rise and the travel of the machine at each",
            "Correct the table.",
        )
    return Compliance(tuple(force.tolist()), tuple(give.tolist()), tuple(unsure.tolist()), source)


def correct_compliance(
    modulus_mpa: float, section_mm2: float, length_mm: float, compliance_mm_n: float
) -> float:
    """
    Return a modulus from crosshead travel with the machine's own give taken out.

    Parameters
    ----------
    modulus_mpa : float
        Apparent modulus. [MPa]
    section_mm2 : float
        Cross-section. [mm²]
    length_mm : float
        Free length between the grips. [mm]
    compliance_mm_n : float
        Travel of machine and grips per force. [mm/N]

    Returns
    -------
    modulus : float
        Of the specimen alone. [MPa]

    Raises
    ------
    ComputationError
        The machine would have to give more than was measured.

    Notes
    -----
    travel / force = length / (modulus section) + compliance.
    """
    rest = 1.0 / modulus_mpa - section_mm2 * compliance_mm_n / length_mm
    if not rest > 0:
        raise ComputationError(
            "compliance",
            f"{compliance_mm_n:g} mm/N is more than the whole travel per force",
            f"below {length_mm / (section_mm2 * modulus_mpa):g} mm/N",
            "Check the compliance; it is found from specimens of several lengths.",
        )
    return 1.0 / rest
