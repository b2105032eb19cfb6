"""A map of cells as a picture: numbers on a grid in a perceptually uniform map, to scale."""

from __future__ import annotations

import base64
import io
from typing import Any

import numpy as np
from numpy.typing import NDArray

from voidless.reporting.facts import require
from voidless.reporting.layer import framed, place
from voidless.reporting.shade import Shade

__all__ = ["MOST_CELLS", "cell_drawing"]

MOST_CELLS = 16_000_000
"""Larger maps are refused: no viewer draws them."""


def cell_drawing(
    values: NDArray[Any],
    corner_mm: tuple[float, float],
    cell_mm: float,
    shade: Shade,
    key: str = "cells",
    alt: str = "A map.",
) -> str:
    """
    Return an SVG of a grid of numbers with a scale bar and a colour bar; cells of NaN are left bare.

    Parameters
    ----------
    values : (rows, columns) float array
        Numbers, row 0 at the lowest Y. [1]
    corner_mm : (float, float)
        Lower left corner. [mm]
    cell_mm : float
        Side of a cell. [mm]
    shade : Shade
        Scale of colours.
    key, alt : str
        Prefix of its ids, and what the picture shows.

    Raises
    ------
    InputError
        The map has no cell or too many.
    """
    from PIL import Image

    rows, columns = values.shape
    require(values.size > 0, "no cell", "at least one cell")
    require(values.size <= MOST_CELLS, f"{values.size} cells", f"at most {MOST_CELLS} in one picture")
    table = np.array([[int(c[i : i + 2], 16) for i in (1, 3, 5)] for c in shade.colours], dtype=np.uint8)
    share = np.nan_to_num((values - shade.low) / (shade.high - shade.low))
    pixels = np.zeros((rows, columns, 4), dtype=np.uint8)
    pixels[..., :3] = table[np.clip((share * len(table)).astype(int), 0, len(table) - 1)]
    pixels[..., 3] = np.where(np.isfinite(values), 255, 0)
    kept = io.BytesIO()
    Image.fromarray(pixels[::-1]).save(kept, format="PNG", optimize=False)
    coded = base64.b64encode(kept.getvalue()).decode("ascii")
    box = (corner_mm[0], -corner_mm[1] - rows * cell_mm, columns * cell_mm, rows * cell_mm)
    left, top, width, height = (place(number) for number in box)
    drawn = (
        f'<image x="{left}" y="{top}" width="{width}" height="{height}" preserveAspectRatio="none" '
        f'image-rendering="pixelated" href="data:image/png;base64,{coded}"/>'
    )
    return framed(drawn, box, key, alt, shade)
