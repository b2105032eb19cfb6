"""Solids and settings -> toolpath: all solids together, layer by layer."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from contextlib import closing
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from voidless.beads.stadium import full_fill_pitch
from voidless.errors import InputError
from voidless.specimens.catalogue import specimen
from voidless.specimens.marking import marked
from voidless.specimens.order import SpecimenOrder
from voidless.toolpath.fill.types import Fill, Pattern
from voidless.toolpath.layout import lay_out
from voidless.toolpath.moves import Placement, Toolpath
from voidless.toolpath.recorder import Recorder
from voidless.toolpath.sections import ALONE, Crew, Section, plan_sections

if TYPE_CHECKING:
    from voidless.machines import Machine

__all__ = ["Solid", "alike", "grams", "layer_count", "plan_build", "plan_solids", "specimen_solid"]

_MISSED_SHARE = 0.01


def layer_count(height_mm: float, layer_mm: float) -> int:
    """Return how many layers come nearest to a height, at least one. [1]"""
    return max(1, round(height_mm / layer_mm))


@dataclass(frozen=True, eq=False)
class Solid:
    """
    A solid as it is filled: one region per layer.

    Attributes
    ----------
    placement : Placement
        Where it stands on the bed, and its name.
    regions : sequence of shapely Polygon or MultiPolygon
        Section of each layer from the bed upwards about the solid's own centre, holes included. Layers that
        share an object are planned once. [mm]
    raster_offset_deg : float
        Added to the raster angle. [deg]
    reference_mm : float or None
        Width that raster beads along X have to divide, such as a gauge's. [mm]
    """

    placement: Placement
    regions: Sequence[Any]
    raster_offset_deg: float = 0.0
    reference_mm: float | None = None


def specimen_solid(placement: Placement, layer_mm: float, pitch_mm: float, mark: str = "") -> Solid:
    """Return a specimen of the catalogue as regions, each taken at the middle of its layer, with a number on it."""
    kind = specimen(placement.kind).sized(pitch_mm)
    if mark:
        kind = marked(kind, mark)
    heights = [
        min((n + 0.5) * layer_mm, kind.height_mm) for n in range(layer_count(kind.height_mm, layer_mm))
    ]
    reference = kind.gauge_mm[0] if kind.gauge_mm else None
    return Solid(placement, alike([kind.region(z) for z in heights]), kind.raster_offset_deg, reference)


def alike(regions: Sequence[Any]) -> list[Any]:
    """Return regions with one object for all that are the same, so that each is planned once."""
    known: dict[bytes, Any] = {}
    return [known.setdefault(region.wkb, region) for region in regions]


def _check(settings: Mapping[str, float]) -> None:
    for name in ("layer_mm", "width_mm", "flow_pct", "speed_mm_s"):
        if not settings[name] > 0.0:
            raise InputError(
                "settings", f"{name} = {settings[name]}", "a value above 0", "Correct the setting."
            )
    if not (settings["contours"] >= 0 and settings["contours"] == int(settings["contours"])):
        raise InputError("settings", f"contours = {settings['contours']}", "a whole number from 0", "")


def plan_build(
    orders: Sequence[SpecimenOrder],
    settings: Mapping[str, float],
    machine: Machine,
    even: bool = True,
) -> Toolpath:
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
    even : bool
        Whether each bead gets the area that it finds free, with ways aside to what is left; else all get their length
        times their width, near enough for time and mass.

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
    solids = [specimen_solid(p, layer, pitch) for p in lay_out(orders, machine)]
    return plan_solids(solids, settings, machine, even)


def plan_solids(
    solids: Sequence[Solid],
    settings: Mapping[str, float],
    machine: Machine,
    even: bool = True,
    crew: Crew = ALONE,
) -> Toolpath:
    """
    Return the toolpath of solids: purge line, then all together layer by layer.

    Parameters
    ----------
    solids : sequence of Solid
        Solids, where they stand; they are filled in this order.
    settings : mapping
        Complete process settings in shop units.
    machine : Machine
        Limits, retraction.
    even : bool
        As of `plan_build`.
    crew : Crew
        How many processes plan the sections; the result is the same.

    Returns
    -------
    toolpath : Toolpath
        As of `plan_build`.

    Raises
    ------
    InputError
        A setting is missing its sense, or there is nothing to fill.
    """
    _check(settings)
    if not any(len(solid.regions) for solid in solids):
        raise InputError("solids", "nothing to print", "at least one layer", "Check the part.")
    layer = float(settings["layer_mm"])
    pitch = float(full_fill_pitch(layer, settings["width_mm"]))
    fill = Fill(
        pitch,
        float(settings["width_mm"]),
        int(settings["contours"]),
        float(settings["overlap_pct"]),
        machine.nozzle_diameter_mm,
        even,
    )
    layers = max(len(solid.regions) for solid in solids)
    where = [
        (index, number)
        for number in range(layers)
        for index, solid in enumerate(solids)
        if number < len(solid.regions)
        and not (solid.regions[number] is None or solid.regions[number].is_empty)
    ]
    turned = [settings["raster_deg"] + number * settings["raster_step_deg"] for number in range(layers)]
    sections = [
        Section(solids[k].regions[n], turned[n] + solids[k].raster_offset_deg, solids[k].reference_mm)
        for k, n in where
    ]
    recorder, notes = Recorder(settings, machine), dict[str, None]()
    recorder.purge()
    with closing(plan_sections(sections, fill, crew)) as patterns:
        for (index, number), pattern in zip(where, patterns, strict=True):
            placement = solids[index].placement
            _note(notes, placement.kind, pattern, fill)
            recorder.section(pattern, placement.centre_mm, index, number)
    placements = tuple(solid.placement for solid in solids)
    return Toolpath(recorder.finish(), placements, layer, layers, pitch, tuple(notes))


def _note(notes: dict[str, None], name: str, pattern: Pattern, fill: Fill) -> None:
    """Keep in plain words what a section could not take as asked, once each."""
    if pattern.contours < fill.contours:
        asked, fit = f"{fill.contours} contour{'s' * (fill.contours > 1)}", pattern.contours
        some = (
            f"{fit} of {asked} fit"
            if fit
            else f"there is no room for {'any of ' * (fill.contours > 1)}{asked}"
        )
        notes[f"{name}: where it is narrow {some}."] = None
    if pattern.missed_mm2 > _MISSED_SHARE * float(pattern.area_mm2.sum()):
        notes[f"{name}: more than 1 % of a section lies in tips that no bead passes."] = None


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
