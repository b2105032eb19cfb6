"""Modulus and machine compliance from specimens of several lengths, by crosshead travel alone."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from voidless.errors import ComputationError, InputError
from voidless.measure.series.noise import GROUPS
from voidless.measure.series.trend import coverage_factor
from voidless.measure.tensile.compliance import Compliance
from voidless.measure.tensile.events import Happening, averaged, course_of
from voidless.measure.tensile.flags import zero_of
from voidless.measure.tensile.modulus import CHORD

__all__ = ["LengthRecord", "LengthsFit", "fit_lengths"]

Floats = NDArray[np.float64]

FEWEST_POINTS = 8
LEVELS = 40
"""Forces at which the give of the machine is found, closest where grips are soft. [1]"""
FIRST_LEVEL, LAST = 0.02, 0.9
"""Shares of the smallest strength between which the give of the machine is found. [1]"""
FIRST_RANGE = (0.1, 0.4)
"""Shares of the smallest strength between which the first look is taken. [1] Our choice."""
SPREAD = 1.3
"""Smallest ratio of the longest to the shortest length over section. [1] Our choice."""
ROUNDS = 3
CALM_PART = 60
"""Neighbours over this part of a rise are averaged before it is asked where it passes a force. [1]"""
COURSE = 2
"""Steps of force before and behind one that tell the course there; one would take in its neighbours' noise. [1]"""


@dataclass(frozen=True)
class LengthRecord:
    """
    One specimen of the series.

    Attributes
    ----------
    name : str
        Its name.
    length_mm, section_mm2 : float
        Free length between the grips, original cross-section. [mm], [mm²]
    force_n, travel_mm : (n,) float array
        The record. [N], [mm]
    """

    name: str
    length_mm: float
    section_mm2: float
    force_n: Floats
    travel_mm: Floats


@dataclass(frozen=True)
class LengthsFit:
    """
    Modulus of the material and give of the machine.

    Attributes
    ----------
    modulus_gpa, uncertainty_gpa : float
        Its standard uncertainty holds the scatter of readings and, where that is larger, of specimens. [GPa]
    compliance : Compliance
        By force, with its uncertainty.
    force_range_n : (float, float)
        Forces between which the modulus was found. [N]
    stiffness_mm_n : dict of str to float
        Travel per force of each specimen in that range. [mm/N]
    misfit : float
        Chi-square over degrees of freedom of the specimens about the line; 1 is as the readings scatter. [1]
    lengths : int
        Different lengths. [1]
    flags : tuple of str
        What to know.
    """

    modulus_gpa: float
    uncertainty_gpa: float
    compliance: Compliance
    force_range_n: tuple[float, float]
    stiffness_mm_n: dict[str, float]
    misfit: float
    lengths: int
    flags: tuple[str, ...]


def fit_lengths(records: Sequence[LengthRecord]) -> LengthsFit:
    """
    Return the modulus, and the machine's compliance by force, from specimens of several lengths.

    Parameters
    ----------
    records : sequence of LengthRecord
        Specimens of one material and direction, of at least three lengths for a misfit to show.

    Returns
    -------
    fit : LengthsFit
        Modulus between the forces that strains of 0.05 % and 0.25 % need.

    Raises
    ------
    InputError
        Fewer than two lengths, or lengths too much alike.
    ComputationError
        A record is too short, or travel does not grow with length.

    Notes
    -----
    travel / force = length / (modulus section) + compliance, at equal force, so that a compliance that
    depends on force drops out; the idea is that of ASTM D3822, annex. Slack differs between
    specimens and shifts a record as a whole, so slopes between two forces are compared and not travels.
    The machine's give at each force is what the line of travel over length leaves at no length, so that a material
    whose curve bends over does not bend it.
    """
    over = np.array([record.length_mm / record.section_mm2 for record in records])
    lengths = np.unique([round(record.length_mm, 3) for record in records]).size
    if lengths < 2 or not over.max() >= SPREAD * over.min() > 0:
        raise InputError(
            "lengths",
            f"{len(records)} specimens of {lengths} length(s)",
            f"at least two lengths, the longest over {SPREAD:g} times the shortest",
            "Test specimens of three lengths of the same section.",
        )
    rising = [_rise(record) for record in records]
    weakest = min(float(force[-1]) for force, _ in rising)
    low, high = (share * weakest for share in FIRST_RANGE)
    section = float(np.mean([record.section_mm2 for record in records]))
    for _ in range(ROUNDS):
        slopes, unsure = _slopes(records, rising, low, high)
        inverse, inverse_u, misfit = _line(over, slopes, unsure)
        low, high = (strain * section / inverse for strain in CHORD)
        if not high < weakest:
            raise ComputationError(
                "lengths", "a specimen broke below 0.25 % strain", "a modulus below the break"
            )
    flags = _words(records, lengths, misfit)
    table = _give(rising, over, inverse_u, weakest)
    return LengthsFit(
        1e-3 / inverse,
        1e-3 * inverse_u / inverse**2,
        table,
        (low, high),
        {record.name: float(slope) for record, slope in zip(records, slopes, strict=True)},
        misfit,
        lengths,
        flags,
    )


