"""Geometry of the haze bench: how large the black spot looks from where the plaque scatters."""

from __future__ import annotations

from dataclasses import dataclass
from math import atan, degrees, radians, tan

from voidless.errors import InputError
from voidless.measure.optics.spot import NARROW_DEG

__all__ = ["Bench", "check_bench"]

_SPOT_WITHIN = 0.05
"""How far the spot's half-angle may be from 2.5°. [1]"""


@dataclass(frozen=True)
class Bench:
    """
    Geometry of the set-up.

    Attributes
    ----------
    distance_mm, distance_uncertainty_mm : float
        From the plaque's nearer face to the panel. [mm]
    spot_mm, spot_uncertainty_mm : float
        Diameter of the black spot on the panel. [mm]
    panel_mm : float
        Width of the lit panel. [mm]
    pupil_deg : float
        Half-angle of the camera's pupil seen from the plaque. [°]
    index : float
        Refractive index of the plaque: for the ceiling of its transmittance, and for how thick it looks. [1]
    thickness_mm : float
        Of the plaque. [mm]
    plaque_mm : float
        Width of the plaque. [mm]
    """

    distance_mm: float
    spot_mm: float
    panel_mm: float
    pupil_deg: float
    index: float
    thickness_mm: float
    plaque_mm: float = 50.0
    distance_uncertainty_mm: float = 0.5
    spot_uncertainty_mm: float = 0.05

    @property
    def half_depth_mm(self) -> float:
        """Half of how thick the plaque looks from the panel: light bent at one face crosses it at 1/n the angle."""
        return 0.5 * self.thickness_mm / self.index

    @property
    def reach_mm(self) -> float:
        """Distance from the middle of the plaque, as it looks from the panel, to the panel."""
        return self.distance_mm + self.half_depth_mm

    @property
    def half_angle_deg(self) -> float:
        """Half-angle of the spot from the middle of the plaque."""
        return degrees(atan(0.5 * self.spot_mm / self.reach_mm))


def check_bench(bench: Bench, where: str) -> None:
    """
    Pass a bench whose spot is of 2.5° or nearly.

    Parameters
    ----------
    bench : Bench
        Geometry.
    where : str
        Name of the plaque, for errors.

    Raises
    ------
    InputError
        A length is not positive, the index is below 1, the pupil is wide, or the spot is more than 5 % off 2.5°.
    """
    lengths = (bench.distance_mm, bench.spot_mm, bench.panel_mm, bench.plaque_mm, bench.thickness_mm)
    doubts = (bench.distance_uncertainty_mm, bench.spot_uncertainty_mm)
    if not (
        all(0 < value < float("inf") for value in lengths)
        and all(0 <= value < float("inf") for value in doubts)
        and 1.0 <= bench.index < 3.0
        and 0 <= bench.pupil_deg <= 1.0
    ):
        raise InputError(
            where,
            f"a geometry of {bench}",
            "lengths above 0, an index of 1 to 3, a pupil up to 1°",
            "Correct the sheet.",
        )
    half = bench.half_angle_deg
    if not abs(half / NARROW_DEG - 1.0) <= _SPOT_WITHIN:
        wanted = 2.0 * bench.reach_mm * tan(radians(NARROW_DEG))
        raise InputError(
            where,
            f"a spot of half-angle {half:.2f}°",
            f"2.5°, which at {bench.distance_mm:g} mm from a plaque of {bench.thickness_mm:g} mm is {wanted:.2f} mm",
            "Change the spot or the distance.",
        )
