"""Picture of one layer of a toolpath: beads at their true width with their middle line; bare ground: open."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from voidless.reporting.facts import require
from voidless.reporting.vector import PALETTE
from voidless.reporting.words import number

__all__ = ["layer_drawing"]

_BEAD = f"var(--chart-soft, {PALETTE['soft']})"
_INK = f"var(--chart-accent, {PALETTE['accent']})"
_MUTED = f"var(--chart-muted, {PALETTE['muted']})"


def _place(given: float) -> str:
    return f"{given:.3f}".rstrip("0").rstrip(".") or "0"


def _paths(segments: Sequence[Mapping[str, float]]) -> list[tuple[float, str]]:
    """Return width and path of each unbroken string of beads of one width."""
    found: list[tuple[float, str]] = []
    end: tuple[float, float] | None = None
    for item in segments:
        width = float(item["width_mm"])
        start = (item["x0_mm"], item["y0_mm"])
        step = f"L{_place(item['x1_mm'])} {_place(-item['y1_mm'])}"
        if found and end == start and found[-1][0] == width:
            found[-1] = (width, found[-1][1] + step)
        else:
            found.append((width, f"M{_place(start[0])} {_place(-start[1])}{step}"))
        end = (item["x1_mm"], item["y1_mm"])
    return found


def layer_drawing(
    segments: Sequence[Mapping[str, float]],
    key: str = "layer",
    alt: str = "One layer, beads at their true width.",
) -> str:
    """
    Return an SVG of one layer seen from above, with a scale bar.

    Parameters
    ----------
    segments : sequence of mappings
        `x0_mm, y0_mm, x1_mm, y1_mm, width_mm` of each bead. [mm]
    key : str
        Prefix of its ids.
    alt : str
        What the picture shows.

    Raises
    ------
    InputError
        There is no segment, or a number of one is not finite.
    """
    require(len(segments) > 0, "no segment", "at least one bead")
    names = ("x0_mm", "y0_mm", "x1_mm", "y1_mm", "width_mm")
    for place, item in enumerate(segments):
        good = all(math.isfinite(item[name]) for name in names) and item["width_mm"] > 0.0
        require(good, f"segment {place}: {dict(item)}", "finite numbers and a width above 0")
    xs = [item[name] for item in segments for name in ("x0_mm", "x1_mm")]
    ys = [-item[name] for item in segments for name in ("y0_mm", "y1_mm")]
    room = max(item["width_mm"] for item in segments)
    left, top = min(xs) - room, min(ys) - room
    width, height = max(xs) + room - left, max(ys) + room - top
    bar = 10.0 ** math.floor(math.log10(max(width, height) / 3.0))
    text = max(width, height) / 32.0
    paths = _paths(segments)
    drawn = "".join(
        f'<path d="{path}" fill="none" stroke="{ink}" stroke-width="{_place(share * size)}" '
        f'stroke-linecap="round" stroke-linejoin="round"/>'
        for ink, share in ((_BEAD, 1.0), (_INK, 0.12))
        for size, path in paths
    )
    base = top + height + 0.6 * text
    scale = (
        f'<path d="M{_place(left + room)} {_place(base)}h{_place(bar)}" stroke="{_MUTED}" '
        f'stroke-width="{_place(text / 6)}"/><text x="{_place(left + room + bar + text / 2)}" '
        f'y="{_place(base + text / 3)}" font-size="{_place(text)}" fill="{_MUTED}" '
        f'font-family="system-ui, sans-serif">{number(bar)} mm</text>'
    )
    full = height + 2.0 * text
    pixels = 640.0
    box = " ".join(_place(item) for item in (left, top, width, full))
    name = f"{_safe(key)}-title"
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{box}" width="{pixels:g}" '
        f'height="{_place(pixels * full / width)}" role="img" aria-labelledby="{name}">'
        f'<title id="{name}">{_safe(alt)}</title>{drawn}{scale}</svg>'
    )


def _safe(text: str) -> str:
    from html import escape

    return escape(text, quote=True)
