"""
Beads as plain vectors, to scale in millimetres: one layer from above, or a whole part seen from a corner.

Beads are drawn at their true width with round ends, thin ground between them and a line along their middle;
travels are not drawn. Bare ground: open.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from html import escape
from itertools import pairwise
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from voidless.reporting.facts import require
from voidless.reporting.shade import Shade
from voidless.reporting.vector import PALETTE
from voidless.reporting.words import number

__all__ = ["MOST_BEADS", "MOST_IN_FULL", "bead_drawing", "framed", "place"]

MOST_IN_FULL = 20_000
"""Pictures with more beads are drawn without the ground between beads, middle lines and arrows."""
MOST_BEADS = 200_000
"""Pictures with more beads are refused: no viewer draws them."""

Floats = NDArray[np.float64]
_BEAD = f"var(--chart-soft, {PALETTE['soft']})"
_INK = f"var(--chart-accent, {PALETTE['accent']})"
_MUTED = f"var(--chart-muted, {PALETTE['muted']})"
_PAPER = f"var(--chart-paper, {PALETTE['paper']})"
_TURN, _TILT = math.radians(30.0), math.radians(35.0)
_GAP, _MIDDLE = 0.07, 0.08
_PIXELS = 640.0
_ROUND = 'fill="none" stroke-linecap="round" stroke-linejoin="round"'


class _String(NamedTuple):
    """Beads that follow one another without a travel: numbers of the first and of the one after the last."""

    first: int
    end: int


def place(given: float) -> str:
    """Return a length as it is written, to a micrometre. [mm]"""
    text = f"{given:.3f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def bead_drawing(
    beads: Mapping[str, Sequence[float] | Floats],
    key: str = "layer",
    alt: str = "One layer, beads at their true width.",
    shown: Sequence[float | None] | None = None,
    shade: Shade | None = None,
    tilted: bool = False,
) -> str:
    """
    Return an SVG of beads with a scale bar, and a colour bar where colours tell a number.

    Parameters
    ----------
    beads : mapping
        Columns `x0_mm, y0_mm, x1_mm, y1_mm, width_mm`, and `z_mm` where the view is tilted. [mm]
    key : str
        Prefix of its ids.
    alt : str
        What the picture shows.
    shown : sequence of float or None
        Number of each bead that its colour tells; all in one colour without.
    shade : Shade or None
        Scale of these numbers.
    tilted : bool
        Whether the part is seen from a corner above, in parallel projection, not from above.

    Raises
    ------
    InputError
        There is no bead or there are too many, or a number of one is not finite.
    """
    count = len(beads["x0_mm"])
    require(count > 0, "no bead", "at least one bead")
    require(count <= MOST_BEADS, f"{count} beads", f"at most {MOST_BEADS} in one picture")
    names = ("x0_mm", "y0_mm", "x1_mm", "y1_mm", "width_mm", *(("z_mm",) if tilted else ()))
    columns = {name: np.asarray(beads[name], dtype=float) for name in names}
    good = np.isfinite(np.array(list(columns.values()))).all(axis=0) & (columns["width_mm"] > 0.0)
    bad = int(np.argmin(good))
    require(
        bool(good.all()),
        f"bead {bad}: {[float(c[bad]) for c in columns.values()]}",
        "finite numbers and a width above 0",
    )
    strings = _strings(columns)
    starts, ends = _projected(columns, tilted)
    width = columns["width_mm"] * (math.cos(_TILT) if tilted else 1.0)
    colours = [_BEAD] * count if shown is None or shade is None else [shade.colour(value) for value in shown]
    drawn = _beads(strings, starts, ends, width, colours, count <= MOST_IN_FULL, tilted)
    room = float(width.max())
    both = np.vstack([starts, ends])
    low, high = both.min(axis=0) - room, both.max(axis=0) + room
    return framed(drawn, (*low.tolist(), *(high - low).tolist()), key, alt, shade)


def _strings(columns: Mapping[str, Floats]) -> list[_String]:
    """Return strings of beads without a travel between, to a micrometre."""
    gap = np.hypot(columns["x0_mm"][1:] - columns["x1_mm"][:-1], columns["y0_mm"][1:] - columns["y1_mm"][:-1])
    new = gap > 0.001
    if "z_mm" in columns:
        new |= np.diff(columns["z_mm"]) != 0.0
    cuts = [0, *(np.flatnonzero(new) + 1).tolist(), len(gap) + 1]
    return [_String(a, b) for a, b in pairwise(cuts)]


def _projected(columns: Mapping[str, Floats], tilted: bool) -> tuple[Floats, Floats]:
    """Return starts and ends in the plane of the picture, downwards positive, `(n, 2)` each. [mm]"""
    found = []
    for end in "01":
        x, y = columns[f"x{end}_mm"], columns[f"y{end}_mm"]
        if tilted:
            x, away = x * math.cos(_TURN) - y * math.sin(_TURN), x * math.sin(_TURN) + y * math.cos(_TURN)
            y = away * math.sin(_TILT) + columns["z_mm"] * math.cos(_TILT)
        found.append(np.column_stack([x, -y]))
    return found[0], found[1]


def _beads(
    strings: Sequence[_String],
    starts: Floats,
    ends: Floats,
    width: Floats,
    colours: Sequence[str],
    full: bool,
    tilted: bool,
) -> str:
    """Return the beads, string over string in the order of laying."""
    parts = []
    plain = len(set(colours)) == 1
    ground = (
        _INK if plain and tilted else _PAPER
    )  # seen from a corner, beads lie on beads: pale on pale shows nothing
    for string in strings:
        runs = _runs(string, starts, ends, width, colours)
        if full:
            parts += [_stroke(path, ground, size) for path, size, _ in runs]
        share = 1.0 - 2.0 * _GAP if full else 1.0
        parts += [_stroke(path, colour, share * size) for path, size, colour in runs]
        if full and not tilted:
            parts.append(_middle(string, starts, ends, width, _INK if plain else _PAPER))
    if full and not tilted:
        first = strings[0].first
        x, y = starts[first]
        parts.append(
            f'<circle cx="{place(x)}" cy="{place(y)}" r="{place(0.3 * width[first])}" fill="#000000" stroke="#ffffff" '
            f'stroke-width="{place(0.08 * width[first])}"><title>Start</title></circle>'
        )
    return "".join(parts)


def _runs(
    string: _String, starts: Floats, ends: Floats, width: Floats, colours: Sequence[str]
) -> list[tuple[str, float, str]]:
    """Return path, width and colour of each run of beads that are alike."""
    found: list[tuple[list[str], str, str]] = []
    for index in range(string.first, string.end):
        size, colour = place(width[index]), colours[index]
        if not found or found[-1][1:] != (size, colour):
            found.append(([f"M{place(starts[index, 0])} {place(starts[index, 1])}"], size, colour))
        found[-1][0].append(f"L{place(ends[index, 0])} {place(ends[index, 1])}")
    return [("".join(steps), float(size), colour) for steps, size, colour in found]


def _stroke(path: str, colour: str, size: float) -> str:
    return f'<path d="{path}" {_ROUND} stroke="{colour}" stroke-width="{place(size)}"/>'


def _middle(string: _String, starts: Floats, ends: Floats, width: Floats, ink: str) -> str:
    """Return the middle line of a string, with an arrow halfway along its longest bead."""
    rows = slice(string.first, string.end)
    points = "".join(f"L{place(x)} {place(y)}" for x, y in ends[rows].tolist())
    size = float(np.median(width[rows]))
    line = _stroke(
        f"M{place(starts[string.first, 0])} {place(starts[string.first, 1])}{points}", ink, _MIDDLE * size
    )
    step = ends[rows] - starts[rows]
    length = np.hypot(*step.T)
    longest = int(length.argmax())
    if not length[longest] > size:
        return line
    ahead = step[longest] / length[longest] * 0.32 * size
    aside = np.array([-ahead[1], ahead[0]])
    tip = 0.5 * (starts[rows][longest] + ends[rows][longest]) + ahead
    corners = [tip, tip - 1.6 * ahead + aside, tip - 1.6 * ahead - aside]
    path = "L".join(f"{place(x)} {place(y)}" for x, y in corners)
    return line + f'<path d="M{path}Z" fill="{ink}"/>'


def framed(
    drawn: str, box: tuple[float, float, float, float], key: str, alt: str, shade: Shade | None = None
) -> str:
    """
    Return an SVG with a scale bar and, if given, a colour bar below what is drawn.

    Parameters
    ----------
    drawn : str
        Elements in millimetres, downwards positive.
    box : (float, float, float, float)
        Left, top, width and height of what is drawn. [mm]
    key, alt : str
        Prefix of its ids, and what the picture shows.
    shade : Shade or None
        Scale of the colours.
    """
    left, top, width, height = box
    text = max(width, height) / 34.0
    wide = max(width, text * (26.0 if shade else 8.0))
    left -= 0.5 * (wide - width)
    base = top + height + 1.2 * text
    below = _scale_bar(left + 0.5 * text, base, width, text)
    if shade is not None:
        below += _colour_bar(shade, left + wide - 15.5 * text, base - 0.6 * text, text, key)
    tall = height + (4.6 if shade else 2.0) * text
    pixels = _PIXELS * min(1.0, 1.25 * wide / tall)
    name = f"{escape(key, quote=True)}-title"
    view = " ".join(place(item) for item in (left, top, wide, tall))
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{view}" width="{place(pixels)}" '
        f'height="{place(pixels * tall / wide)}" role="img" aria-labelledby="{name}" '
        f"font-family=\"system-ui, 'DejaVu Sans', sans-serif\">"
        f'<title id="{name}">{escape(alt, quote=True)}</title>{drawn}{below}</svg>'
    )


def _label(x: float, y: float, size: float, words: str, anchor: str = "start") -> str:
    return (
        f'<text x="{place(x)}" y="{place(y)}" font-size="{place(size)}" fill="{_MUTED}" '
        f'text-anchor="{anchor}">{escape(words)}</text>'
    )


def _scale_bar(left: float, base: float, width: float, text: float) -> str:
    power = 10.0 ** math.floor(math.log10(width / 3.0))
    bar = power * max(step for step in (1.0, 2.0, 5.0) if step * power <= width / 3.0)
    thick = place(text / 6.0)
    line = f'<path d="M{place(left)} {place(base)}h{place(bar)}" stroke="{_MUTED}" stroke-width="{thick}"/>'
    return line + _label(left + bar + 0.5 * text, base + 0.35 * text, text, f"{number(bar)} mm")


def _colour_bar(shade: Shade, left: float, top: float, text: float, key: str) -> str:
    name, size, tall = f"{escape(key, quote=True)}-shade", 14.0 * text, 0.9 * text
    last = len(shade.colours) - 1
    stops = "".join(
        f'<stop offset="{place(step / last)}" stop-color="{colour}"/>'
        for step, colour in enumerate(shade.colours)
    )
    drawn = (
        f'<defs><linearGradient id="{name}">{stops}</linearGradient></defs><rect x="{place(left)}" y="{place(top)}" '
        f'width="{place(size)}" height="{place(tall)}" fill="url(#{name})"/>'
    )
    foot = top + tall
    for share, words in shade.ticks():
        x = left + share * size
        mark, thin = f"M{place(x)} {place(foot)}v{place(0.25 * text)}", place(text / 12)
        drawn += f'<path d="{mark}" stroke="{_MUTED}" stroke-width="{thin}"/>'
        drawn += _label(x, foot + 1.15 * text, 0.85 * text, words, "middle")
    if shade.below:
        drawn += _label(left - 0.2 * text, top + 0.8 * tall, 0.85 * text, "\u2264", "end")
    if shade.above:
        drawn += _label(left + size + 0.2 * text, top + 0.8 * tall, 0.85 * text, "\u2265")
    return drawn + _label(left + 0.5 * size, foot + 2.3 * text, 0.85 * text, shade.label, "middle")
