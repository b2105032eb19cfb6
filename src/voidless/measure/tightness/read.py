"""Tables of pressure over time and of bubbles to leak rates."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from voidless.campaign.types import Bound, Observation, ResponseKey
from voidless.errors import QuestionError
from voidless.measure.files.columns import Column, Layout, Table, read_table
from voidless.measure.files.labels import Labels, labels
from voidless.measure.picture import curve_of, mark_of, picture_of
from voidless.measure.results import Answers, Reading
from voidless.measure.tightness.bubble import bubble_leak, smallest_channel
from voidless.measure.tightness.decay import Decay, leak_from_decay
from voidless.measure.tightness.leak import permeation
from voidless.measure.tightness.vessel import CAUTION
from voidless.units import kelvin

__all__ = ["BUBBLES", "PRESSURE", "read_bubbles", "read_pressure"]

Floats = NDArray[np.float64]

PRESSURE = Layout(
    (
        Column("time", "s", True),
        Column("pressure", "Pa", True),
        Column("temperature", "degC"),
        Column("volume", "cm3"),
    ),
    frozenset({"bubbles", "force", "response"}),
)
BUBBLES = Layout(
    (
        Column("bubbles", "1", True),
        Column("time", "s", True),
        Column("diameter", "mm", True),
        Column("overpressure", "Pa"),
        Column("note", ""),
    ),
    frozenset({"response"}),
)
STANDARD_AIR = 101325.0
FEWEST_STEPS = 3.0
"""Steps of a thermometer's last digit that a record must pass for its scatter to tell of them. [1] Our choice."""
SURELY_ABSOLUTE = 1.05 * STANDARD_AIR
"""Pressures below it may be over the air's or of a vacuum: it is asked. [Pa] Our choice."""


def read_pressure(name: str, data: bytes, answers: Answers) -> Reading:
    """
    Return the leak rate of a record of pressure, and of gas temperature where it was read.

    Parameters
    ----------
    name : str
        Name of the file; run, build and specimen are taken from it where no column says them.
    data : bytes
        Its content.
    answers : Answers
        Facts `volume_cm3`, `volume_uncertainty_cm3`, `gas_reference_c`, `temperature_drift_k`, `air_pressure_pa`.

    Returns
    -------
    reading : Reading
        `leak_rate_pa_m3_s`, positive outwards.

    Raises
    ------
    QuestionError
        No volume is known, pressures may be over the air's or of a vacuum, or no temperature was read and nobody says
        by how much it may have changed.
    InputError
        The record is wrong.
    """
    table = read_table(name, data, PRESSURE, answers)
    return Reading.joined(
        [_pressure(part, label, answers) for label, part in table.by_specimen(labels(name))]
    )


def _pressure(table: Table, label: Labels, answers: Answers) -> Reading:
    time, pressure = np.array(table.numbers("time")), np.array(table.numbers("pressure"))
    heat = np.array(table.numbers("temperature")) if "temperature" in table.units else None
    in_table = table.rows[0].get("volume")
    volume = in_table if isinstance(in_table, float) else answers.facts.get("volume_cm3")
    air = answers.facts.get("air_pressure_pa")
    _ask(table.where, volume is None, pressure if air is None else None, heat is None, answers)
    assert volume is not None
    pressure = pressure + (air or 0.0)
    reference = answers.facts.get("gas_reference_c", 23.0)
    drift, coarse = _thermometer(heat, table, answers)
    found = leak_from_decay(
        time,
        pressure,
        None if heat is None else np.array([kelvin(value) for value in heat]),
        volume * 1e-6,
        answers.facts.get("volume_uncertainty_cm3", 0.0) * 1e-6,
        kelvin(reference),
        drift,
    )
    through, words = _permeated(answers, float(pressure[0]), kelvin(reference), found)
    conditions = (("corrected", "no" if heat is None else "yes"), ("reference_c", f"{reference:g}"))
    key = ResponseKey("leak_rate_pa_m3_s", "pressure_decay", conditions=conditions)
    picture = picture_of(
        "Pressure at the reference temperature",
        ("time [s]", "pressure [Pa]"),
        [
            curve_of("as read", time, pressure),
            curve_of("at the reference temperature", time, found.corrected),
            curve_of("fit", time, found.fitted, dashed=True),
        ],
        says=f"Pressure over time with its fitted line: {found.rate:.3g} Pa m³/s.",
    )
    reduced = {
        "kind": "pressure", "run": label.run, "build": label.build, "specimen": label.specimen,
        "leak_rate_pa_m3_s": found.rate, "uncertainty_pa_m3_s": found.uncertainty,
        "uncorrected_pa_m3_s": found.uncorrected, "detection_pa_m3_s": found.detection, "budget_pa_m3_s": found.budget,
        "reference_c": reference, "volume_cm3": volume, **through, "flags": found.flags,
        "caution": CAUTION, "picture": picture,
    }  # fmt: skip
    notes = [f"{table.where}: {flag}" for flag in (*found.flags, *coarse, *words, CAUTION)]
    if air is None:
        notes.append(f"{table.where}: pressures taken as absolute ones; --fact air_pressure_pa=PA if not")
    if not answers.facts.get("volume_uncertainty_cm3"):
        notes.append(
            f"{table.where}: no uncertainty of the volume stated; it is not in that of the leak rate"
        )
    return Reading(
        (Observation(label.run, label.build, label.specimen, key, found.rate, found.uncertainty),),
        (reduced,),
        (*table.warnings, *notes),
    )


