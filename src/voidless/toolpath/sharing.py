"""Specimens one after the other, and several runs on one bed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import TYPE_CHECKING

import numpy as np

from voidless.beads.stadium import full_fill_pitch
from voidless.errors import InputError
from voidless.specimens.catalogue import specimen
from voidless.specimens.marking import fits
from voidless.specimens.order import SpecimenOrder
from voidless.toolpath.build import plan_solids, specimen_solid
from voidless.toolpath.layer_time import TOLERANCE, layer_times
from voidless.toolpath.layout import lay_out
from voidless.toolpath.moves import Placement, Toolpath
from voidless.toolpath.stretches import Stretch, cut, head_of, join

if TYPE_CHECKING:
    from voidless.machines import Machine

__all__ = ["BedRun", "SharedBed", "check_bed", "plan_specimens", "share_bed"]

_COMMON = ("nozzle_c", "bed_c", "chamber_c")
_COMMON_TOGETHER = (*_COMMON, "layer_mm", "fan_pct")


@dataclass(frozen=True)
class BedRun:
    """
    A run that is to share a bed.

    Attributes
    ----------
    run : str
        Its name.
    orders : tuple of SpecimenOrder
        What it prints.
    settings : mapping
        Complete process settings in shop units.
    """

    run: str
    orders: tuple[SpecimenOrder, ...]
    settings: Mapping[str, float]


@dataclass(frozen=True, eq=False)
class SharedBed:
    """
    Several runs on one bed.

    Attributes
    ----------
    toolpath : Toolpath
        The build.
    run_of : tuple of str
        Run of each placement.
    differs : mapping
        By run, the largest relative difference between layer times here and in a build of its own. [1]
    whole_plot : bool
        Whether layer times differ, so that the runs are one whole plot and not independent builds.
    notes : tuple of str
        In words, what that means.
    """

    toolpath: Toolpath
    run_of: tuple[str, ...]
    differs: Mapping[str, float]
    whole_plot: bool
    notes: tuple[str, ...]


def _planned(
    placements: Sequence[Placement],
    settings: Mapping[str, float],
    machine: Machine,
    marks: Mapping[int, str] = MappingProxyType({}),
) -> Toolpath:
    pitch = float(full_fill_pitch(settings["layer_mm"], settings["width_mm"]))
    solids = [
        specimen_solid(placed, settings["layer_mm"], pitch, marks.get(placed.position, ""))
        for placed in placements
    ]
    return plan_solids(solids, settings, machine)


def plan_specimens(
    orders: Sequence[SpecimenOrder],
    settings: Mapping[str, float],
    machine: Machine,
    sequential: bool = False,
    prefix: str | None = None,
) -> Toolpath:
    """
    Return the toolpath of a build, together or one specimen after the other, marked or not.

    Parameters
    ----------
    orders : sequence of SpecimenOrder
        What is printed.
    settings : mapping
        Complete process settings in shop units.
    machine : Machine
        Bed, limits, and for a sequence the clearances of head and gantry.
    sequential : bool
        Whether each specimen is finished before the next one is begun, the lowest first: each then sees its own
        layer time alone, and between specimens the nozzle passes above all that stands.
    prefix : str or None
        Digits that are sunk into each specimen before its position, such as the build's; None marks nothing.

    Returns
    -------
    toolpath : Toolpath
        As of `plan_build`; notes name the specimens that have no room for a mark.

    Raises
    ------
    InputError
        The machine states no clearances, or the specimens do not fit on the bed or under the gantry.
    """
    placements = lay_out(orders, machine, sequential)
    marks, note = _marks(placements, prefix)
    if sequential:
        path = _one_by_one(placements, [settings] * len(placements), machine, marks)
    else:
        path = _planned(placements, settings, machine, marks)
    return replace(path, notes=(*path.notes, *note))


def _marks(placements: Sequence[Placement], prefix: str | None) -> tuple[dict[int, str], tuple[str, ...]]:
    """Return the mark of each position that has room for one, and which have none, in words."""
    if prefix is None:
        return {}, ()
    wanted = {p.position: f"{prefix}-{p.position}" for p in placements}
    marks = {p.position: wanted[p.position] for p in placements if fits(specimen(p.kind), wanted[p.position])}
    bare = [f"{p.position} ({p.kind})" for p in placements if p.position not in marks]
    words = f"No room for a mark: write it on {', '.join(bare)} as it comes off."
    return marks, (words,) if bare else ()


def _one_by_one(
    placements: Sequence[Placement],
    settings: Sequence[Mapping[str, float]],
    machine: Machine,
    marks: Mapping[int, str] = MappingProxyType({}),
) -> Toolpath:
    plans = [
        _planned([placed], own, machine, marks) for placed, own in zip(placements, settings, strict=True)
    ]
    stretches = [s for index, plan in enumerate(plans) for s in cut(plan.moves, [index], by_layer=False)]
    return _joined(plans, stretches, placements, machine)


def _joined(
    plans: Sequence[Toolpath], stretches: Sequence[Stretch], placements: Sequence[Placement], machine: Machine
) -> Toolpath:
    notes = dict.fromkeys(note for plan in plans for note in plan.notes)
    return Toolpath(
        join(head_of(plans[0].moves), stretches, machine),
        tuple(placements),
        plans[0].layer_mm,
        max(plan.layers for plan in plans),
        plans[0].pitch_mm,
        tuple(notes),
    )


def _check_common(runs: Sequence[BedRun], names: Sequence[str]) -> None:
    if len({run.run for run in runs}) != len(runs) or len(runs) < 2:
        raise InputError("bed", ", ".join(run.run for run in runs), "at least two different runs", "")
    for name in names:
        values = {run.run: run.settings[name] for run in runs}
        if len(set(values.values())) > 1:
            text = ", ".join(f"{run} {value:g}" for run, value in values.items())
            raise InputError(
                "bed",
                f"{name} differs between the runs: {text}",
                "one value for all that shares a bed",
                "Print these runs in builds of their own.",
            )


def check_bed(runs: Sequence[BedRun], machine: Machine, sequential: bool = False) -> tuple[Placement, ...]:
    """
    Return where the specimens of several runs stand on one bed; layer times are not looked at.

    Parameters
    ----------
    runs, machine, sequential
        As `share_bed`.

    Raises
    ------
    InputError
        Settings differ that a bed has in common, or the specimens do not fit.
    """
    _check_common(runs, _COMMON if sequential else _COMMON_TOGETHER)
    orders = [SpecimenOrder(order.kind, order.count) for run in runs for order in run.orders]
    return lay_out(orders, machine, sequential)


def share_bed(
    runs: Sequence[BedRun],
    machine: Machine,
    sequential: bool = False,
    whole_plot: bool = False,
    prefix: str | None = None,
) -> SharedBed:
    """
    Return several runs on one bed, where their layer times allow it.

    Parameters
    ----------
    runs : sequence of BedRun
        Different runs; nozzle, bed and chamber temperature are the same, and together also layer thickness and fan.
    machine : Machine
        Bed, limits, clearances.
    sequential : bool
        Whether specimens are finished one after the other: then each sees the layer time of its own alone.
    whole_plot : bool
        Whether runs may share a bed although their layer times are not those of builds of their own: the bed is then
        one whole plot of the experiment.
    prefix : str or None
        As of `plan_specimens`. Layer times are compared without marks.

    Returns
    -------
    bed : SharedBed
        The build, and by how much layer times differ.

    Raises
    ------
    InputError
        Settings differ that a bed has in common; layer times differ by over 2 % and no whole plot is allowed; the
        specimens do not fit.
    """
    placements = check_bed(runs, machine, sequential)
    owner = _owners(runs, placements)
    toolpath = _laid(runs, placements, owner, machine, sequential)
    differs = _differences(runs, toolpath, owner, machine, sequential)
    apart = {run: share for run, share in differs.items() if not share <= TOLERANCE}
    words = ", ".join(f"{run} by {100.0 * share:.0f} %" for run, share in apart.items())
    if apart and not whole_plot:
        raise InputError(
            "bed",
            f"layer times are not those of builds of their own: {words}",
            f"differences of at most {100.0 * TOLERANCE:g} %",
            "Print the runs in builds of their own, one specimen after the other, or declare the bed a whole plot.",
        )
    note = (f"One whole plot: on this bed layer times differ from those of builds of their own, {words}.",)
    names = tuple(runs[index].run for index in owner)
    marks, bare = _marks(placements, prefix)
    if marks:
        toolpath = _laid(runs, placements, owner, machine, sequential, marks)
    toolpath = replace(toolpath, notes=(*toolpath.notes, *bare))
    return SharedBed(toolpath, names, differs, bool(apart), note if apart else ())


def _laid(
    runs: Sequence[BedRun],
    placements: Sequence[Placement],
    owner: Sequence[int],
    machine: Machine,
    sequential: bool,
    marks: Mapping[int, str] = MappingProxyType({}),
) -> Toolpath:
    if sequential:
        return _one_by_one(placements, [runs[index].settings for index in owner], machine, marks)
    return _interleaved(runs, placements, owner, machine, marks)


def _owners(runs: Sequence[BedRun], placements: Sequence[Placement]) -> list[int]:
    """Return which run each placement belongs to: of each kind, the first run's come first."""
    waiting: dict[str, list[int]] = {}
    for index, run in enumerate(runs):
        for order in run.orders:
            waiting.setdefault(order.kind, []).extend([index] * order.count)
    return [waiting[placed.kind].pop(0) for placed in placements]


