"""
The only conversions between shop units and SI.

Kernels work in SI without suffix; everything a person reads or writes carries its unit in the name
(`layer_mm`, `nozzle_c`). Differences of temperature are kelvin and are never converted as temperatures.
"""

from __future__ import annotations

from dataclasses import dataclass

from voidless.errors import InputError

__all__ = ["CELSIUS_ZERO", "Unit", "celsius", "convert", "kelvin", "same_dimension", "unit"]

CELSIUS_ZERO = 273.15
"""Temperature of 0 °C. [K] Definition of the degree Celsius (SI Brochure, 9th edition, BIPM 2019)."""


@dataclass(frozen=True)
class Unit:
    """A unit by its symbol, dimension and factor to the SI unit of that dimension."""

    symbol: str
    dimension: str
    factor: float
    offset: float = 0.0


def _table(*rows: tuple[str, str, float, str]) -> dict[str, Unit]:
    found: dict[str, Unit] = {}
    for symbol, dimension, factor, spellings in rows:
        made = Unit(symbol, dimension, factor)
        for spelling in (symbol, *spellings.split()):
            found[spelling] = made
    return found


# Factors are exact by definition of the prefixes, the minute, the hour and the inch (25.4 mm); the
# pound-force is 4.4482216152605 N and the kilogram-force 9.80665 N (NIST SP 811, 2008, appendix B.8).
_UNITS = _table(
    ("1", "number", 1.0, "- ratio mm/mm m/m in/in"),
    ("%", "number", 1e-2, "percent pct"),
    ("m", "length", 1.0, "metre meter"),
    ("mm", "length", 1e-3, "millimetre millimeter Millimeter"),
    ("um", "length", 1e-6, "µm μm micron micrometer"),
    ("in", "length", 25.4e-3, "inch"),
    ("mm2", "area", 1e-6, "mm² mm^2 sqmm"),
    ("mm3", "volume", 1e-9, "mm³ mm^3"),
    ("N", "force", 1.0, "newton Newton"),
    ("kN", "force", 1e3, ""),
    ("mN", "force", 1e-3, ""),
    ("lbf", "force", 4.4482216152605, "lb"),
    ("kgf", "force", 9.80665, ""),
    ("Pa", "pressure", 1.0, ""),
    ("kPa", "pressure", 1e3, ""),
    ("MPa", "pressure", 1e6, "N/mm2 N/mm²"),
    ("GPa", "pressure", 1e9, ""),
    ("psi", "pressure", 4.4482216152605 / 25.4e-3**2, "lbf/in2 lbf/in²"),
    ("ksi", "pressure", 4448.2216152605 / 25.4e-3**2, ""),
    ("hPa", "pressure", 1e2, ""),
    ("mbar", "pressure", 1e2, ""),
    ("bar", "pressure", 1e5, ""),
    ("J", "energy", 1.0, "joule"),
    ("mJ", "energy", 1e-3, ""),
    ("cm3", "volume", 1e-6, "cm³ cm^3 ml mL"),
    ("l", "volume", 1e-3, "L litre liter"),
    ("s", "time", 1.0, "sec second seconds Sec"),
    ("ms", "time", 1e-3, "msec"),
    ("min", "time", 60.0, "minute minutes"),
    ("h", "time", 3600.0, "hour hours hr"),
    ("g", "mass", 1e-3, "gram grams"),
    ("mg", "mass", 1e-6, ""),
    ("kg", "mass", 1.0, ""),
    ("g/cm3", "density", 1e3, "g/cm³ g/cm^3 g/cc"),
    ("kg/m3", "density", 1.0, "kg/m³"),
    ("kJ/m2", "impact", 1e3, "kJ/m² kJ/m^2"),
    ("J/m2", "impact", 1.0, "J/m²"),
    ("J/m", "impact by width", 1.0, ""),
    ("Pa m3/s", "leak", 1.0, "Pa·m3/s Pa·m³/s"),
    ("mbar l/s", "leak", 0.1, ""),
    ("mm/s", "speed", 1e-3, ""),
    ("mm/min", "speed", 1e-3 / 60.0, ""),
    ("mm3/s", "rate", 1e-9, "mm³/s"),
    ("deg", "angle", 0.017453292519943295, "°"),
    ("K", "temperature difference", 1.0, ""),
    # Units of material properties; factors are those of the prefixes.
    ("1/K", "expansion", 1.0, ""),
    ("1e-6/K", "expansion", 1e-6, ""),
    ("W/m/K", "conductivity", 1.0, ""),
    ("J/kg/K", "heat capacity", 1.0, ""),
    ("J/kg", "specific energy", 1.0, ""),
    ("J/g", "specific energy", 1e3, ""),
    ("kg/mol", "molar mass", 1.0, ""),
    ("kJ/mol", "molar energy", 1e3, ""),
    ("J/mol", "molar energy", 1.0, ""),
    ("Pa s", "viscosity", 1.0, ""),
    ("N/m", "surface tension", 1.0, ""),
    ("mN/m", "surface tension", 1e-3, ""),
    ("N/m/K", "surface tension slope", 1.0, ""),
    ("mN/m/K", "surface tension slope", 1e-3, ""),
    ("1/m", "attenuation", 1.0, ""),
    ("1/s", "frequency", 1.0, ""),
    ("m2/s", "diffusivity", 1.0, ""),
    ("W", "power", 1.0, ""),
)
_UNITS["degC"] = _UNITS["°C"] = _UNITS["C"] = Unit("degC", "temperature", 1.0, CELSIUS_ZERO)


def unit(text: str, where: str = "unit") -> Unit:
    """
    Return the unit that a text names.

    Parameters
    ----------
    text : str
        A symbol as people write it: `mm`, `N/mm²`, `g/cm3`.
    where : str
        Place that an error names.

    Raises
    ------
    InputError
        No unit has this name.
    """
    found = _UNITS.get(text.strip().strip("[]()"))
    if found is None:
        known = ", ".join(sorted({known.symbol for known in _UNITS.values()}))
        raise InputError(where, f"unit {text!r} is not known", f"one of {known}", "Correct the unit.")
    return found


def same_dimension(first: str, second: str) -> bool:
    """Return whether two known unit texts measure the same thing; unknown texts do not."""
    one, other = _UNITS.get(first.strip()), _UNITS.get(second.strip())
    return one is not None and other is not None and one.dimension == other.dimension


def convert(value: float, source: str, target: str, where: str = "value") -> float:
    """
    Return a value given in one unit in another of the same dimension.

    Raises
    ------
    InputError
        A unit is not known or the two measure different things.

    Examples
    --------
    >>> convert(2.5, "kN", "N")
    2500.0
    """
    one, other = unit(source, where), unit(target, where)
    if one.dimension != other.dimension:
        raise InputError(
            where,
            f"{source} is a {one.dimension}, {target} a {other.dimension}",
            f"a unit of {other.dimension}",
            "Correct the unit.",
        )
    return (value * one.factor + one.offset - other.offset) / other.factor


def kelvin(temperature_c: float) -> float:
    """Return a temperature given in °C. [K]"""
    return temperature_c + CELSIUS_ZERO


def celsius(temperature: float) -> float:
    """Return a temperature given in kelvin. [°C]"""
    return temperature - CELSIUS_ZERO
