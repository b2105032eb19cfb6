"""Refractive index against wavelength, for the few substances whose dispersion was read in its source."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from voidless.physics.guards import require_between

__all__ = [
    "LINES",
    "index_air_ciddor_1996",
    "index_glycerol_rheims_1997",
    "index_pla_hutchinson_2006",
    "index_pmma_beadie_2015",
    "index_water_daimon_2007",
]

Floats = NDArray[np.float64]

LINES = {"d": 587.5618e-9, "D": 589.3e-9, "F": 486.1327e-9, "C": 656.2725e-9}
"""Spectral lines. [m] Helium d, sodium D (mean), hydrogen F and C (from memory, ISO 7944)."""


def _micrometres(name: str, wavelength: ArrayLike, low: float, high: float) -> Floats:
    require_between(name, low, high, wavelength=wavelength)
    return np.asarray(wavelength, dtype=float) * 1e6


def index_pmma_beadie_2015(wavelength: ArrayLike) -> Floats:
    """
    Return the refractive index of PMMA at 20.1 °C.

    Parameters
    ----------
    wavelength : (n,) float array
        In vacuum, 0.42 to 1.62 µm. [m]

    Returns
    -------
    index : (n,) float array
        Within 2e-4. [1]

    Raises
    ------
    InputError
        A wavelength lies outside the fit.

    Notes
    -----
    Beadie et al., Appl. Opt. 54 (2015) F139.
    """
    x = _micrometres("index_pmma_beadie_2015", wavelength, 0.42e-6, 1.62e-6)
    rising = 2.1778 + 6.1209e-3 * x**2 - 1.5004e-3 * x**4
    falling = 2.3678e-2 * x**-2 - 4.2137e-3 * x**-4 + 7.3417e-4 * x**-6 - 4.5042e-5 * x**-8
    return np.asarray(np.sqrt(rising + falling))


def index_pla_hutchinson_2006(wavelength: ArrayLike) -> Floats:
    """
    Return the refractive index of PLA.

    Parameters
    ----------
    wavelength : (n,) float array
        In vacuum, 0.3 to 1.3 µm (range from memory). [m]

    Returns
    -------
    index : (n,) float array
        1.445 + 4892 nm²/λ², within 1e-3. [1]

    Raises
    ------
    InputError
        A wavelength lies outside the fit.

    Notes
    -----
    Hutchinson et al., J. Polym. Environ. 14 (2006) 119.
    """
    x = _micrometres("index_pla_hutchinson_2006", wavelength, 0.3e-6, 1.3e-6)
    return np.asarray(1.445 + 4.892e-3 / x**2)


def index_water_daimon_2007(wavelength: ArrayLike) -> Floats:
    """
    Return the refractive index of water at 20 °C.

    Parameters
    ----------
    wavelength : (n,) float array
        In vacuum, 0.182 to 1.129 µm. [m]

    Returns
    -------
    index : (n,) float array
        Four-term Sellmeier form. [1]

    Raises
    ------
    InputError
        A wavelength lies outside the fit.

    Notes
    -----
    Daimon and Masumura, Appl. Opt. 46 (2007) 3811, 20 °C (coefficients from memory, verified against n_D
    1.333349).
    """
    x = _micrometres("index_water_daimon_2007", wavelength, 0.182e-6, 1.129e-6) ** 2
    terms = (
        (5.684027565e-1, 5.101829712e-3),
        (1.726177391e-1, 1.821153936e-2),
        (2.086189578e-2, 2.620722293e-2),
        (1.130748688e-1, 1.069792721e1),
    )
    return np.asarray(np.sqrt(1.0 + sum(a * x / (x - b) for a, b in terms)))


def index_glycerol_rheims_1997(wavelength: ArrayLike) -> Floats:
    """
    Return the refractive index of glycerol at 25 °C, a liquid to wet faces with.

    Parameters
    ----------
    wavelength : (n,) float array
        In vacuum, 0.45 to 1.05 µm (range from memory). [m]

    Returns
    -------
    index : (n,) float array
        1.45797 + 0.00598/λ² - 0.00036/λ⁴. [1]

    Raises
    ------
    InputError
        A wavelength lies outside the fit.

    Notes
    -----
    Rheims, Köser and Wriedt, Meas. Sci. Technol. 8 (1997) 601. Dry: it takes water from the air, which lowers it.
    """
    x = _micrometres("index_glycerol_rheims_1997", wavelength, 0.45e-6, 1.05e-6)
    return np.asarray(1.45797 + 0.00598 / x**2 - 0.00036 / x**4)


def index_air_ciddor_1996(wavelength: ArrayLike) -> Floats:
    """
    Return the refractive index of dry air at 15 °C and 101325 Pa.

    Parameters
    ----------
    wavelength : (n,) float array
        In vacuum, 0.23 to 1.69 µm (range from memory). [m]

    Returns
    -------
    index : (n,) float array
        1 + 0.05792105/(238.0185 - λ⁻²) + 0.00167917/(57.362 - λ⁻²). [1]

    Raises
    ------
    InputError
        A wavelength lies outside the fit.

    Notes
    -----
    Ciddor, Appl. Opt. 35 (1996) 1566. Indices of solids measured in air are lower by this factor than in vacuum.
    """
    x = _micrometres("index_air_ciddor_1996", wavelength, 0.23e-6, 1.69e-6) ** -2
    return np.asarray(1.0 + 0.05792105 / (238.0185 - x) + 0.00167917 / (57.362 - x))
