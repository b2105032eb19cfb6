"""A table of weighings over time to the diffusivity and saturation of each piece; all of it or nothing."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from voidless.errors import InputError, QuestionError
from voidless.measure.files.rows import Rows, has_decimal_comma, number, read_rows
from voidless.measure.moisture.air import heated_humidity
from voidless.measure.moisture.climate import climate
from voidless.measure.moisture.columns import COLUMNS, NUMBERS, is_moisture_table
from voidless.measure.moisture.fit import MoistureFit, Series, fit_moisture
from voidless.measure.picture import curve_of, picture_of

__all__ = ["MoistureTable", "read_moisture"]

EXPECTED = "columns piece, spool, time_h, mass_g, temperature_c, humidity_pct, diameter_mm"
ACTIVATION_KJ_MOL, ACTIVATION_UNCERTAINTY = 40.0, 5.0
"""Activation energy where none is stated. [kJ/mol] 35 to 45 for glassy polymers, from memory."""
HUMIDITY_UNCERTAINTY_PCT, TEMPERATURE_UNCERTAINTY_C = 2.0, 0.5
"""Standard uncertainties of room instruments where none is stated. [%], [°C] Common practice, no source."""
DIAMETER_UNCERTAINTY_MM = 0.01
"""Standard uncertainty of a filament's diameter along a coil. [mm] Common practice, no source."""
_SHARE = 0.01
"""Highest humidity that looks like a share of 1 taken for per cent. [1] Our choice."""
_MISFIT = 3.0
_FINEST_G = 1e-5
_LARGEST = 5000


@dataclass(frozen=True)
class MoistureTable:
    """
    What a table of weighings over time says.

    Attributes
    ----------
    reduced : tuple of mapping
        One a piece: `water_diffusivity_m2_s`, `water_saturation_pct`, intervals, noise, budget.
    warnings : tuple of str
        What a person should know.
    explain : tuple of mapping
        One a piece, for a plot: `time_h`, `mass_g`, `modelled_g`, `humidity_pct`, `temperature_c`.
    """

    reduced: tuple[Mapping[str, object], ...]
    warnings: tuple[str, ...] = ()
    explain: tuple[Mapping[str, object], ...] = ()


def read_moisture(name: str, data: bytes, facts: Mapping[str, float] | None = None) -> MoistureTable:
    """
    Return how the filaments of a table drink.

    Parameters
    ----------
    name : str
        Name of the file.
    data : bytes
        Text with any common delimiter and decimal mark, or xlsx; one row a weighing, its climate that since
        the weighing before.
    facts : mapping of str to float or None
        What a person says of every piece where no column does: `diameter_mm`, `start_pct`, their uncertainties.

    Returns
    -------
    table : MoistureTable
        One entry a piece.

    Raises
    ------
    InputError
        A column or cell is missing or wrong, or the weighings do not know the diffusivity.
    QuestionError
        No diameter is stated.
    """
    rows = read_rows(name, data, is_moisture_table, EXPECTED)
    if len(rows.rows) > _LARGEST:
        raise InputError(rows.where, f"{len(rows.rows)} weighings", f"at most {_LARGEST}", "Split the file.")
    comma = has_decimal_comma(cell for column in NUMBERS for cell in rows.column(column))
    warnings = list(rows.warnings)
    warnings += [
        f"{rows.where}: column {column!r} is not known; it is not read"
        for column in rows.header
        if column not in COLUMNS
    ]
    reduced, explain = [], []
    for label, chosen in _pieces(rows).items():
        piece = _Piece(
            rows, chosen, comma, f"{rows.where}: piece {label}" if label else rows.where, facts or {}
        )
        numbers, picture, words = piece.reduce()
        shown = picture_of(
            "Mass of a piece that dries or drinks",
            ("time [h]", "mass [g]"),
            [
                curve_of("weighed", picture["time_h"], picture["mass_g"]),
                curve_of("strand model", picture["time_h"], picture["modelled_g"], dashed=True),
            ],
        )
        said = {"spool": piece.text("spool"), "date": next(filter(None, reversed(piece.cells("date"))), "")}
        reduced.append({"kind": "moisture", "piece": label, **said, **numbers, "picture": shown})
        explain.append({"kind": "moisture", "piece": label, **picture})
        warnings += words
    return MoistureTable(tuple(reduced), tuple(warnings), tuple(explain))


