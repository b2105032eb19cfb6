"""How many more builds of one kind the campaign's limits leave room for."""

from __future__ import annotations

from collections.abc import Mapping
from math import floor

from voidless.workflows.clock import exact_cost
from voidless.workflows.opening import OpenCampaign
from voidless.workflows.propose import spent

__all__ = ["room_for"]


def room_for(opened: OpenCampaign, settings: Mapping[str, float], wanted: int) -> tuple[int, str]:
    """
    Return how many of the wanted builds the limits leave room for, and which limit holds; no words where all fit.

    Parameters
    ----------
    opened : OpenCampaign
        The campaign; builds with a result or a logged failure count.
    settings : mapping of str to float
        Of the builds, complete. [unit of the setting]
    wanted : int
        Builds. [1]
    """
    limits, used, cost = opened.campaign.limits, spent(opened), exact_cost(opened, settings)
    rows = (
        ("builds", limits.builds, used.builds, 1.0),
        ("hours", limits.hours, used.hours, cost.build_min / 60.0),
        ("attended_hours", limits.attended_hours, used.hours, cost.build_min / 60.0),
        ("grams", limits.grams, used.grams, cost.grams),
    )
    rooms = {
        name: max(0, floor((limit - taken) / each + 1e-9))
        for name, limit, taken, each in rows
        if limit is not None
    }
    held = [f"limits.{name} ({getattr(limits, name):g})" for name, free in rooms.items() if free < wanted]
    return min([wanted, *rooms.values()]), " and ".join(held)
