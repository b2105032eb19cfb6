"""Which runs of a plan share a bed, and how a shared bed is printed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from voidless.campaign.types import Build
from voidless.errors import InputError
from voidless.toolpath.layout import clearance
from voidless.toolpath.sharing import BedRun, SharedBed, check_bed, share_bed
from voidless.workflows.opening import OpenCampaign

__all__ = ["ALONE", "ONE_BY_ONE", "WHOLE_PLOT", "Sharing", "bed_words", "beds_of", "shared_bed"]

ALONE, ONE_BY_ONE, WHOLE_PLOT = "alone", "one by one", "whole plot"
_WHERE = "voidless plan --share"


@dataclass(frozen=True)
class Sharing:
    """
    How runs may share a bed.

    Attributes
    ----------
    most : int
        Most runs on a bed; 1: each in a build of its own.
    whole_plot : bool
        Whether runs are printed together although their layer times are then not those of builds of their own: the
        bed is one whole plot. Otherwise one specimen after the other, each with its own layer times.
    """

    most: int = 1
    whole_plot: bool = False

    @property
    def how(self) -> str:
        """How the beds are printed, in words that are stored with the plan."""
        return ALONE if self.most < 2 else (WHOLE_PLOT if self.whole_plot else ONE_BY_ONE)

    def check(self, opened: OpenCampaign) -> None:
        """
        Return nothing when the machine can do it.

        Raises
        ------
        InputError
            Runs would see other layer times than in builds of their own, and no whole plot is declared.
        """
        if self.whole_plot and self.most < 2:
            raise InputError(
                f"{_WHERE[:-8]} --whole-plot", "without --share", "--share N", "Say how many runs."
            )
        if self.how == ONE_BY_ONE:
            try:
                clearance(opened.machine)
            except InputError as fault:
                raise InputError(
                    _WHERE,
                    f"printed together, runs see other layer times than in builds of their own, and {fault.what}",
                    "a machine that states its clearances, or a whole plot",
                    "State head_radius_mm and gantry_height_mm, or add --whole-plot.",
                ) from fault


def beds_of(
    opened: OpenCampaign, sharing: Sharing, runs: Sequence[str], settings: Sequence[Mapping[str, float]],
    sessions: Sequence[int],
) -> tuple[list[list[int]], list[str]]:  # fmt: skip
    """
    Return the beds as numbers of what they carry, and why some carry fewer.

    The order of the plan stays as it was drawn: only neighbours of one session share a bed.

    Parameters
    ----------
    opened : OpenCampaign
        Machine and specimens.
    sharing : Sharing
        What is allowed.
    runs, settings, sessions : sequences
        Run, factor levels and session of each build, in print order.
    """
    beds: list[list[int]] = []
    reasons: dict[str, None] = {}
    for number, run in enumerate(runs):
        bed = beds[-1] if beds else []
        if not bed or len(bed) >= sharing.most or sessions[bed[0]] != sessions[number]:
            beds.append([number])
            continue
        carried = [BedRun(runs[n], opened.orders, opened.settings(settings[n])) for n in (*bed, number)]
        try:
            check_bed(carried, opened.machine, sharing.how == ONE_BY_ONE)
        except InputError as fault:
            reasons[_apart(run, [runs[n] for n in bed], fault.what)] = None
            beds.append([number])
        else:
            bed.append(number)
    return beds, list(reasons)


def _apart(run: str, bed: list[str], why: str) -> str:
    """Return why a run is not printed with those of a bed."""
    if run in bed:
        return f"{run} is not printed twice on one bed: its repeats are to be builds of their own."
    return f"{run} is not on one bed with {', '.join(bed)}: {why}."


def bed_words(label: str, runs: Sequence[str], how: str) -> str:
    """Return what a person must know of a shared bed."""
    if how == ONE_BY_ONE:
        told = "one specimen after the other, so that each sees the layer times of its own build"
    else:
        told = "together, as one whole plot: layer times are not those of builds of their own"
    return f"{label} carries {', '.join(runs)}, printed {told}."


def shared_bed(
    opened: OpenCampaign, builds: Sequence[Build], one_by_one: bool = False, prefix: str | None = None
) -> SharedBed:
    """
    Return the toolpath of a bed that several runs share, printed as the plan says.

    Parameters
    ----------
    opened : OpenCampaign
        Machine, specimens, and the plan.
    builds : sequence of Build
        The bed, once per run.
    one_by_one : bool
        Print one specimen after the other although the plan says together.
    prefix : str or None
        Digits that are sunk into each specimen before its position.

    Raises
    ------
    InputError
        As `share_bed`: layer times differ and the plan declares no whole plot.
    """
    runs = [BedRun(build.run, opened.orders, {**opened.fixed, **build.settings}) for build in builds]
    how = _stored(opened).get(builds[0].label, ONE_BY_ONE)
    sequential = one_by_one or how == ONE_BY_ONE
    return share_bed(runs, opened.machine, sequential, how == WHOLE_PLOT, prefix)


def _stored(opened: OpenCampaign) -> Mapping[str, str]:
    """Return how beds are printed, by build, of every plan that was stored."""
    plans: list[Any] = [plan.payload for plan in opened.store.derived("plan")]
    return {build: how for plan in reversed(plans) for build, how in plan.get("beds", {}).items()}
