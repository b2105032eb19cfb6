"""
One table of quantities: name, unit, bounds and words for people.

A quantity has one name everywhere: code, column, JSON, page and plot. Settings, nuisance variables,
responses and derived quantities are told apart by `role`; only settings can be factors of a campaign.
"""

from __future__ import annotations

import difflib
from dataclasses import dataclass
from enum import Enum

from voidless.errors import InputError

__all__ = [
    "QUANTITIES",
    "Quantity",
    "Role",
    "names",
    "quantity",
    "suggest",
]


class Role(Enum):
    """What a quantity is to a campaign."""

    SETTING = "setting"
    DERIVED = "derived"
    NUISANCE = "nuisance"
    RESPONSE = "response"


@dataclass(frozen=True)
class Quantity:
    """
    A quantity that people and programs name.

    Attributes
    ----------
    name : str
        Its only name, with the unit where it has one.
    role : Role
        Setting, derived, nuisance or response.
    unit : str
        Shop unit as result tables write it; `1` for a plain number.
    low, high : float
        Values outside are errors of entry, not measurements.
    words : str
        What a person calls it.
    integer : bool
        Whether only whole numbers make sense.
    unit_optional : bool
        Whether a result table may leave its unit empty.
    resolution : float
        For a setting: the smallest change that a person sets; 0 where it is not one.
    """

    name: str
    role: Role
    unit: str
    low: float
    high: float
    words: str
    integer: bool = False
    unit_optional: bool = False
    resolution: float = 0.0

    def check(self, value: float, where: str) -> float:
        """
        Return the value if it is possible.

        Raises
        ------
        InputError
            The value is not finite or outside `low` to `high`.
        """
        if not (self.low <= value <= self.high):
            raise InputError(
                where,
                f"{self.name} = {value:g}" + ("" if self.unit == "1" else f" {self.unit}"),
                f"{self.low:g} to {self.high:g}",
                "Correct the value or its unit.",
            )
        return value


_INF = float("inf")


def _settings() -> list[Quantity]:
    role = Role.SETTING
    return [
        Quantity("layer_mm", role, "mm", 0.02, 2.0, "layer thickness", resolution=0.01),
        Quantity("width_mm", role, "mm", 0.05, 5.0, "bead width", resolution=0.01),
        Quantity("flow_pct", role, "%", 20.0, 300.0, "flow", resolution=0.1),
        Quantity("contours", role, "1", 0.0, 50.0, "contours", integer=True, resolution=1.0),
        Quantity("raster_deg", role, "deg", -360.0, 360.0, "raster angle", resolution=1.0),
        Quantity("raster_step_deg", role, "deg", -180.0, 180.0, "raster step per layer", resolution=1.0),
        Quantity("overlap_pct", role, "%", -50.0, 100.0, "overlap of raster and contour", resolution=1.0),
        Quantity("nozzle_c", role, "degC", 100.0, 500.0, "nozzle temperature", resolution=1.0),
        Quantity("bed_c", role, "degC", 0.0, 250.0, "bed temperature", resolution=1.0),
        Quantity("chamber_c", role, "degC", 0.0, 250.0, "chamber temperature", resolution=1.0),
        Quantity("fan_pct", role, "%", 0.0, 100.0, "part-cooling fan", resolution=1.0),
        Quantity("speed_mm_s", role, "mm/s", 0.5, 2000.0, "bead speed", resolution=0.1),
    ]


def _derived() -> list[Quantity]:
    role = Role.DERIVED
    return [
        Quantity("pitch_mm", role, "mm", 0.0, 10.0, "pitch of raster beads"),
        Quantity("layer_time_s", role, "s", 0.0, _INF, "layer time"),
        Quantity("grams", role, "g", 0.0, _INF, "mass of filament"),
        Quantity("water_pct", role, "%", 0.0, 20.0, "water content of the filament"),
    ]


