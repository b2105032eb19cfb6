"""Where the uncertainty of a density and of a void share comes from, by formula and by drawing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf, pi, sqrt

import numpy as np
from numpy.typing import NDArray

from voidless.errors import InputError
from voidless.measure.weighing.density import (
    Density,
    Weighing,
    air_density,
    centre,
    density_of,
    tanaka,
    water_density,
)

__all__ = [
    "DETECTION",
    "Share",
    "VoidShare",
    "density_shares",
    "draw_void_share",
    "immersion_density",
    "void_share",
    "void_share_weighed",
    "wire_uncertainty_g",
]

DETECTION = 3.0
"""Standard uncertainties of a void share that must be passed before voids are claimed. [1]"""
AIR_UNCERTAINTY_G_CM3 = 1e-5
"""Standard uncertainty of the density of air. [g/cm³] Common practice, no source."""
WATER_TENSION = 0.0728
"""Surface tension of water at 20 °C. [N/m] From memory; leak-test handbooks print 0.073."""
WETTING_SHARE = 0.1
"""Standard uncertainty of the wire's meniscus as share of its full pull. [1] Assumed, no source."""
_GRAVITY = 9.80665
_STEP_C = 0.01
_BATH = ("water temperature", "air")
"""What pieces weighed in one bath share: one thermometer, one room."""


@dataclass(frozen=True)
class Share:
    """
    One source of uncertainty.

    Attributes
    ----------
    name : str
        What is uncertain.
    effect : float
        What one standard uncertainty of it does to the result, with its sign. [unit of the result]
    """

    name: str
    effect: float


@dataclass(frozen=True)
class VoidShare:
    """
    A void share by weighing.

    Attributes
    ----------
    value_pct, uncertainty_pct : float
        Value, negative where the reference is lighter, and its standard uncertainty. [%]
    detection_pct : float
        Three standard uncertainties: what lies below cannot be told from none. [%]
    shares : tuple of Share
        Sources of its uncertainty, each with its effect. [%]
    """

    value_pct: float
    uncertainty_pct: float
    detection_pct: float
    shares: tuple[Share, ...]


def _found(value: float, shares: Sequence[Share]) -> VoidShare:
    total = sqrt(sum(share.effect**2 for share in shares))
    return VoidShare(value, total, DETECTION * total, tuple(shares))


def wire_uncertainty_g(wire_mm: float) -> float:
    """
    Return the standard uncertainty that a wire's meniscus puts on a reading.

    Parameters
    ----------
    wire_mm : float
        Diameter of the wire. [mm]

    Returns
    -------
    uncertainty : float
        A tenth of the pull of a fully wetted wire, γ π d / g; a tared wire leaves that much. [g]
    """
    return WETTING_SHARE * WATER_TENSION * pi * wire_mm * 1e-3 / _GRAVITY * 1e3


def density_shares(weighing: Weighing, where: str = "weighing") -> tuple[Share, ...]:
    """
    Return what each source of uncertainty does to a density.

    Parameters
    ----------
    weighing : Weighing
        Readings and their uncertainties.
    where : str
        File and line, for errors.

    Returns
    -------
    shares : tuple of Share
        Reading in air, reading in water, wire, bubbles, water temperature, air. [g/cm³]

    Raises
    ------
    InputError
        The masses or an uncertainty are impossible.

    Notes
    -----
    Bubbles lift between nothing and their largest volume: half is taken off, a rectangular law remains.
    """
    value = centre(weighing, where)
    stated = (
        weighing.mass_air_uncertainty_g,
        weighing.mass_water_uncertainty_g,
        weighing.water_uncertainty_c,
    )
    if not all(0 <= each < inf for each in stated):
        raise InputError(where, f"uncertainties {stated}", "0 or more", "Correct them.")
    water = water_density(weighing.water_c) * 1e-3
    air = air_density(weighing.air_c, weighing.pressure_hpa, weighing.humidity_pct) * 1e-3
    dry = weighing.mass_air_g
    lost = dry * (water - air) / (value - air)
    by_lost = -(value - air) / lost
    by_dry = (water - air) / lost + by_lost
    low, high = max(weighing.water_c - _STEP_C, 0.0), min(weighing.water_c + _STEP_C, 40.0)
    by_water = dry / lost - by_lost * 0.5e-3 * weighing.bubbles_mm3
    slope = (water_density(high) - water_density(low)) * 1e-3 / (high - low)
    return (
        Share("reading in air", by_dry * stated[0]),
        Share("reading in water", -by_lost * stated[1]),
        Share("wire", -by_lost * wire_uncertainty_g(weighing.wire_mm)),
        Share("bubbles", -by_lost * water * 1e-3 * weighing.bubbles_mm3 / sqrt(12.0)),
        Share("water temperature", by_water * slope * stated[2]),
        Share("air", (1.0 - dry / lost) * AIR_UNCERTAINTY_G_CM3),
    )


def immersion_density(weighing: Weighing, where: str = "weighing") -> Density:
    """
    Return the density of a piece with its uncertainty, buoyancy of the air included.

    Parameters
    ----------
    weighing : Weighing
        Readings and their uncertainties.
    where : str
        File and line, for errors.

    Returns
    -------
    density : Density
        Closed voids are in it; water that enters open pores hides them.

    Raises
    ------
    InputError
        The masses or an uncertainty are impossible.
    """
    shares = density_shares(weighing, where)
    return Density(centre(weighing, where), sqrt(sum(share.effect**2 for share in shares)))


