"""What is known of a test bench beside its record."""

from __future__ import annotations

from dataclasses import dataclass

from voidless.measure.tensile.compliance import Compliance

__all__ = ["Bench"]


@dataclass(frozen=True)
class Bench:
    """
    What is known of the bench beside the record; None is "not stated", and not in the uncertainty.

    Attributes
    ----------
    force_uncertainty_pct : float or None
        Standard uncertainty of the force cell. [%]
    section_uncertainty_pct : float or None
        Standard uncertainty of the section. [%]
    strain_uncertainty_pct : float or None
        Standard uncertainty of extensometer or travel. [%]
    gauge_length_mm, span_mm : float or None
        Where a file does not state them. [mm]
    compliance : Compliance or None
        Give of machine and grips, for crosshead travel.
    """

    force_uncertainty_pct: float | None = None
    section_uncertainty_pct: float | None = None
    strain_uncertainty_pct: float | None = None
    gauge_length_mm: float | None = None
    span_mm: float | None = None
    compliance: Compliance | None = None