def _thermometer(heat: Floats | None, table: Table, answers: Answers) -> tuple[float, tuple[str, ...]]:
    """Return the doubt of a change of the gas's temperature, and a word where the thermometer's last digit rules."""
    said = answers.facts.get("temperature_drift_k", 0.0)
    if heat is None:
        return said, ()
    digit = table.resolution("temperature")
    if not float(np.ptp(heat)) < FEWEST_STEPS * 12**0.5 * digit:
        return said, ()
    words = f"temperatures in steps of {12**0.5 * digit:.2g} K that hardly change: the last digit counts"
    return float(np.hypot(said, 2**0.5 * digit)), (words,)


def _ask(
    where: str, no_volume: bool, read: np.ndarray | None, no_temperature: bool, answers: Answers
) -> None:
    """Ask in one go for what the record does not say; `read` are pressures that nobody said to be over the air's."""
    asked = []
    if no_volume:
        asked.append(("no volume", "--fact volume_cm3=CM3", "Measure it by an expansion of gas."))
    if read is not None and not float(read.min()) > SURELY_ABSOLUTE:
        what = f"pressures from {read.min():.4g} Pa: over the air's (say its pressure), or absolute (say 0)?"
        asked.append((what, "--fact air_pressure_pa=PA", "Absolute pressures are needed."))
    if no_temperature and "temperature_drift_k" not in answers.facts:
        asked.append(
            (
                "no temperature of the gas",
                "--fact temperature_drift_k=K",
                "Say the standard uncertainty of its change over the record.",
            )
        )
    if asked:
        said, options, remedies = zip(*asked, strict=True)
        raise QuestionError(where, "; ".join(said), " ".join(options), " ".join(remedies))


def _permeated(
    answers: Answers, pressure: float, reference: float, found: Decay
) -> tuple[dict[str, float], list[str]]:
    """Return what a sound wall lets through, where its permeability is said, and what that means for a rate."""
    said = [answers.facts.get(key) for key in ("permeability_barrer", "wall_area_cm2", "thickness_mm")]
    if said[0] is None:
        return {}, []
    if None in said:
        raise QuestionError(
            "permeation", "no area or thickness of the wall",
            "--fact wall_area_cm2=CM2 --fact thickness_mm=MM", "Both make what permeates.",
        )  # fmt: skip
    barrer, area, wall = (float(value) for value in said if value is not None)
    outside = answers.facts.get("air_pressure_pa", STANDARD_AIR)
    rate = permeation(barrer, area * 1e-4, wall * 1e-3, abs(pressure - outside), reference)
    left = abs(found.rate) - rate
    if left > 2.0 * found.uncertainty:
        words = f"{left:.2g} of it leak"
    elif left < -2.0 * found.uncertainty - 0.5 * rate:
        words = "less comes out: the permeability is too high, or its time lag is not over"
    else:
        words = "no leak is told from that; a leak grows with the squares of the pressures, it with their difference"
    return {"permeation_pa_m3_s": rate}, [f"through a sound wall {rate:.2g} Pa m³/s permeate: {words}"]


def read_bubbles(name: str, data: bytes, answers: Answers) -> Reading:
    """
    Return leak rates of a bubble test.

    Parameters
    ----------
    name : str
        Name of the file.
    data : bytes
        Its content.
    answers : Answers
        Units.

    Returns
    -------
    reading : Reading
        `leak_rate_pa_m3_s`; an upper limit where no bubble rose.

    Raises
    ------
    InputError
        A row is wrong: nothing is taken.
    """
    table = read_table(name, data, BUBBLES, answers)
    own = labels(name)
    observations, reduced, words = [], [], []
    for row, count, time, size in zip(
        table.rows, table.numbers("bubbles"), table.numbers("time"), table.numbers("diameter"), strict=True
    ):
        found = bubble_leak(round(count), time, size * 1e-3)
        label = {key: str(row.get(key) or getattr(own, key)) for key in ("run", "build", "specimen")}
        key = ResponseKey("leak_rate_pa_m3_s", "bubbles")
        none = count == 0
        observations.append(
            Observation(
                label["run"],
                label["build"],
                label["specimen"],
                key,
                found.high if none else found.rate,
                uncertainty=None if none else (found.high - found.low) / 3.92,
                bound=Bound.UPPER if none else Bound.EXACT,
            )
        )
        picture = picture_of(
            "Leak rate of the bubbles, with what chance allows",
            ("bubbles counted [1]", "leak rate [Pa m³/s]"),
            [curve_of("95 %", [count, count], [found.low, found.high])],
            [mark_of("counted", count, found.rate)],
            says=f"{count:g} bubbles of {size:g} mm in {time:g} s: {found.low:.3g} to {found.high:.3g} Pa m³/s.",
        )
        one, over = bubble_leak(1, time, size * 1e-3).rate, row.get("overpressure")
        words.append(f"{table.where}: one bubble of {size:g} mm in {time:g} s is {one:.2g} Pa m³/s")
        if isinstance(over, float):
            words.append(
                f"{table.where}: {over:g} Pa blow no bubble out of a wetted channel finer than "
                f"{1e6 * smallest_channel(over):.2g} µm"
            )
        reduced.append(
            {**label, "kind": "bubbles", "rate": found.rate, "low": found.low, "high": found.high, "one": one,
             "picture": picture}
        )  # fmt: skip
    notes = [*dict.fromkeys(words), f"{table.where}: {CAUTION}"]
    return Reading(tuple(observations), tuple(reduced), (*table.warnings, *notes))
