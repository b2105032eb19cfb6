"""One row of a result table to values, every fault of it named."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from enum import Enum
from typing import TypeVar

from voidless.campaign.types import Bound, BreakMode, BreakPlace, BuildOutcome
from voidless.errors import InputError
from voidless.measure.files.rows import column_name, number
from voidless.quantities import QUANTITIES, Quantity, Role, names, suggest
from voidless.specimens.codes import BLIND_CODE, looks_like_code
from voidless.units import unit

__all__ = ["CENSORED", "Row"]

Value = TypeVar("Value")
Choice = TypeVar("Choice", bound=Enum)

MAX_LABEL = 80
FACTS = ("exposure_h", "humidity_pct")
CENSORED = (
    "strength_xy_mpa",
    "strength_across_mpa",
    "strength_z_mpa",
    "strain_break_pct",
    "max_force_n",
)
"""Responses of which a bar that broke outside its gauge gives only a lower bound."""


@dataclass
class Row:
    """Cells of one row by column, and the faults found while they are read."""

    cells: Mapping[str, str]
    decimal_comma: bool
    faults: list[str] = field(default_factory=list)

    def text(self, column: str) -> str:
        """Return a cell, or an empty text."""
        return self.cells.get(column, "")

    def _kept(self, read: Callable[[], Value]) -> Value | None:
        try:
            return read()
        except InputError as fault:
            parts = [fault.what, f"expected {fault.expected}" if fault.expected else "", fault.remedy]
            self.faults.append("; ".join(part for part in parts if part))
            return None

    def label(self, column: str, needed: bool) -> str:
        """Return a label; a missing or monstrous one is a fault."""
        text = self.text(column)
        if needed and not text:
            self.faults.append(f"no {column}; expected a label such as {'R03' if column == 'run' else 'B05'}")
        if len(text) > MAX_LABEL or not text.isprintable():
            self.faults.append(
                f"{column} is {text[:20]!r}...; expected up to {MAX_LABEL} printable characters"
            )
        return text

    def place(self, needed: bool = True) -> tuple[str, str, str]:
        """Return run, build and specimen; what may be a blind code stands for all three until a campaign says."""
        specimen = self.label("specimen", needed=False)
        needed = needed and not looks_like_code(specimen)
        return self.label("run", needed), self.label("build", needed), specimen

    def by_code(self) -> dict[str, str]:
        """Return by which blind code alone a row says where it belongs; empty where run and build stand in it."""
        code = self.text("specimen")
        placed = self.text("run") and self.text("build")
        return {BLIND_CODE: code} if looks_like_code(code) and not placed else {}

    def real(self, column: str) -> float | None:
        """Return a number, None for an empty cell; anything else is a fault."""
        text = self.text(column)
        if not text:
            return None
        value = number(text, self.decimal_comma)
        if value is None:
            mark = "comma" if self.decimal_comma else "point"
            self.faults.append(
                f"{column} {text[:40]!r} is not a plain number; expected digits with a decimal {mark}"
            )
        return value

    def bounded(self, column: str, quantity: Quantity) -> float | None:
        """Return a number within the bounds of its quantity."""
        value = self.real(column)
        if value is None:
            return None
        if quantity.integer and value != int(value):
            self.faults.append(f"{column} {self.text(column)} is not a whole number; expected one")
        return self._kept(lambda: quantity.check(value, ""))

    def choice(self, column: str, kind: type[Choice]) -> Choice | None:
        """Return a member of a vocabulary, None for an empty cell."""
        text = column_name(self.text(column))
        members = {member.value: member for member in kind}
        if text and text not in members:
            self.faults.append(f"{column} {text[:40]!r}; expected one of {', '.join(members)}")
        return members.get(text)

    def response(self) -> Quantity | None:
        """Return the quantity that the row gives."""
        text = column_name(self.text("response"))
        known = (*names(Role.RESPONSE), *FACTS)
        if not text:
            self.faults.append("no response; expected a name such as clarity")
        elif text not in known:
            hint = suggest(text, known)
            fault = f"response {text[:40]!r} is not known; expected a response such as clarity"
            self.faults.append(fault + (f". {hint}" if hint else ""))
        else:
            return QUANTITIES[text]
        return None

    def check_unit(self, quantity: Quantity, answered: str | None) -> None:
        """Find a fault where the unit is wrong, or missing and neither optional nor answered."""
        written = self.text("unit") or answered or ""
        if not written:
            if not quantity.unit_optional:
                self.faults.append(
                    f"no unit for {quantity.name}; expected {quantity.unit}; "
                    f"write it, or say --unit {quantity.name}={quantity.unit}"
                )
            return
        found = self._kept(lambda: unit(written, ""))
        if found is not None and found.symbol != unit(quantity.unit).symbol:
            self.faults.append(
                f"unit {written!r} for {quantity.name}; expected {quantity.unit}; convert the value"
            )

    def value(self, quantity: Quantity) -> float | None:
        """Return the measured value."""
        if not self.text("value"):
            self.faults.append(
                f"no value for {quantity.name}; expected a number; leave out the row of a specimen that was "
                "not measured"
            )
        return self.bounded("value", quantity)

    def uncertainty(self) -> float | None:
        """Return the standard uncertainty, None where none is stated."""
        value = self.real("uncertainty")
        if value is not None and not value > 0:
            self.faults.append(
                f"uncertainty {value:g}; expected a standard uncertainty above 0, or an empty cell"
            )
        return value

    def order(self) -> int | None:
        """Return the order, a whole number from 1."""
        value = self.real("order")
        if value is not None and not (value >= 1 and value == int(value)):
            self.faults.append(f"order {value:g}; expected a whole number from 1")
            return None
        return None if value is None else int(value)

    def outcome(self) -> BuildOutcome | None:
        """Return how the build ended, None where the row does not say."""
        return self.choice("build_outcome", BuildOutcome)

    def breaking(self) -> tuple[BreakPlace | None, BreakMode | None]:
        """Return where and through what the specimen broke."""
        return self.choice("break_place", BreakPlace), self.choice("break_mode", BreakMode)

    def bound(self, quantity: Quantity, place: BreakPlace | None) -> tuple[Bound, str]:
        """Return what bound the value is, and why where the row does not say so itself."""
        stated = self.choice("bound", Bound)
        if place in (BreakPlace.RADIUS, BreakPlace.GRIP) and quantity.name in CENSORED:
            if stated is Bound.UPPER:
                self.faults.append(
                    f"an upper bound from a break at the {place.value}; expected lower or empty"
                )
            why = "" if stated is Bound.LOWER else f"broke at the {place.value}: taken as a lower bound"
            return Bound.LOWER, why
        return stated or Bound.EXACT, ""
