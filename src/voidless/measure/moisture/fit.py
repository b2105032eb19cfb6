"""Diffusivity, saturation and dry mass of a filament from its weighings, with their uncertainty."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from math import exp, log, sqrt

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import qr
from scipy.optimize import minimize_scalar
from scipy.special import stdtrit

from voidless.errors import InputError
from voidless.measure.moisture.climate import Climate
from voidless.measure.moisture.model import columns_of_mass

__all__ = ["MoistureFit", "Series", "fit_moisture"]

Floats = NDArray[np.float64]

_SEARCH = np.log(np.geomspace(1e-15, 1e-8, 57))
"""Diffusivities tried before the search narrows. [ln(m²/s)]"""
_REACH = 0.5
"""How far from a known ln D the search goes; two steps of `_SEARCH` and more than any one input moves it. [1]"""
_FEWEST = 6
_VAGUE = 0.5
"""Standard uncertainty of ln D above which the weighings do not know it. [1]"""
_CORRELATIONS = np.arange(0.0, 0.91, 0.1)
"""Correlations of neighbouring readings that are weighed against each other. [1]"""


@dataclass(frozen=True)
class Series:
    """
    A piece weighed over time.

    Attributes
    ----------
    climate : Climate
        Where it has been.
    mass_g : (n,) float array
        Readings. [g]
    step_g : float
        Last digit of the balance. [g]
    diameter_mm, diameter_uncertainty_mm : float
        Of the strand. [mm]
    activation, activation_uncertainty : float
        Activation energy of the diffusivity. [J/mol]
    humidity_uncertainty, temperature_uncertainty_c : float
        Standard uncertainties common to all readings. [1], [°C]
    start, start_uncertainty : float or None
        Water held at the start as mass share of the dry mass, where it is known. [1]
    """

    climate: Climate
    mass_g: Floats
    step_g: float
    diameter_mm: float
    diameter_uncertainty_mm: float
    activation: float
    activation_uncertainty: float
    humidity_uncertainty: float
    temperature_uncertainty_c: float
    start: float | None = None
    start_uncertainty: float = 0.0


@dataclass(frozen=True)
class MoistureFit:
    """
    How a filament drinks.

    Attributes
    ----------
    diffusivity : float
        Of water at 23 °C. [m²/s]
    diffusivity_low, diffusivity_high : float
        95 % interval. [m²/s]
    saturation, saturation_uncertainty, saturation_reach : float or None
        Water in equilibrium with saturated air as share of the dry mass, its standard uncertainty and the
        half-width of its 95 % interval; None where the weighings do not tell. [1]
    start : float or None
        Water at the start as share of the dry mass. [1]
    dry_g : float or None
        Dry mass; None where water and polymer are not told apart. [g]
    noise_g : float
        Scatter of the readings about the model. [g]
    correlation : float
        Of neighbouring readings. [1]
    modelled_g : (n,) float array
        What the model says at each weighing. [g]
    shares : tuple of (str, float)
        Sources of the uncertainty of ln D, each with its effect. [1]
    """

    diffusivity: float
    diffusivity_low: float
    diffusivity_high: float
    saturation: float | None
    saturation_uncertainty: float | None
    saturation_reach: float | None
    start: float | None
    dry_g: float | None
    noise_g: float
    correlation: float
    modelled_g: Floats
    shares: tuple[tuple[str, float], ...]


@dataclass(frozen=True)
class _Point:
    """The best fit of one set of inputs: ln D, coefficients and their columns."""

    log_d: float
    beta: Floats
    columns: Floats


def _design(series: Series, log_d: float) -> Floats:
    """Return the columns that the weighings tell apart: dry, start, saturation as far as they go."""
    radius = 0.5e-3 * series.diameter_mm
    full = columns_of_mass(series.climate, exp(log_d), series.activation, radius)
    if series.start is not None:
        return np.column_stack([full[:, 0] + series.start * full[:, 1], full[:, 2]])
    if np.ptp(series.climate.humidity) == 0.0:
        # One humidity all along: what was held at the start and what is held at rest are not told apart.
        return full[:, :2]
    return full


def _best(series: Series, near: float | None = None) -> _Point:
    """Return the best fit, looked for around a known ln D where one is given."""

    def misfit(log_d: float) -> float:
        columns = _design(series, log_d)
        q = qr(columns, mode="economic")[0]
        ones = series.mass_g - q @ (q.T @ series.mass_g)
        return float(ones @ ones)

    if near is None:
        place = int(np.argmin([misfit(float(each)) for each in _SEARCH]))
        if place in (0, len(_SEARCH) - 1) or not np.ptp(series.mass_g) > 0:
            raise InputError(
                "", "the mass does not follow diffusion", "a mass that changes and comes to rest", ""
            )
        near = float(_SEARCH[place])
    found = minimize_scalar(
        misfit, bounds=(near - _REACH, near + _REACH), method="bounded", options={"xatol": 1e-7}
    )
    log_d = float(found.x)
    columns = _design(series, log_d)
    beta = np.asarray(np.linalg.lstsq(columns, series.mass_g, rcond=None)[0], dtype=np.float64)
    return _Point(log_d, beta, columns)


def _jacobian(series: Series, point: _Point) -> Floats:
    """Return what the mass does per unit of ln D and of each coefficient."""
    step = 1e-3
    up, down = (_design(series, point.log_d + sign * step) @ point.beta for sign in (1, -1))
    return np.column_stack([(up - down) / (2 * step), point.columns])


def _covariance(slopes: Floats, residual: Floats, step_g: float) -> tuple[Floats, float, float]:
    """
    Return the covariance of the fit, the noise, and the correlation of neighbouring readings.

    Each correlation tried gives a sandwich; they are weighed by restricted likelihood, so that few
    readings do not pretend to know their own correlation.
    """
    n, p = slopes.shape
    gain = np.linalg.pinv(slopes)
    hat = np.eye(n) - slopes @ gain
    lags = np.abs(np.subtract.outer(np.arange(n), np.arange(n)))
    weights, matrices, sizes = [], [], []
    for correlation in _CORRELATIONS:
        shape = correlation**lags
        inverse = np.linalg.inv(shape)
        inner = slopes.T @ inverse @ slopes
        rest = residual - slopes @ np.linalg.solve(inner, slopes.T @ inverse @ residual)
        spread = max(float(rest @ inverse @ rest), 1e-300)
        logs = np.linalg.slogdet(shape)[1] + np.linalg.slogdet(inner)[1] + (n - p) * log(spread)
        variance = max(float(residual @ residual) / float(np.trace(hat @ shape)), step_g**2 / 12.0)
        weights.append(-0.5 * logs)
        sizes.append(variance)
        matrices.append(variance * gain @ shape @ gain.T)
    share = np.exp(np.array(weights) - max(weights))
    share /= share.sum()
    return (
        np.einsum("k,kij->ij", share, np.array(matrices)),
        sqrt(float(share @ np.array(sizes))),
        float(share @ _CORRELATIONS),
    )


def _saturation(series: Series, beta: Floats) -> float | None:
    if series.start is not None or len(beta) == 3:
        return float(beta[-1] / beta[0])
    return None


_Change = Callable[[Series], Series]


def _moved(series: Series) -> list[tuple[str, _Change]]:
    """Return what is uncertain for all readings alike, each as a change by one standard uncertainty."""

    def humid(s: Series) -> Series:
        return replace(s, climate=replace(s.climate, humidity=s.climate.humidity + s.humidity_uncertainty))

    def steeper(s: Series) -> Series:
        gain = 1.0 + s.humidity_uncertainty / max(float(s.climate.humidity.max()), s.humidity_uncertainty)
        return replace(s, climate=replace(s.climate, humidity=s.climate.humidity * gain))

    def warm(s: Series) -> Series:
        celsius = s.climate.temperature_c + s.temperature_uncertainty_c
        return replace(s, climate=replace(s.climate, temperature_c=celsius))

    changes: list[tuple[str, _Change]] = [
        ("diameter", lambda s: replace(s, diameter_mm=s.diameter_mm + s.diameter_uncertainty_mm)),
        ("humidity, zero of the instrument", humid),
        ("humidity, slope of the instrument", steeper),
        ("temperature", warm),
        ("activation energy", lambda s: replace(s, activation=s.activation + s.activation_uncertainty)),
    ]
    if series.start is not None:
        known = series.start
        changes.append(("water at the start", lambda s: replace(s, start=known + s.start_uncertainty)))
    return changes


def fit_moisture(series: Series, where: str = "weighings") -> MoistureFit:
    """
    Return diffusivity and saturation of a filament from its weighings.

    Parameters
    ----------
    series : Series
        Readings, climate and what is known beside them.
    where : str
        File and piece, for errors.

    Returns
    -------
    fit : MoistureFit
        With 95 % intervals: Student's t for the scatter, 1.96 for what is common to all readings.

    Raises
    ------
    InputError
        There are fewer than six readings, the mass does not follow diffusion, or the readings do not know D
        to within a factor.

    Notes
    -----
    Least squares; for each D the coefficients are linear. Neighbouring readings may be correlated (a balance that
    drifts): their correlation is weighed by restricted likelihood over an AR(1) law and widens the interval.
    """
    if len(series.mass_g) < _FEWEST:
        raise InputError(where, f"{len(series.mass_g)} weighings", f"{_FEWEST} or more", "Weigh more often.")
    if not np.all(series.mass_g > 0):
        raise InputError(where, "a mass that is not above 0", "masses in g", "Correct it.")
    try:
        point = _best(series)
    except InputError as fault:
        raise InputError(where, fault.what, fault.expected, "Weigh sooner, or until it rests.") from fault
    slopes = _jacobian(series, point)
    # of the squared columns, each at its own size, because that is what is inverted below
    sizes = np.maximum(np.linalg.norm(slopes, axis=0), 1e-300)
    if np.linalg.matrix_rank((slopes / sizes).T @ (slopes / sizes)) < slopes.shape[1]:
        raise _vague(where, "no weighing lies within the change")
    modelled = point.columns @ point.beta
    spread, noise, correlation = _covariance(slopes, series.mass_g - modelled, series.step_g)
    common: list[tuple[str, float, float]] = []
    saturation = _saturation(series, point.beta)
    for name, change in _moved(series):
        other = _best(change(series), point.log_d)
        moved = _saturation(series, other.beta)
        common.append((name, other.log_d - point.log_d, (moved or 0.0) - (saturation or 0.0)))
    return _result(series, point, spread, noise, correlation, common, where)


def _vague(where: str, why: str) -> InputError:
    return InputError(
        where, f"the weighings do not know the diffusivity ({why})", "a mass that is followed until it rests",
        "Weigh more often at first, and longer.",
    )  # fmt: skip


def _result(
    series: Series,
    point: _Point,
    spread: Floats,
    noise: float,
    correlation: float,
    common: list[tuple[str, float, float]],
    where: str,
) -> MoistureFit:
    t = float(stdtrit(len(series.mass_g) - len(spread), 0.975))
    shared = sqrt(sum(effect**2 for _, effect, _ in common))
    reach = sqrt(spread[0, 0] * t**2 + (1.96 * shared) ** 2)
    if not sqrt(spread[0, 0]) < _VAGUE:
        raise _vague(where, f"by a factor of {exp(min(sqrt(spread[0, 0]), 50.0)):.2g}")
    dry = None if len(point.beta) == 2 and series.start is None else float(point.beta[0])
    saturation = _saturation(series, point.beta)
    sigma = sat_reach = None
    if saturation is not None:
        to_saturation = np.zeros(len(spread))
        to_saturation[1], to_saturation[-1] = -saturation / point.beta[0], 1.0 / point.beta[0]
        own = float(to_saturation @ spread @ to_saturation)
        fixed = sum(effect**2 for _, _, effect in common)
        sigma, sat_reach = sqrt(own + fixed), sqrt(own * t**2 + 1.96**2 * fixed)
    start = series.start
    if start is None and len(point.beta) == 3:
        start = float(point.beta[1] / point.beta[0])
    return MoistureFit(
        exp(point.log_d),
        exp(point.log_d - reach),
        exp(point.log_d + reach),
        saturation,
        sigma,
        sat_reach,
        start,
        dry,
        noise,
        correlation,
        point.columns @ point.beta,
        (("readings", sqrt(spread[0, 0])), *((name, effect) for name, effect, _ in common)),
    )
