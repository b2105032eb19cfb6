"""Which builds confirm a recipe: printed after it was chosen, kept apart from those on which it was chosen."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

import numpy as np

from voidless.campaign.types import Bound, Build, BuildOutcome, Observation
from voidless.infer.table import output_name
from voidless.workflows.opening import OpenCampaign
from voidless.workflows.propose import same_run, session_now
from voidless.workflows.training import data_hash

__all__ = [
    "Confirmation",
    "failed_builds",
    "latest_confirmation",
    "open_builds",
    "parts_by_build",
    "ratio_by_build",
    "store_confirmation",
]

_KIND = "confirmation"
Parts = dict[str, list[float]]


@dataclass(frozen=True)
class Confirmation:
    """A recipe's factors and the builds that were added to confirm it."""

    settings: Mapping[str, float]
    builds: tuple[str, ...]


def latest_confirmation(opened: OpenCampaign) -> Confirmation | None:
    """Return the confirmation that was added last; None without one."""
    stored = opened.store.latest_derived(_KIND)
    if stored is None:
        return None
    payload: Any = stored.payload
    return Confirmation(dict(payload["settings"]), tuple(payload["builds"]))


def store_confirmation(
    opened: OpenCampaign, factors: Mapping[str, float], count: int, earlier: Sequence[str], now: datetime
) -> Confirmation:
    """Return the confirmation after adding so many builds of a recipe to the records."""
    settings = opened.settings(factors)
    order = max((build.order for build in opened.store.builds()), default=0)
    session = session_now(opened, now)
    known = same_run(opened.space, opened.store.runs(), factors)
    with opened.store.writing(now) as writer:
        run = known or writer.add_run(settings, reason="Confirms the recipe.", origin="prove")
        added = [
            writer.add_build([run], order=order + place, session=session) for place in range(1, count + 1)
        ]
        found = Confirmation(dict(factors), (*earlier, *added))
        value: Any = {"settings": found.settings, "builds": list(found.builds)}
        writer.add_derived(_KIND, value, [data_hash(opened)])
    return found


def open_builds(opened: OpenCampaign, known: Confirmation) -> list[Build]:
    """Return the confirmation builds that have neither result nor failure yet."""
    wanted = {item.build for item in opened.store.planned()} & set(known.builds)
    return [build for build in opened.store.builds() if build.label in wanted]


def failed_builds(opened: OpenCampaign, known: Confirmation) -> list[str]:
    """Return the labels of confirmation builds that did not come off the bed as they should."""
    return [
        build.label
        for build in opened.store.builds()
        if build.label in known.builds and build.outcome is not BuildOutcome.OK
    ]


def parts_by_build(observed: Sequence[Observation]) -> dict[str, Parts]:
    """
    Return the values of the parts of each build, by response and build; readings of one part are averaged.

    Bounds are left out: a bar that broke at the radius says only that it would have borne more.
    """
    readings: dict[tuple[str, str, str], list[float]] = {}
    for item in observed:
        if item.bound is Bound.EXACT:
            name = output_name(item.key.quantity, item.key.feature)
            readings.setdefault((name, item.build, item.specimen), []).append(item.value)
    found: dict[str, Parts] = {}
    for (name, build, _), values in readings.items():
        found.setdefault(name, {}).setdefault(build, []).append(float(np.mean(values)))
    return found


def ratio_by_build(values: Mapping[str, Parts]) -> Parts:
    """Return mean strength through the layers over mean strength in plane, of builds that have both."""
    upright, flat = values.get("strength_z_mpa", {}), values.get("strength_xy_mpa", {})
    return {
        build: [float(np.mean(upright[build]) / np.mean(flat[build]))] for build in upright if build in flat
    }
