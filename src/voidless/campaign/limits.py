"""The factor box and the fixed settings against what machine, material and limits allow."""

from __future__ import annotations

from voidless.campaign.faults import Faults
from voidless.campaign.types import Campaign
from voidless.errors import InputError
from voidless.machines.types import Machine
from voidless.materials.types import Material
from voidless.settings.resolve import default_settings, explain
from voidless.settings.rules import Ground, broken
from voidless.tomlfile import Document

__all__ = ["check_box"]


def check_box(
    campaign: Campaign, material: Material, machine: Machine, document: Document, faults: Faults
) -> None:
    """
    Keep a fault for every bound that is impossible alone, and one for a box without a feasible point.

    A box may well hold corners that are impossible (a rate that the hot end cannot melt): plans leave
    them out.
    """
    ground = Ground(material, machine, campaign.limits.rate_mm3_s)
    for factor in campaign.factors:
        for key, value in (("low", factor.low), ("high", factor.high)):
            for rule in broken({factor.name: value}, ground):
                faults.found.append(
                    explain(rule, {factor.name: value}, document.place("factors", factor.name, key))
                )
    for name, value in campaign.settings.items():
        for rule in broken({name: value}, ground):
            faults.found.append(explain(rule, {name: value}, document.place("settings", name)))
    if not faults.found:  # of unsound bounds there is no box to search
        with faults.kept():
            _check_some_point(campaign, ground, document)


def _check_some_point(campaign: Campaign, ground: Ground, document: Document) -> None:
    """
    Raise if no point of the box keeps every rule.

    The lowest corner keeps them if any point does: rules on one setting are intervals, checked at both
    bounds before; the rate only grows with each setting it reads; and the narrowest bead that a nozzle
    allows is as wide as its thickest layer.
    """
    mildest = {
        **default_settings(ground.material, ground.machine),
        **campaign.settings,
        **{factor.name: factor.low for factor in campaign.factors},
    }
    for rule in broken(mildest, ground):
        fault = explain(rule, mildest, _place(rule.settings, campaign, document))
        what = f"no point of the factor box keeps every limit; at its lowest, {fault.what}"
        raise InputError(fault.where, what, fault.expected, fault.remedy)


def _place(settings: tuple[str, ...], campaign: Campaign, document: Document) -> str:
    """Return where the first of the settings stands in the file: as a factor, fixed, or not at all."""
    varied = {factor.name for factor in campaign.factors}
    for name in settings:
        if name in varied:
            return document.place("factors", name)
        if name in campaign.settings:
            return document.place("settings", name)
    return document.place("campaign", "machine")
