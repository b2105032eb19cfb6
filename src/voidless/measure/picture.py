"""How a result was reduced, as plain numbers that a figure can show."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

__all__ = ["curve_of", "mark_of", "picture_of", "rule_of"]

Floats = NDArray[np.float64]

MOST_POINTS = 400


def curve_of(
    name: str, x: Floats | Sequence[float], y: Floats | Sequence[float], dashed: bool = False
) -> dict[str, object]:
    """
    Return a line of a picture, thinned to at most 400 points that keep every stretch's lowest and highest.

    Parameters
    ----------
    name : str
        What it is.
    x, y : (n,) float array
        Its points; those that are not finite are left out. [units of the axes]
    dashed : bool
        Whether it was computed and not read.

    Returns
    -------
    curve : dict
        `name`, `x`, `y`, `dashed`.
    """
    xs, ys = np.asarray(x, dtype=float), np.asarray(y, dtype=float)
    good = np.isfinite(xs) & np.isfinite(ys)
    xs, ys = xs[good], ys[good]
    if xs.size > MOST_POINTS:
        parts = np.array_split(np.arange(xs.size), MOST_POINTS // 2)
        ends = {int(part[pick(ys[part])]) for part in parts for pick in (np.argmin, np.argmax)}
        keep = sorted(ends | {0, xs.size - 1})
        xs, ys = xs[keep], ys[keep]
    return {"name": name, "x": xs.tolist(), "y": ys.tolist(), "dashed": dashed}


def mark_of(name: str, x: float, y: float) -> dict[str, object]:
    """
    Return a point that matters.

    Parameters
    ----------
    name : str
        What it is.
    x, y : float
        Where. [units of the axes]

    Returns
    -------
    mark : dict
        `name`, `x`, `y`.
    """
    return {"name": name, "x": float(x), "y": float(y)}


def rule_of(name: str, value: float, across: str) -> dict[str, object]:
    """
    Return a straight line at one value of an axis.

    Parameters
    ----------
    name : str
        What it is.
    value : float
        Where. [unit of the axis]
    across : str
        `x` or `y`.

    Returns
    -------
    rule : dict
        `name`, `value`, `across`.
    """
    return {"name": name, "value": float(value), "across": across}


def picture_of(
    title: str,
    axes: tuple[str, str],
    curves: Sequence[dict[str, object]],
    marks: Sequence[dict[str, object]] = (),
    rules: Sequence[dict[str, object]] = (),
    says: str = "",
) -> dict[str, object]:
    """
    Return a picture of how a result was reduced.

    Parameters
    ----------
    title : str
        What was measured.
    axes : (str, str)
        Words with units of both axes.
    curves, marks, rules : sequence of dict
        From `curve_of`, `mark_of` and `rule_of`.
    says : str
        What a person would say it shows.

    Returns
    -------
    picture : dict
        Plain JSON types.
    """
    return {
        "title": title,
        "x": axes[0],
        "y": axes[1],
        "curves": list(curves),
        "marks": list(marks),
        "rules": list(rules),
        "says": says,
    }
