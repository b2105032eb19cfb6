"""Sizes of spheres from the circles that a section shows of them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from voidless.errors import InputError

__all__ = ["SphereSizes", "fold_spheres", "saltykov_log_coefficients", "section_matrix", "unfold_circles"]

Floats = NDArray[np.float64]

FEWEST = 200
"""Circles below which the sizes of spheres are not to be told. [1] Common practice, no source."""
MOST_CLASSES = 7
"""Classes above which the unfolding only magnifies chance. [1] Common practice, no source."""
LOG_RATIO = 10.0**-0.1
"""Ratio of neighbouring diameters of Saltykov's logarithmic classes. [1]"""


@dataclass(frozen=True)
class SphereSizes:
    """
    Spheres by size.

    Attributes
    ----------
    diameter : (k,) float array
        Upper end of each class. [unit of the circles]
    number : (k,) float array
        Spheres per volume; negative values are kept. [1/unit³]
    warnings : tuple of str
        Too few circles, too many classes, negative numbers.
    """

    diameter: Floats
    number: Floats
    warnings: tuple[str, ...]


def section_matrix(classes: int) -> Floats:
    """
    Return how many circles of each class spheres of each class give, per unit of class width.

    Parameters
    ----------
    classes : int
        Linear classes of diameter. [1]

    Returns
    -------
    matrix : (k, k) float array
        Row i, column j: sqrt(j² - (i-1)²) - sqrt(j² - i²); columns sum to j. [1]

    Raises
    ------
    InputError
        There is no class.

    Notes
    -----
    Schwartz and Saltykov; see Gulbin, Image Anal. Stereol. 27 (2008) 163.
    """
    if not classes >= 1:
        raise InputError("section_matrix", f"{classes} classes", "one or more", "Correct it.")
    j = np.arange(1.0, classes + 1.0)[None, :]
    i = np.arange(1.0, classes + 1.0)[:, None]
    inner, outer = np.maximum(j**2 - i**2, 0.0), np.maximum(j**2 - (i - 1.0) ** 2, 0.0)
    return np.asarray(np.where(i <= j, np.sqrt(outer) - np.sqrt(inner), 0.0))


def fold_spheres(number: ArrayLike, width: float) -> Floats:
    """
    Return the circles per area that spheres per volume give on a section.

    Parameters
    ----------
    number : (k,) float array
        Spheres per volume by linear class of diameter. [1/unit³]
    width : float
        Width of a class. [unit]

    Returns
    -------
    circles : (k,) float array
        Circles per area by class. [1/unit²]
    """
    spheres = np.asarray(number, dtype=float)
    return np.asarray(width * section_matrix(len(spheres)) @ spheres)


def unfold_circles(
    diameters: ArrayLike, area: float, classes: int = 7, where: str = "circles"
) -> SphereSizes:
    """
    Return the spheres whose sections would show the circles measured.

    Parameters
    ----------
    diameters : (n,) float array
        Of circles on the section. [unit]
    area : float
        Of the section. [unit²]
    classes : int
        Linear classes. [1]
    where : str
        Place that an error names.

    Returns
    -------
    sizes : SphereSizes
        With warnings where they are not to be trusted; nothing is clipped.

    Raises
    ------
    InputError
        There are no circles, or a value is not positive.
    """
    circles = np.asarray(diameters, dtype=float)
    if circles.size == 0 or not (np.all(circles > 0) and np.all(np.isfinite(circles)) and area > 0):
        raise InputError(
            where, f"{circles.size} circles on {area:g}", "diameters and an area above 0", "Check them."
        )
    width = float(circles.max()) / classes
    counts, _ = np.histogram(circles, np.linspace(0.0, float(circles.max()), classes + 1))
    number = np.asarray(np.linalg.solve(width * section_matrix(classes), counts / area), dtype=np.float64)
    words = []
    if circles.size < FEWEST:
        words.append(f"{where}: {circles.size} circles; {FEWEST} or more are needed to tell sizes of spheres")
    if classes > MOST_CLASSES:
        words.append(f"{where}: {classes} classes; above {MOST_CLASSES} the unfolding magnifies chance")
    if np.any(number < 0):
        words.append(
            f"{where}: {int((number < 0).sum())} class(es) below zero: chance, or voids that are no spheres"
        )
    return SphereSizes(width * np.arange(1.0, classes + 1.0), number, tuple(words))


def saltykov_log_coefficients(classes: int) -> Floats:
    """
    Return the coefficients of the logarithmic table, for the largest class and those above it.

    Parameters
    ----------
    classes : int
        How many. [1]

    Returns
    -------
    coefficients : (k,) float array
        1.6461, -0.4561, -0.1162, ...: first row of the inverse of the section matrix in diameters falling by
        10^-0.1, in units of the class's own diameter. [1]

    Raises
    ------
    InputError
        There is no class.
    """
    if not classes >= 1:
        raise InputError("saltykov_log_coefficients", f"{classes} classes", "one or more", "Correct it.")
    tops = LOG_RATIO ** np.arange(classes + 1.0)
    matrix = np.zeros((classes, classes))
    for sphere in range(classes):
        for circle in range(sphere, classes):
            high, low = tops[circle] / tops[sphere], tops[circle + 1] / tops[sphere]
            matrix[circle, sphere] = np.sqrt(1.0 - low**2) - np.sqrt(max(1.0 - high**2, 0.0))
    # in a geometric table a sphere one class up is 10^0.1 larger, and gives as many times more circles
    scaled = matrix * tops[:-1][None, :]
    return np.asarray(np.linalg.inv(scaled)[classes - 1, ::-1] * tops[classes - 1])
