"""Which results count where several methods measured a response."""

from __future__ import annotations

from collections import Counter

from voidless.campaign.types import Observation
from voidless.workflows.opening import OpenCampaign

__all__ = ["counting", "passed_over"]


def _stated(opened: OpenCampaign, item: Observation) -> str:
    """Return the method that the campaign's file states for a result's response, lower case, empty where none."""
    return opened.campaign.conditions.get(item.key.quantity, {}).get("method", "").lower()


def counting(opened: OpenCampaign) -> list[Observation]:
    """
    Return the results of builds that are learned from and judged: of the method that the campaign states, else all.

    Parameters
    ----------
    opened : OpenCampaign
        The campaign.
    """
    return [
        item
        for item in opened.store.observations()
        if item.build and _stated(opened, item) in ("", item.key.method.lower())
    ]


def passed_over(opened: OpenCampaign) -> tuple[str, ...]:
    """
    Return words on results that do not count because the campaign's file states another method.

    Parameters
    ----------
    opened : OpenCampaign
        The campaign.
    """
    left = Counter(
        (item.key.quantity, item.key.method or "no method")
        for item in opened.store.observations()
        if item.build and _stated(opened, item) not in ("", item.key.method.lower())
    )
    return tuple(
        f"{count} value(s) of {name} by {method} do not count: campaign.toml states "
        f"{opened.campaign.conditions[name]['method']!r}; they stay on record"
        for (name, method), count in sorted(left.items())
    )
