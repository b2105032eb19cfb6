"""One blow of a pendulum: energy over the broken area, less the pendulum's own losses."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from voidless.errors import InputError

__all__ = ["METHODS", "Blow", "BreakType", "ImpactMethod", "ImpactResult", "impact_strength"]


class BreakType(Enum):
    """How a bar broke (letters of ISO 179-1 and ISO 180, from memory)."""

    COMPLETE = "C"
    HINGE = "H"
    PARTIAL = "P"
    NONE = "N"


@dataclass(frozen=True)
class ImpactMethod:
    """
    A method of impact test.

    Attributes
    ----------
    name : str
        As results carry it.
    notched : bool
        Whether the width under the notch counts.
    per_width : bool
        Whether the energy is divided by width alone (ASTM D256, J/m).
    response : str
        The response that its results are.
    """

    name: str
    notched: bool
    per_width: bool = False
    response: str = "charpy_kj_m2"


METHODS = {
    "iso179_1eu": ImpactMethod("iso179_1eU", False),
    "iso179_1ea": ImpactMethod("iso179_1eA", True),
    "iso179_1eb": ImpactMethod("iso179_1eB", True),
    "iso179_1ec": ImpactMethod("iso179_1eC", True),
    "iso180_u": ImpactMethod("iso180_U", False, response="izod_kj_m2"),
    "iso180_a": ImpactMethod("iso180_A", True, response="izod_kj_m2"),
    "iso180_b": ImpactMethod("iso180_B", True, response="izod_kj_m2"),
    "astm_d256": ImpactMethod("astm_d256", True, per_width=True, response="izod_j_m"),
}
"""
Methods by lower-case name. 1: bar 80 x 10 x 4 mm; e: edgewise; U: unnotched; A, B, C: notch radius 0.25, 1.00 and
0.10 mm (ISO 179-1, ISO 180).
"""

UNDER_NOTCH_MM = (9.9, 10.4)
"""What an ASTM D256 bar has left under its notch: 10.16 mm (0.4 inch, from memory), with what is cut and read. [mm]"""
USABLE = (0.1, 0.8)
"""Shares of a pendulum's energy between which it reads well (ISO 13802: 10 to 80 %, from memory). [1]"""


@dataclass(frozen=True)
class Blow:
    """
    One blow.

    Attributes
    ----------
    energy_j, loss_j : float
        Energy that the pendulum lost, and what friction and air take of it in an empty swing. [J]
    thickness_mm : float
        Side of the bar along the edge of the pendulum: h of ISO 179-1, width of ASTM D256. [mm]
    width_mm : float
        The other side; with a notch what is left under it. [mm]
    method : str
        A key of `METHODS`.
    break_type : BreakType
        How it broke.
    pendulum_j : float or None
        Energy of the pendulum. [J]
    energy_uncertainty_j, size_uncertainty_mm : float
        Standard uncertainties. [J], [mm]
    """

    energy_j: float
    thickness_mm: float
    width_mm: float
    method: str
    break_type: BreakType = BreakType.COMPLETE
    loss_j: float = 0.0
    pendulum_j: float | None = None
    energy_uncertainty_j: float = 0.0
    size_uncertainty_mm: float = 0.0


@dataclass(frozen=True)
class ImpactResult:
    """
    Impact strength of one bar.

    Attributes
    ----------
    value, uncertainty : float
        With its standard uncertainty. [unit]
    unit : str
        `kJ/m2`, or `J/m` by ASTM D256. The two are not converted into each other.
    energy_j : float
        Energy less the pendulum's losses. [J]
    counts : bool
        False for a bar that did not break: its energy is only a lower limit.
    flags : tuple of str
        What to know.
    """

    value: float
    uncertainty: float
    unit: str
    energy_j: float
    counts: bool
    flags: tuple[str, ...]


def impact_strength(blow: Blow) -> ImpactResult:
    """
    Return the impact strength of one bar.

    Parameters
    ----------
    blow : Blow
        Energy, sizes, method and how it broke.

    Returns
    -------
    result : ImpactResult
        Energy over area, or over width by ASTM D256.

    Raises
    ------
    InputError
        A size or the pendulum is not positive, the method is not known, or losses eat the energy.

    Notes
    -----
    ISO 179-1: a = E / (h b), b the width under a notch (formula from memory; energy over area under the notch as
    sources print it). ISO 180 the same. ASTM D256: energy over width. Types of break must not be averaged together.
    """
    method = METHODS.get(blow.method.lower())
    if method is None:
        raise InputError(
            "impact", f"method {blow.method!r}", "one of " + ", ".join(METHODS), "Name one of them."
        )
    if not (blow.thickness_mm > 0 and blow.width_mm > 0):
        raise InputError(
            "impact", f"{blow.width_mm:g} x {blow.thickness_mm:g} mm", "sides above 0", "Measure them."
        )
    energy = blow.energy_j - blow.loss_j
    if not (energy > 0 and blow.loss_j >= 0):
        raise InputError(
            "impact",
            f"{blow.energy_j:g} J less {blow.loss_j:g} J of losses",
            "energy above its losses",
            "Correct it.",
        )
    if blow.pendulum_j is not None and not blow.pendulum_j > 0:
        raise InputError("impact", f"a pendulum of {blow.pendulum_j:g} J", "above 0", "Correct it.")
    if method.per_width:
        _check_sides(blow)
    sides = (blow.thickness_mm,) if method.per_width else (blow.thickness_mm, blow.width_mm)
    share = (blow.energy_uncertainty_j / energy) ** 2 + sum(
        (blow.size_uncertainty_mm / side) ** 2 for side in sides
    )
    value = (
        1e3 * energy / blow.thickness_mm
        if method.per_width
        else 1e3 * energy / (blow.thickness_mm * blow.width_mm)
    )
    return ImpactResult(
        value,
        value * share**0.5,
        "J/m" if method.per_width else "kJ/m2",
        energy,
        blow.break_type is not BreakType.NONE,
        tuple(_flags(blow, energy)),
    )


def _check_sides(blow: Blow) -> None:
    """Refuse a bar whose sides are named as ASTM D256 names them: its width is the thickness here."""
    low, high = UNDER_NOTCH_MM
    if low <= blow.thickness_mm <= high and not low <= blow.width_mm <= high:
        raise InputError(
            "impact",
            f"width {blow.width_mm:g} mm under the notch and thickness {blow.thickness_mm:g} mm along it (ASTM D256)",
            "some 10.16 mm left under the notch as width, and the side along the notch as thickness",
            "Swap the two columns: what ASTM D256 calls width is the thickness here.",
        )


def _flags(blow: Blow, energy: float) -> list[str]:
    found = []
    if blow.break_type is BreakType.NONE:
        found.append("did not break: the value is no impact strength, only a lower limit")
    if blow.break_type is BreakType.PARTIAL:
        found.append("broke in part; types of break are not averaged together")
    if blow.loss_j == 0.0:
        found.append("no losses of the pendulum stated; let it swing empty once")
    if blow.pendulum_j is not None and not USABLE[0] <= energy / blow.pendulum_j <= USABLE[1]:
        found.append(
            f"the blow took {100 * energy / blow.pendulum_j:.3g} % of the pendulum's energy; 10 to 80 % is good"
        )
    return found