def _rise(record: LengthRecord) -> tuple[Floats, Floats]:
    """Return force and travel from contact to the first fall of any kind."""
    course = course_of(record.force_n, record.travel_mm)
    seated = FIRST_RANGE[0] * float(record.force_n[course.first])
    slips = [event for event in course.events if event.kind is Happening.SLIP]
    # Grips that seat at a low force shift the record as slack does; a slip above that ends it.
    start = max([course.start, *(slip.again for slip in slips if record.force_n[slip.peak] < seated)])
    part = slice(start, min([course.first, *(slip.peak for slip in slips if slip.peak > start)]) + 1)
    travel = record.travel_mm if record.travel_mm[-1] >= record.travel_mm[0] else -record.travel_mm
    return record.force_n[part], travel[part]


def _drift(record: LengthRecord) -> float:
    """Return by how much the zero wanders per reading: what stands after the break, spread over the record. [N]"""
    course = course_of(record.force_n, record.travel_mm)
    zero = zero_of(record.force_n, course)
    return float(np.hypot(*zero)) / max(course.last, 1) if zero else 0.0


def _slopes(
    records: Sequence[LengthRecord], rising: Sequence[tuple[Floats, Floats]], low: float, high: float
) -> tuple[Floats, Floats]:
    """Return travel per force between two forces, and its standard uncertainty, for each specimen."""
    found, drift = [], []
    for record, (force, travel) in zip(records, rising, strict=True):
        calm = averaged(force, force.size // CALM_PART)
        start, stop = int(np.argmax(calm >= low)), int(np.argmax(calm >= high))
        if not calm.max() >= high or stop - start < FEWEST_POINTS:
            raise ComputationError(
                "lengths",
                f"{record.name}: {max(stop - start, 0)} readings between {low:.3g} and {high:.3g} N",
                f"at least {FEWEST_POINTS} before the first fall of the force",
                "Record faster, or leave this specimen out.",
            )
        found.append(_secant(force[start:stop], travel[start:stop], calm[start:stop], low, high))
        drift.append(_drift(record) * (stop - start) / (high - low))
        if not found[-1].slope > 0:
            raise ComputationError("lengths", f"{record.name}: the force does not grow with travel", "a rise")
    unsure = np.array(_scatter(found))
    slopes = np.array([item.slope for item in found])
    return slopes, np.maximum(np.hypot(unsure, np.array(drift) * slopes), 1e-9 * slopes)


@dataclass(frozen=True)
class _Secant:
    """Travel per force, what its parabola leaves, and the variance factor of the chord."""

    slope: float
    residual: Floats
    factor: float


def _secant(force: Floats, travel: Floats, calm: Floats, low: float, high: float) -> _Secant:
    """
    Return travel per force between two forces, a chord as the modulus is.

    A parabola goes through means over equal steps of force, moved along their course to the middles of the steps,
    which are the same for every specimen: what it misses of grips that are soft at first is then the same for every
    length, and drops out. (Readings crowd where a bar with its grips is soft: means lie elsewhere in each.)
    """
    groups = min(GROUPS, force.size // 2)
    levels = np.linspace(low, high, groups + 1)
    edges = np.concatenate([[0], np.searchsorted(np.maximum.accumulate(calm), levels[1:-1]), [force.size]])
    edges = np.unique(edges)
    x, y = (np.add.reduceat(item, edges[:-1]) / np.diff(edges) for item in (force, travel))
    if x.size == groups and np.all(np.diff(x) > 0):
        middles = 0.5 * (levels[1:] + levels[:-1])
        near = np.arange(groups)
        behind, ahead = np.maximum(near - COURSE, 0), np.minimum(near + COURSE, groups - 1)
        x, y = middles, y + (y[ahead] - y[behind]) / (x[ahead] - x[behind]) * (middles - x)
    basis = np.polynomial.legendre.legvander((x - (low + high) / 2.0) / ((high - low) / 2.0), 2)
    inverse = np.linalg.pinv(basis.T @ basis)
    weights = inverse @ (basis.T @ y)
    chord = np.array([0.0, 2.0, 0.0])
    factor = float(chord @ inverse @ chord) ** 0.5 / (high - low)
    return _Secant(float(chord @ weights) / (high - low), y - basis @ weights, factor)


def _scatter(found: Sequence[_Secant]) -> list[float]:
    """Return the standard uncertainty of each chord by the scatter about its parabola."""
    residuals = [item.residual for item in found]
    if len({residual.size for residual in residuals}) == 1 and len(residuals) > 2:
        # What all specimens share is the shape of the machine and no scatter.
        shape = np.mean(residuals, axis=0)
        residuals = [(residual - shape) * (len(found) / (len(found) - 1)) ** 0.5 for residual in residuals]
    unsure = []
    for item, residual in zip(found, residuals, strict=True):
        freedom = max(residual.size - 3, 1)
        power = float(residual @ residual)
        phi = float(residual[1:] @ residual[:-1]) / power + 4.0 / residual.size if power > 0 else 0.0
        phi = min(max(phi, 0.0), 0.8)
        spread = (power / freedom * (1.0 + phi) / (1.0 - phi)) ** 0.5
        unsure.append(item.factor * spread * coverage_factor(freedom))
    return unsure


def _line(over: Floats, slopes: Floats, unsure: Floats) -> tuple[float, float, float]:
    """Return 1 / modulus, its standard uncertainty, and the misfit of the specimens."""
    # Equal weights: uncertainties that are themselves judged from little would add their own scatter.
    spread = over - over.mean()
    power = float(spread @ spread)
    inverse = float(spread @ slopes) / power
    if not inverse > 0:
        raise ComputationError(
            "lengths", "travel per force does not grow with length", "longer specimens that give more"
        )
    left = slopes - slopes.mean() - inverse * spread
    freedom = over.size - 2
    misfit = float(left @ left) / freedom / float(np.mean(unsure**2)) if freedom else float("nan")
    own = float(np.sqrt(spread**2 @ unsure**2)) / power
    return inverse, own * max(misfit if freedom else 1.0, 1.0) ** 0.5, misfit


def _words(records: Sequence[LengthRecord], lengths: int, misfit: float) -> tuple[str, ...]:
    words = []
    if lengths < 3:
        words.append("two lengths only: whether the specimens agree with one line cannot be seen")
    if misfit > 4.0:
        words.append(
            f"specimens scatter {misfit**0.5:.2g} times as much as their readings: grips or specimens differ"
        )
    if np.ptp([record.section_mm2 for record in records]) > 0.1 * records[0].section_mm2:
        words.append(
            "sections differ by over 10 %: at equal force their stresses, and so their curves, differ"
        )
    return tuple(words)


def _give(
    rising: Sequence[tuple[Floats, Floats]], over: Floats, inverse_u: float, weakest: float
) -> Compliance:
    """Return the machine's give by force: travel at no length, by the line over lengths at each force."""
    levels = weakest * np.linspace(FIRST_LEVEL**0.5, LAST**0.5, LEVELS) ** 2
    table = np.array([[_travel_at(force, travel, level) for level in levels] for force, travel in rising])
    # Slack shifts each record as a whole: records are aligned on their mean over forces.
    table = table - table.mean(axis=1, keepdims=True)
    spread = over - over.mean()
    slope = spread @ table / float(spread @ spread)
    give = table.mean(axis=0) - over.mean() * slope
    left = table - table.mean(axis=0) - spread[:, None] * slope
    freedom = max((over.size - 2) * (LEVELS - 1), 1)
    scatter = float(np.sqrt(np.sum(left**2) / freedom))
    reach = (1.0 / over.size + over.mean() ** 2 / float(spread @ spread)) ** 0.5
    first = give[0] - (give[1] - give[0]) / (levels[1] - levels[0]) * levels[0]  # prolonged to no force
    give = np.concatenate([[first], give]) - first
    own = np.concatenate([[0.0], np.full(LEVELS, scatter * reach)])
    unsure = np.hypot(own, inverse_u * over.mean() * np.append(0.0, levels))
    return Compliance(
        (0.0, *levels.tolist()), tuple(give.tolist()), tuple(unsure.tolist()), "specimens of several lengths"
    )


def _travel_at(force: Floats, travel: Floats, level: float) -> float:
    """Return the travel at a force from a local parabola, so that neither noise nor soft grips decide."""
    near = int(np.argmax(force >= level))
    half = max(3, int(0.02 * force.size))
    part = slice(max(near - half, 0), near + half + 1)
    course = np.polynomial.polynomial.polyfit(force[part] - level, travel[part], 2)
    return float(course[0])