def _pieces(rows: Rows) -> dict[str, list[int]]:
    found: dict[str, list[int]] = {}
    labels, spools = rows.column("piece"), rows.column("spool")
    for place, (piece, spool) in enumerate(zip(labels, spools, strict=True)):
        found.setdefault(piece or spool, []).append(place)
    return found


class _Piece:
    """Rows of one piece, read column by column."""

    def __init__(
        self, rows: Rows, chosen: Sequence[int], comma: bool, where: str, facts: Mapping[str, float]
    ) -> None:
        self.rows, self.chosen, self.comma, self.where = rows, chosen, comma, where
        self.facts = facts

    def cells(self, column: str) -> list[str]:
        column_cells = self.rows.column(column)
        return [column_cells[place] for place in self.chosen]

    def numbers(self, column: str) -> list[float | None]:
        """Return the numbers of a column, None where a cell is empty."""
        found: list[float | None] = []
        for place, cell in zip(self.chosen, self.cells(column), strict=True):
            value = number(cell, self.comma) if cell else None
            if cell and value is None:
                line = self.rows.rows[place][0]
                raise InputError(
                    f"{self.rows.where}:{line}",
                    f"{column} {cell[:40]!r}",
                    "a plain number",
                    "Correct the cell.",
                )
            found.append(value)
        return found

    def needed(self, column: str) -> list[float]:
        values = self.numbers(column)
        for place, value in zip(self.chosen, values, strict=True):
            if value is None:
                line = self.rows.rows[place][0]
                raise InputError(f"{self.rows.where}:{line}", f"no {column}", "a number", "Fill the cell.")
        return [value for value in values if value is not None]

    def single(self, column: str, default: float | None = None) -> float | None:
        """Return the one value of a column, else what a person says; two different ones are an error."""
        values = {value for value in self.numbers(column) if value is not None}
        if len(values) > 1:
            raise InputError(self.where, f"{column} has {len(values)} values", "one a piece", "Correct it.")
        return values.pop() if values else self.facts.get(column, default)

    def text(self, column: str) -> str:
        """Return the one text of a column; two different ones are an error."""
        texts = dict.fromkeys(cell for cell in self.cells(column) if cell)
        if len(texts) > 1:
            raise InputError(
                self.where, f"{len(texts)} values of {column}", "one a piece", "Name the pieces."
            )
        return next(iter(texts), "")

    def word(self, column: str) -> str:
        return self.text(column).lower()

    def humidity(self) -> list[float]:
        """Return the humidity since the weighing before: as stated, or that of room air heated."""
        stated, celsius = self.numbers("humidity_pct"), self.needed("temperature_c")
        room, room_humidity = self.numbers("room_c"), self.numbers("room_humidity_pct")
        found = []
        for k, value in enumerate(stated):
            if value is None and k == 0:
                value = 0.0  # nothing went before the first weighing
            elif value is None:
                cold, wet = room[k], room_humidity[k]
                if cold is None or wet is None:
                    line = self.rows.rows[self.chosen[k]][0]
                    raise InputError(
                        f"{self.rows.where}:{line}",
                        "no humidity",
                        "humidity_pct, or room_c and room_humidity_pct of the air that a dryer heats",
                        "Fill the cells.",
                    )
                value = heated_humidity(cold, wet, celsius[k], self.where)
            found.append(value)
        return found

    def mass(self) -> tuple[np.ndarray[tuple[int], np.dtype[np.float64]], float]:
        """Return the masses freed of the core and of the balance's drift, and the last digit."""
        mass = np.array(self.needed("mass_g"))
        decimals = max(len(cell.replace(",", ".").partition(".")[2]) for cell in self.cells("mass_g"))
        step = max(10.0**-decimals, _FINEST_G)
        if any(value is not None for value in self.numbers("core_g")):
            mass = mass - np.array(self.needed("core_g"))
        if any(value is not None for value in self.numbers("check_g")):
            check = np.array(self.needed("check_g"))
            mass = mass * check[0] / check
            step *= 2**0.5
        return mass, step

    def series(self) -> Series:
        diameter = self.single("diameter_mm")
        if diameter is None:
            raise QuestionError(
                self.where, "no diameter_mm", "--fact diameter_mm=MM", "Measure the filament."
            )
        if not 0.1 < diameter < 10:
            raise InputError(self.where, f"diameter_mm {diameter:g}", "0.1 to 10 mm", "Measure the filament.")
        steps = climate(self.needed("time_h"), self.needed("temperature_c"), self.humidity(), self.where)
        mass, step = self.mass()
        start = self.single("start_pct")
        return Series(
            steps,
            mass,
            step,
            diameter,
            self._spread("diameter_uncertainty_mm", DIAMETER_UNCERTAINTY_MM),
            1e3 * self._spread("activation_kj_mol", ACTIVATION_KJ_MOL),
            1e3 * self._spread("activation_uncertainty_kj_mol", ACTIVATION_UNCERTAINTY),
            1e-2 * self._spread("humidity_uncertainty_pct", HUMIDITY_UNCERTAINTY_PCT),
            self._spread("temperature_uncertainty_c", TEMPERATURE_UNCERTAINTY_C),
            None if start is None else 1e-2 * start,
            1e-2 * self._spread("start_uncertainty_pct", 0.0),
        )

    def _spread(self, column: str, default: float) -> float:
        value = self.single(column, default)
        if value is None or not value >= 0:
            raise InputError(self.where, f"{column} {value}", "0 or more", "Correct it.")
        return value

    def reduce(self) -> tuple[dict[str, object], dict[str, list[float]], list[str]]:
        """Return plain numbers, data for a plot and warnings."""
        wound = self.word("form") == "spool"
        if wound and self.word("core") == "cardboard" and not self.word("core_g"):
            raise QuestionError(
                self.where,
                "a wound spool on cardboard: the cardboard drinks too",
                "column core_g",
                "Weigh a loose coil, or an empty core beside it at each time.",
            )
        series = self.series()
        fit = fit_moisture(series, self.where)
        numbers = _numbers(fit, wound)
        picture: dict[str, list[float]] = {
            "time_h": (series.climate.time / 3600.0).tolist(),
            "mass_g": series.mass_g.tolist(),
            "modelled_g": fit.modelled_g.tolist(),
            "temperature_c": series.climate.temperature_c.tolist(),
            "humidity_pct": (100.0 * series.climate.humidity).tolist(),
        }
        return numbers, picture, self._warnings(fit, series, wound)

    def _warnings(self, fit: MoistureFit, series: Series, wound: bool) -> list[str]:
        words = []
        if wound:
            words.append(
                f"{self.where}: a wound spool: outer turns drink first, so this is no property of the strand"
            )
        if fit.saturation is None:
            words.append(
                f"{self.where}: one humidity all along, so the saturation is not told; add a second, or start_pct"
            )
        if fit.noise_g > _MISFIT * series.step_g and fit.correlation > 0.5:
            words.append(
                f"{self.where}: readings stray by {fit.noise_g:.2g} g in long waves: a balance that drifts (weigh "
                "a check weight beside, check_g), or a diffusivity that changes with humidity"
            )
        lowest, highest = float(series.climate.humidity.min()), float(series.climate.humidity.max())
        if 0 < highest <= _SHARE and "room_c" not in self.rows.header:
            words.append(
                f"{self.where}: humidity of {100 * highest:.2g} % at most; humidity_pct is in per cent, no share of 1"
            )
        if lowest > 0 and fit.saturation is not None and "room_c" in self.rows.header:
            floor = 100.0 * lowest * fit.saturation
            words.append(
                f"{self.where}: the dryer's air ends at {100 * lowest:.1f} % humidity, {floor:.2g} % water"
            )
        return words


def _numbers(fit: MoistureFit, wound: bool) -> dict[str, object]:
    def percent(value: float | None) -> float | None:
        return None if value is None else 100.0 * value

    return {
        "applies_to": "spool" if wound else "strand",
        "water_diffusivity_m2_s": fit.diffusivity,
        "water_diffusivity_low_m2_s": fit.diffusivity_low,
        "water_diffusivity_high_m2_s": fit.diffusivity_high,
        "water_saturation_pct": percent(fit.saturation),
        "water_saturation_uncertainty_pct": percent(fit.saturation_uncertainty),
        "water_saturation_reach_pct": percent(fit.saturation_reach),
        "start_pct": percent(fit.start),
        "dry_g": fit.dry_g,
        "noise_g": fit.noise_g,
        "correlation": fit.correlation,
        "budget": dict(fit.shares),
    }
