"""How a result was reduced, as plain numbers that a figure can show."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

__all__ = ["curve_of", "mark_of", "photo_of", "picture_of", "points_of", "rule_of"]

Floats = NDArray[np.float64]

MOST_POINTS = 400
_PHOTO = 120
"""Most pixels along a side of a photo that is kept with a result. [1]"""


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


def points_of(
    name: str, y: Sequence[float], spread: Sequence[float] | float = 0.0, labels: Sequence[str] = ()
) -> dict[str, object]:
    """
    Return single values side by side, each with what covers 95 % of its doubt.

    Parameters
    ----------
    name : str
        What they are.
    y : sequence of float
        Their values. [unit of the axis]
    spread : sequence of float or float
        Standard uncertainty of each; 0 where it has none. [unit of the axis]
    labels : sequence of str
        What each is; empty where only the place counts.

    Returns
    -------
    points : dict
        `name`, `x` (1, 2, ...), `y`, `low`, `high`, `labels`; the first 400.
    """
    values = np.asarray(y, dtype=float)[:MOST_POINTS]
    half = 1.96 * np.broadcast_to(np.asarray(spread, dtype=float), np.shape(y))[:MOST_POINTS]
    places = np.arange(1.0, values.size + 1.0)
    listed = {"x": places, "y": values, "low": values - half, "high": values + half}
    return {
        "name": name,
        **{key: each.tolist() for key, each in listed.items()},
        "labels": list(labels)[:MOST_POINTS],
    }


def photo_of(name: str, grey: Floats, mask: NDArray[np.bool_]) -> dict[str, object]:
    """
    Return a small copy of a picture and of what was found in it.

    Parameters
    ----------
    name : str
        What was found.
    grey : (h, w) float array
        The picture. [any]
    mask : (h, w) bool array
        What was found.

    Returns
    -------
    photo : dict
        `name`, `grey` and `found` (rows of two hexadecimal digits a cell, `found` the share of a cell), `step_px`.
    """
    step = max(1, -(-max(grey.shape) // _PHOTO))
    cells = _cells(grey, step)
    low, high = float(cells.min()), float(cells.max())
    shown = (cells - low) / ((high - low) or 1.0)
    rows = {"grey": shown, "found": _cells(mask.astype(float), step)}
    return {
        "name": name,
        **{
            key: [np.round(255 * row).astype(np.uint8).tobytes().hex() for row in each]
            for key, each in rows.items()
        },
        "step_px": step,
    }


def _cells(values: Floats, step: int) -> Floats:
    """Return means over squares of pixels; what is left over at right and below is cut off."""
    rows, columns = (side // step for side in values.shape)
    return np.asarray(
        values[: rows * step, : columns * step].reshape(rows, step, columns, step).mean(axis=(1, 3))
    )


def picture_of(
    title: str,
    axes: tuple[str, str],
    curves: Sequence[dict[str, object]],
    marks: Sequence[dict[str, object]] = (),
    rules: Sequence[dict[str, object]] = (),
    says: str = "",
    points: Sequence[dict[str, object]] = (),
    photo: dict[str, object] | None = None,
) -> dict[str, object]:
    """
    Return a picture of how a result was reduced.

    Parameters
    ----------
    title : str
        What was measured.
    axes : (str, str)
        Words with units of both axes.
    curves, marks, rules, points : sequence of dict
        From `curve_of`, `mark_of`, `rule_of` and `points_of`.
    photo : dict or None
        From `photo_of`.
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
        **({"points": list(points)} if points else {}),
        **({"photo": photo} if photo else {}),
    }
