"""Frozen values: a property with its evidence, and a material."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from voidless.errors import InputError
from voidless.quantities import suggest
from voidless.units import unit

__all__ = ["MARKS", "SPREAD_KINDS", "Material", "Property"]

MARKS = ("seen", "seen_second_hand", "derived", "memory", "assumed")
"""How a value is known: read in its source; read in a quotation of it; computed from values read;
remembered and not confirmed; nobody measured it, a wide prior."""

SPREAD_KINDS = ("sd", "factor", "range")
"""What a spread means: standard deviation; factor either way that covers 95 %; half-width of an interval
in which every value is as likely."""

_TWO_SIDED_95 = 1.959964  # normal quantile of 0.975
_NATURAL_TO_RANGE = math.sqrt(3.0)  # standard deviation of a uniform law is its half-width / sqrt(3)


@dataclass(frozen=True)
class Property:
    """
    One property of a material and how it is known.

    Attributes
    ----------
    name : str
        A name of `properties.PROPERTIES`, unit included.
    value : float
        [unit]
    unit : str
        Shop unit, as `units.unit` reads it.
    spread : float
        Uncertainty of the value for an unknown grade of this polymer; `spread_kind` says how it is meant.
    spread_kind : str
        One of `SPREAD_KINDS`.
    valid : str
        Where the value holds: temperature, state, test.
    source : str
        Where it comes from, in full.
    mark : str
        One of `MARKS`.
    """

    name: str
    value: float
    unit: str
    spread: float
    spread_kind: str
    valid: str
    source: str
    mark: str

    @property
    def si(self) -> float:
        """The value in SI. [SI unit]"""
        known = unit(self.unit)
        return self.value * known.factor + known.offset

    @property
    def sd(self) -> float:
        """Standard deviation of the value; for a factor, to first order. [unit]"""
        if self.spread_kind == "factor":
            return abs(self.value) * self.log_sd
        return self.spread / (_NATURAL_TO_RANGE if self.spread_kind == "range" else 1.0)

    @property
    def si_sd(self) -> float:
        """Standard deviation of the value in SI. [SI unit]"""
        return self.sd * unit(self.unit).factor

    @property
    def log_sd(self) -> float:
        """Standard deviation of the natural logarithm of the value. [1]"""
        if self.spread_kind == "factor":
            return math.log(self.spread) / _TWO_SIDED_95
        return self.sd / abs(self.value) if self.value else math.inf


@dataclass(frozen=True)
class Material:
    """
    A filament polymer: properties with their evidence, and how it is usually printed.

    Attributes
    ----------
    name, title : str
        Library name (`petg`) and what a person calls it.
    properties : mapping of str to Property
        What is known; a property that is absent is not known.
    usual : mapping of str to float
        Usual settings by name. [unit of the setting]
    limits : mapping of str to (float, float)
        Settings outside cannot work: below the polymer does not melt, above it decomposes.
    clear : bool
        Whether the polymer is clear when free of voids, so that optical indicators mean something.
    crystallises : bool
        Whether cooling changes its density and closes welds at the melting point.
    drying : (float, float)
        Usual drying. [degC], [h]
    """

    name: str
    title: str
    properties: Mapping[str, Property]
    usual: Mapping[str, float]
    limits: Mapping[str, tuple[float, float]]
    clear: bool
    crystallises: bool
    drying: tuple[float, float]

    def has(self, name: str) -> bool:
        """Return whether a property is known, if only as an assumption."""
        return name in self.properties

    def property(self, name: str) -> Property:
        """
        Return a property by name.

        Raises
        ------
        InputError
            Nothing is known of it.
        """
        found = self.properties.get(name)
        if found is None:
            raise InputError(
                f"material {self.name}",
                f"{name} is not known",
                "a value for it",
                suggest(name, tuple(self.properties))
                or f"Give it in a table [materials.{self.name}.properties].",
            )
        return found

    def si(self, name: str) -> float:
        """Return a property in SI; InputError where nothing is known of it. [SI unit]"""
        return self.property(name).si