def void_share(measured: Density, reference: Density, where: str = "void share") -> VoidShare:
    """
    Return the share of voids against a density of the void-free material that comes from elsewhere.

    Parameters
    ----------
    measured : Density
        Of the printed piece.
    reference : Density
        Of the void-free material.
    where : str
        File and line, for errors.

    Returns
    -------
    share : VoidShare
        100 (reference - measured) / reference, never clipped.

    Raises
    ------
    InputError
        The reference is not positive.

    Notes
    -----
    ASTM D2734. It warns that values under 1 % need other tests beside them; a negative share says that the
    reference is too light for this piece: another lot, another thermal history (crystals), or a lighter colour.
    """
    solid = reference.value_g_cm3
    if not 0 < solid < inf:
        raise InputError(where, f"reference density {solid:g} g/cm³", "above 0", "Correct it.")
    ratio = measured.value_g_cm3 / solid
    return _found(
        100.0 * (1.0 - ratio),
        (
            Share("weighing of the piece", -100.0 * measured.uncertainty_g_cm3 / solid),
            Share("reference density", 100.0 * ratio * reference.uncertainty_g_cm3 / solid),
        ),
    )


def void_share_weighed(
    piece: Weighing, references: Sequence[Weighing], where: str = "void share", one_bath: bool = True
) -> VoidShare:
    """
    Return the share of voids against void-free pieces of the same spool that were weighed too.

    Parameters
    ----------
    piece : Weighing
        The printed piece.
    references : sequence of Weighing
        Filament or pressed plaques; their mean density counts.
    where : str
        File and line, for errors.
    one_bath : bool
        Whether all were weighed in the same water with the same thermometer: its error then nearly cancels.

    Returns
    -------
    share : VoidShare
        With the scatter between reference pieces where it is above what their readings explain.

    Raises
    ------
    InputError
        There is no reference or a weighing is impossible.
    """
    if not references:
        raise InputError(where, "no reference piece", "one or more", "Weigh filament of the same spool.")
    own = centre(piece, where)
    solids = np.array([centre(each, where) for each in references])
    solid = float(solids.mean())
    to_piece, to_solid = -100.0 / solid, 100.0 * own / solid**2
    piece_shares = density_shares(piece, where)
    by_name: dict[str, list[float]] = {}
    for each in references:
        for share in density_shares(each, where):
            by_name.setdefault(share.name, []).append(share.effect / len(references))
    shares, explained = [], 0.0
    for mine in piece_shares:
        theirs = by_name[mine.name]
        if mine.name in _BATH:
            common = to_solid * sum(theirs)
            if one_bath:
                shares.append(Share(mine.name, to_piece * mine.effect + common))
            else:
                shares += [
                    Share(mine.name, to_piece * mine.effect),
                    Share(f"{mine.name} of the reference", common),
                ]
            continue
        shares.append(Share(mine.name, to_piece * mine.effect))
        explained += sum(effect**2 for effect in theirs)
    scatter = float(solids.std(ddof=1)) / sqrt(len(solids)) if len(solids) > 1 else 0.0
    shares.append(Share("reference pieces", to_solid * max(sqrt(explained), scatter)))
    return _found(100.0 * (1.0 - own / solid), shares)


def draw_void_share(
    piece: Weighing, reference: Density | Weighing, rng: np.random.Generator, draws: int
) -> NDArray[np.float64]:
    """
    Return draws of a void share from the laws of everything that is uncertain, without linearising.

    Parameters
    ----------
    piece : Weighing
        The printed piece.
    reference : Density or Weighing
        Of the void-free material; a weighing shares the bath of the piece.
    rng : Generator
        Source of chance.
    draws : int
        How many. [1]

    Returns
    -------
    shares : (n,) float array
        Draws; their mean and standard deviation check `void_share`. [%]
    """
    water_off, air_off = rng.standard_normal(draws), rng.standard_normal(draws) * AIR_UNCERTAINTY_G_CM3
    own = _drawn(piece, rng, water_off, air_off)
    if isinstance(reference, Weighing):
        solid = _drawn(reference, rng, water_off, air_off)
    else:
        solid = reference.value_g_cm3 + reference.uncertainty_g_cm3 * rng.standard_normal(draws)
    return np.asarray(100.0 * (1.0 - own / solid))


def _drawn(
    weighing: Weighing,
    rng: np.random.Generator,
    water_off: NDArray[np.float64],
    air_off: NDArray[np.float64],
) -> NDArray[np.float64]:
    draws = len(water_off)
    dry = weighing.mass_air_g + weighing.mass_air_uncertainty_g * rng.standard_normal(draws)
    wire = wire_uncertainty_g(weighing.wire_mm)
    spread = sqrt(weighing.mass_water_uncertainty_g**2 + wire**2)
    wet = weighing.mass_water_g + spread * rng.standard_normal(draws)
    water = 1e-3 * tanaka(weighing.water_c + weighing.water_uncertainty_c * water_off)
    air = air_density(weighing.air_c, weighing.pressure_hpa, weighing.humidity_pct) * 1e-3 + air_off
    bubbles = rng.uniform(0.0, 1e-3 * weighing.bubbles_mm3, draws)
    return density_of(dry, wet, water, air, bubbles)
