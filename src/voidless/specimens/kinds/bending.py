"""Bars of 80 x 10 x 4 mm for bending and impact, without a notch, with a printed one, or to be notched."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from voidless.specimens.kind import MarkPlace, SpecimenKind
from voidless.specimens.outline import rectangle
from voidless.specimens.stack import Stack, box, prism

__all__ = ["KINDS", "notched_outline"]

_LENGTH, _WIDTH, _THICK = 80.0, 10.0, 4.0
_LEFT = 2.0
"""Depth of a notch: 10 mm less the 8.0 mm that stay under it. [mm]"""
_SAGITTA = 0.002
_BAR = "Bar 80 x 10 x 4 mm of ISO 179-1 type 1 (public reference pages)"
_ISO_178 = "Bar 80 x 10 x 4 mm of ISO 178 (public training slides), supports 64 mm apart"
_ISO_180 = "Bar 80 x 10 x 4 mm of ISO 180 (public reference pages)"
_NOTCH = "45 degrees, 8.0 mm left under the notch (from memory), tip radius after public reference pages"
_PENDULUM = "The pendulum and the fragments hurt: keep hands out of its swing and wear eye protection."
_GUARD = "Bars may break with flying fragments: guard the rig and wear eye protection."
_PRINTED = (
    "The notch is printed: its flanks are contours, no bead is cut, and its tip is no sharper than the nozzle "
    "allows. Never mix it with machined notches."
)
_SIZES = {"xy": (_LENGTH, _WIDTH, _THICK), "xz": (_LENGTH, _THICK, _WIDTH), "zx": (_WIDTH, _THICK, _LENGTH)}
_WORDS = {"xy": "flat", "xz": "on edge", "zx": "upright"}


def notched_outline(radius_mm: float) -> NDArray[np.float64]:
    """
    Return the outline of a bar with a notch of 45 degrees in the middle of its front side.

    Parameters
    ----------
    radius_mm : float
        Radius of the notch's tip. [mm]

    Returns
    -------
    outline : (n, 2) float array
        Counter-clockwise, centred; 8.0 mm of the width are left under the tip, whose arc is made of
        chords that leave it by 2 µm at most. [mm]
    """
    half = math.radians(22.5)
    front, tip = -_WIDTH / 2.0, -_WIDTH / 2.0 + _LEFT
    middle = tip - radius_mm
    reach = math.pi / 2.0 - half  # the arc meets both flanks as tangents
    number = 2 * math.ceil(reach / (2.0 * math.acos(1.0 - _SAGITTA / radius_mm)))
    angles = math.pi / 2.0 + np.linspace(reach, -reach, number + 1)
    arc = np.column_stack([radius_mm * np.cos(angles), middle + radius_mm * np.sin(angles)])
    mouth = -arc[0, 0] + (arc[0, 1] - front) * math.tan(half)
    corners = rectangle(_LENGTH, _WIDTH)
    sides = np.array([[-mouth, front]]), np.array([[mouth, front]])
    return np.asarray(np.vstack([corners[:1], sides[0], arc, sides[1], corners[1:]]))


def _bar(letters: str) -> Stack:
    x, y, z = _SIZES[letters]
    return box((-x / 2.0, x / 2.0), (-y / 2.0, y / 2.0), (0.0, z))


def _place(letters: str, raised: bool = False) -> MarkPlace:
    """Return a place at the end of the bar, outside of supports 62 or 64 mm apart."""
    if letters == "zx":
        return MarkPlace("front", (0.0, -_THICK / 2.0, 3.8), (_WIDTH - 1.0, 6.4))
    _, y, z = _SIZES[letters]
    return MarkPlace("top", (-36.2, 0.0, z), (6.4, y - 1.0), raised)


def _section(letters: str) -> tuple[float, float]:
    return (_WIDTH, _THICK) if letters in ("xy", "zx") else (_THICK, _WIDTH)


def _flexure(letters: str) -> SpecimenKind:
    return SpecimenKind(
        f"bend_bar_{letters}",
        f"bending bar, {_WORDS[letters]}",
        _bar(letters).levels,
        _ISO_178,
        gauge_mm=_section(letters),
        gauge_length_mm=64.0,
        features=dict(zip("xyz", _SIZES[letters], strict=True)),
        caution=_GUARD,
        mark_places=(_place(letters, raised=True),),
    )


def _impact(name: str, letters: str, standard: str, span: float) -> SpecimenKind:
    charpy = standard is _BAR
    return SpecimenKind(
        name,
        f"{'impact' if charpy else 'clamped impact'} bar, {_WORDS[letters]}, to be notched by machine",
        _bar(letters).levels,
        f"{standard}; the notch is machined, not printed",
        gauge_mm=_section(letters),
        gauge_length_mm=span,
        responses=("charpy_kj_m2",) if charpy else (),
        caution=_PENDULUM,
        note=_CUT,
        mark_places=(_place(letters),),
    )


_CUT = (
    "To be notched by machine (ISO 2818, from memory: sharp cutter, no heat): 2 mm deep, 8.0 mm left, before "
    "testing; or test it without a notch and say so."
)


def _printed(letter: str, radius: float) -> SpecimenKind:
    return SpecimenKind(
        f"impact_bar_notch_{letter}",
        f"impact bar, flat, notch {letter.upper()} printed",
        prism(notched_outline(radius), 0.0, _THICK).levels,
        f"{_BAR}. Notch {letter.upper()}, radius {radius:g} mm, {_NOTCH}",
        gauge_mm=(_WIDTH - _LEFT, _THICK),
        responses=("charpy_kj_m2",),
        caution=_PENDULUM,
        note=_PRINTED,
        mark_places=(_place("xy"),),
    )


KINDS: tuple[SpecimenKind, ...] = (
    _impact("impact_bar", "xy", _BAR, 62.0),
    _impact("impact_bar_xz", "xz", _BAR, 62.0),
    _impact("impact_bar_zx", "zx", _BAR, 62.0),
    *(_impact(f"izod_bar_{letters}", letters, _ISO_180, 0.0) for letters in _SIZES),
    _printed("a", 0.25),
    _printed("b", 1.0),
    *(_flexure(letters) for letters in _SIZES),
)
"""Bars for bending and impact."""
