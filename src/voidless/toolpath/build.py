"""Specimens and settings -> toolpath: all specimens together, layer by layer."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from voidless.beads.stadium import full_fill_pitch
from voidless.errors import InputError
from voidless.specimens.catalogue import specimen
from voidless.specimens.kind import SpecimenKind
from voidless.specimens.order import SpecimenOrder
from voidless.toolpath.layout import lay_out
from voidless.toolpath.moves import Toolpath
from voidless.toolpath.pattern import Fill, Pattern, plan_section
from voidless.toolpath.recorder import Recorder

if TYPE_CHECKING:
    from voidless.machines import Machine

__all__ = ["grams", "layer_count", "plan_build", "raster_reference"]

_MISSED_SHARE = 0.01


def layer_count(height_mm: float, layer_mm: float) -> int:
    """Return how many layers come nearest to a height, at least one. [1]"""
    return max(1, round(height_mm / layer_mm))


def raster_reference(kind: SpecimenKind, angle_deg: float) -> float | None:
    """Return the width that raster beads along the pull have to divide: the gauge's; else None. [mm]"""
    along = abs((angle_deg + 90.0) % 180.0 - 90.0) < 1e-6
    return kind.gauge_mm[0] if along and kind.gauge_mm else None


class _Patterns:
    """Plans each different section once."""

    def __init__(self, fill: Fill) -> None:
        self._fill = fill
        self._known: dict[tuple[bytes, float, float | None], Pattern] = {}

    def pattern(self, kind: SpecimenKind, height_mm: float, angle_deg: float) -> Pattern:
        angle = round(angle_deg % 180.0, 9)
        outline = kind.outline(height_mm)
        reference = raster_reference(kind, angle)
        key = (outline.tobytes(), angle, reference)
        if key not in self._known:
            self._known[key] = plan_section(outline, self._fill, angle, reference)
        return self._known[key]


def _check(settings: Mapping[str, float]) -> None:
    for name in ("layer_mm", "width_mm", "flow_pct", "speed_mm_s"):
        if not settings[name] > 0.0:
            raise InputError(
                "settings", f"{name} = {settings[name]}", "a value above 0", "Correct the setting."
            )
    if not (settings["contours"] >= 0 and settings["contours"] == int(settings["contours"])):
        raise InputError("settings", f"contours = {settings['contours']}", "a whole number from 0", "")


def plan_build(orders: Sequence[SpecimenOrder], settings: Mapping[str, float], machine: Machine) -> Toolpath:
    """
    Return the toolpath of a build: purge line, then all specimens together layer by layer.

    Parameters
    ----------
    orders : sequence of SpecimenOrder
        What is printed.
    settings : mapping
        Complete process settings in shop units.
    machine : Machine
        Bed, limits, retraction.

    Returns
    -------
    toolpath : Toolpath
        Deposited volume per layer is section area times layer thickness times flow; the purge line
        stands apart with layer -1. No move exceeds the machine's speeds or melt rate.

    Raises
    ------
    InputError
        The specimens do not fit on the bed, or a setting is missing its sense (thickness, width, flow
        or speed not positive, contours no whole number, width below the layer thickness).

    Notes
    -----
    The raster angle of layer k is `raster_deg` + k `raster_step_deg` + the kind's own offset, counted from
    the specimen's long axis. Sections are taken at mid height of each layer. The fan starts with the second
    layer.
    """
    _check(settings)
    layer = float(settings["layer_mm"])
    pitch = float(full_fill_pitch(layer, settings["width_mm"]))
    fill = Fill(pitch, float(settings["width_mm"]), int(settings["contours"]), float(settings["overlap_pct"]))
    placements = lay_out(orders, machine)
    kinds = [specimen(placed.kind) for placed in placements]
    counts = [layer_count(kind.height_mm, layer) for kind in kinds]
    patterns, recorder, notes = _Patterns(fill), Recorder(settings, machine), dict[str, None]()
    recorder.purge()
    for number in range(max(counts)):
        angle = settings["raster_deg"] + number * settings["raster_step_deg"]
        for placed, kind, count in zip(placements, kinds, counts, strict=True):
            if number >= count:
                continue
            height = min((number + 0.5) * layer, kind.height_mm)
            pattern = patterns.pattern(kind, height, angle + kind.raster_offset_deg)
            _note(notes, kind, pattern, fill)
            recorder.section(pattern, placed.centre_mm, placed.position - 1, number)
    return Toolpath(recorder.finish(), placements, layer, max(counts), pitch, tuple(notes))


def _note(notes: dict[str, None], kind: SpecimenKind, pattern: Pattern, fill: Fill) -> None:
    """Keep in plain words what a section could not take as asked, once each."""
    if pattern.contours < fill.contours:
        notes[f"{kind.name}: only {pattern.contours} of {fill.contours} contours find room."] = None
    if pattern.missed_mm2 > _MISSED_SHARE * float(pattern.area_mm2.sum()):
        notes[f"{kind.name}: more than 1 % of a section lies in tips that no bead passes."] = None


def grams(toolpath: Toolpath, density_g_cm3: float) -> float:
    """
    Return the mass of filament that a build takes, purge line included.

    Parameters
    ----------
    toolpath : Toolpath
        A planned build.
    density_g_cm3 : float
        Density of the solid filament. [g/cm³]

    Returns
    -------
    mass_g : float
        Net of retractions, the last one left out of account. [g]

    Raises
    ------
    InputError
        The density is not positive.
    """
    if not density_g_cm3 > 0.0:
        raise InputError("grams", f"density {density_g_cm3} g/cm3", "a density above 0", "")
    deposited = toolpath.moves.volume_mm3[toolpath.moves.deposits].sum()
    return float(deposited) * density_g_cm3 / 1000.0