def _nuisance() -> list[Quantity]:
    role = Role.NUISANCE
    return [
        Quantity("exposure_h", role, "h", 0.0, 100_000.0, "hours out of the dryer"),
        Quantity("humidity_pct", role, "%", 0.0, 100.0, "relative humidity"),
        Quantity("order", role, "1", 0.0, 1e9, "run order", integer=True),
        Quantity("session", role, "1", 0.0, 1e9, "session", integer=True),
    ]


def _responses() -> list[Quantity]:
    role = Role.RESPONSE
    return [
        Quantity("clarity", role, "1", 0.0, 1.0, "clarity", unit_optional=True),
        Quantity("haze_pct", role, "%", 0.0, 100.0, "haze"),
        Quantity("transmittance_pct", role, "%", 0.0, 100.0, "transmittance"),
        Quantity("yellowness", role, "1", -100.0, 500.0, "yellowness"),
        Quantity("void_pct", role, "%", -20.0, 100.0, "void share"),
        Quantity("density_g_cm3", role, "g/cm3", 0.1, 25.0, "density"),
        Quantity("healing", role, "1", 0.0, 1.0, "degree of healing"),
        Quantity("strength_xy_mpa", role, "MPa", 0.0, 5000.0, "strength along the beads"),
        Quantity("strength_across_mpa", role, "MPa", 0.0, 5000.0, "strength across the beads"),
        Quantity("strength_z_mpa", role, "MPa", 0.0, 5000.0, "strength through the layers"),
        Quantity("z_ratio", role, "1", 0.0, 5.0, "strength ratio Z over XY", unit_optional=True),
        Quantity("modulus_gpa", role, "GPa", 0.0, 1000.0, "tensile modulus"),
        Quantity("yield_mpa", role, "MPa", 0.0, 5000.0, "yield stress"),
        Quantity("strain_break_pct", role, "%", 0.0, 5000.0, "strain at break"),
        Quantity("max_force_n", role, "N", 0.0, 1e7, "maximum force"),
        Quantity("flexural_strength_mpa", role, "MPa", 0.0, 5000.0, "flexural strength"),
        Quantity("flexural_modulus_gpa", role, "GPa", 0.0, 1000.0, "flexural modulus"),
        Quantity("charpy_kj_m2", role, "kJ/m2", 0.0, 1000.0, "Charpy impact strength"),
        Quantity("izod_kj_m2", role, "kJ/m2", 0.0, 1000.0, "Izod impact strength"),
        Quantity("izod_j_m", role, "J/m", 0.0, 20_000.0, "Izod impact energy by width of the notch"),
        Quantity("leak_rate_pa_m3_s", role, "Pa m3/s", -1.0, 1e3, "leak rate"),
        Quantity("size_error_mm", role, "mm", -50.0, 50.0, "size error, measured minus nominal"),
        Quantity("mass_g", role, "g", 0.0, 1e6, "mass"),
        Quantity("build_min", role, "min", 0.0, 1e6, "build time"),
        Quantity("rate_mm3_s", role, "mm3/s", 0.0, 1e4, "volumetric rate"),
        Quantity("residence_s", role, "s", 0.0, 1e6, "residence time of the melt"),
    ]


QUANTITIES: dict[str, Quantity] = {
    item.name: item for item in (*_settings(), *_derived(), *_nuisance(), *_responses())
}


def names(role: Role) -> tuple[str, ...]:
    """Return the names of all quantities of one role, in table order."""
    return tuple(item.name for item in QUANTITIES.values() if item.role is role)


def suggest(wrong: str, known: tuple[str, ...]) -> str:
    """Return a sentence that names the nearest known word, or an empty text."""
    near = difflib.get_close_matches(wrong, known, n=1)
    return f"Did you mean {near[0]}?" if near else ""


def quantity(name: str, where: str, role: Role | None = None) -> Quantity:
    """
    Return a quantity by name.

    Raises
    ------
    InputError
        No quantity of that role has this name.
    """
    found = QUANTITIES.get(name)
    if found is None or (role is not None and found.role is not role):
        known = names(role) if role else tuple(QUANTITIES)
        kind = role.value if role else "quantity"
        raise InputError(
            where, f"{name!r} is not a {kind}", "one of " + ", ".join(known), suggest(name, known)
        )
    return found