def _interleaved(
    runs: Sequence[BedRun],
    placements: Sequence[Placement],
    owner: Sequence[int],
    machine: Machine,
    marks: Mapping[int, str],
) -> Toolpath:
    """Return all runs together, layer by layer, each with its own settings."""
    plans: list[Toolpath] = []
    stretches: list[Stretch] = []
    for index, run in enumerate(runs):
        own = [number for number, which in enumerate(owner) if which == index]
        plan = _planned([placements[number] for number in own], run.settings, machine, marks)
        plans.append(plan)
        stretches += cut(plan.moves, own, by_layer=True)
    stretches.sort(key=lambda s: (s.layer, s.specimen))
    return _joined(plans, stretches, placements, machine)


def _differences(
    runs: Sequence[BedRun], toolpath: Toolpath, owner: Sequence[int], machine: Machine, sequential: bool
) -> dict[str, float]:
    """Return by run the largest relative difference of layer times from those of a build of its own. [1]"""
    here = layer_times(toolpath, machine)
    found: dict[str, float] = {}
    for index, run in enumerate(runs):
        own = [number for number, which in enumerate(owner) if which == index]
        placements = lay_out(run.orders, machine, sequential)
        settings = [run.settings] * len(placements)
        alone = (
            _one_by_one(placements, settings, machine)
            if sequential
            else _planned(placements, run.settings, machine)
        )
        there = layer_times(alone, machine)
        kinds = [toolpath.placements[number].kind for number in own]
        pairs = zip(sorted(range(len(own)), key=lambda k: kinds[k]), _by_kind(placements), strict=True)
        shares = []
        for mine, theirs in pairs:
            first, second = here[own[mine]], there[theirs]
            size = min(len(first), len(second))
            shares.append(float(np.nanmax(np.abs(first[:size] / second[:size] - 1.0))))
        found[run.run] = max(shares)
    return found


def _by_kind(placements: Sequence[Placement]) -> list[int]:
    return sorted(range(len(placements)), key=lambda k: placements[k].kind)
