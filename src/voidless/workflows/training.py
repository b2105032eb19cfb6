"""From records to what the learning model takes."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from voidless.campaign.types import Build, Observation
from voidless.errors import InputError
from voidless.infer.learned import CampaignModel
from voidless.infer.model import fit_model
from voidless.infer.table import TrainingData
from voidless.settings import derived
from voidless.twin.prior import twin_prior
from voidless.workflows.clock import minutes_of
from voidless.workflows.methods import counting, passed_over
from voidless.workflows.opening import OpenCampaign, open_campaign
from voidless.workflows.own_ground import as_command
from voidless.workflows.spool_water import waters_at_print
from voidless.workflows.transfer import transfer_folders, transfer_words, transferred

__all__ = ["built", "data_hash", "fit_campaign", "learned", "rng_of", "state_of", "training_data"]

Floats = NDArray[np.float64]

# The same data give the same model, since the seed is their checksum: pages and documents of one process share it, as
# long as nobody edits a file.
_FITTED: dict[tuple[str, bool], tuple[CampaignModel, TrainingData]] = {}
_REMEMBERED = 4


def built(opened: OpenCampaign) -> list[Build]:
    """
    Return the builds that say something: with a result or a logged failure; settings as realised.

    Where the machine was measured, a realised setting counts as the command that it would have taken; where the spool's
    own uptake was measured, builds carry their water.
    """
    store = opened.store
    measured = {observation.build for observation in store.observations()}
    realised: dict[str, dict[str, float]] = {}
    for item in store.realised():
        command = as_command(opened.machine, item.name, item.value)
        realised.setdefault(item.build, {})[item.name] = command
    waters = waters_at_print(opened)
    return [
        replace(
            build,
            settings={**build.settings, **realised.get(build.label, {})},
            water_pct=waters.get(build.label),
        )
        for build in store.builds()
        if build.label in measured or build.outcome.value != "ok"
    ]


def training_data(opened: OpenCampaign, everything: bool = False) -> TrainingData:
    """
    Return what the model learns from: builds, results that count, the twin as prior, build time as known.

    With `everything`, all measured responses are learned, otherwise those that decide.
    """
    observations = counting(opened)
    names = _responses(opened, observations)
    twin = twin_prior(opened.space, opened.fixed, opened.material, opened.machine, names)
    known = {"build_min": minutes_of(opened), "rate_mm3_s": _rate_of(opened)}
    data = TrainingData(
        space=opened.space,
        builds=built(opened),
        observations=observations,
        known=known,
        responses=None if everything else _deciding(opened),
        setting_sd=opened.machine.setting_sd,
        load=_load_of(opened),
    )
    prior = transferred(opened, data, twin, learned)
    return replace(data, prior=prior if prior.responses else None)


def _load_of(opened: OpenCampaign) -> Callable[[Floats], Floats]:
    """Return a function of points `(n, k)` that gives their share of what the hot end is trusted to melt `(n,)`. [1]"""
    limit = min(opened.machine.max_rate_mm3_s, opened.campaign.limits.rate_mm3_s or np.inf)
    rate = _rate_of(opened)
    return lambda points: rate(points) / limit


def _rate_of(opened: OpenCampaign) -> Callable[[Floats], Floats]:
    """Return a function of points `(n, k)` that gives the commanded volumetric rate `(n,)`. [mm³/s]"""

    def rate(points: Floats) -> Floats:
        return np.asarray(derived(opened.columns(points))["rate_mm3_s"])

    return rate


def _deciding(opened: OpenCampaign) -> tuple[str, ...] | None:
    """Return the responses of specifications and objective; None where no specification is stated."""
    campaign = opened.campaign
    if not campaign.specifications:
        return None
    asked = [*(spec.response for spec in campaign.specifications), campaign.objective.response]
    return tuple(dict.fromkeys(asked))


def _responses(opened: OpenCampaign, observations: Sequence[Observation]) -> tuple[str, ...]:
    asked = {spec.response for spec in opened.campaign.specifications} | {opened.campaign.objective.response}
    return tuple(sorted((asked | {item.key.quantity for item in observations}) - {"build_min", "rate_mm3_s"}))


def data_hash(opened: OpenCampaign, chain: tuple[Path, ...] = ()) -> str:
    """
    Return a checksum of everything that the model depends on: file, builds, results, campaigns it starts from.

    Raises
    ------
    InputError
        Campaigns name each other in a ring.
    """
    parts: list[Any] = [opened.store.campaign_text]
    parts += [repr((item.kind, item.subject, item.numbers)) for item in opened.findings]
    parts += [repr(build) for build in built(opened)]
    parts += [repr(item) for item in opened.store.observations()]
    chain = (*chain, opened.folder.resolve())
    for folder in transfer_folders(opened):
        if folder in chain:
            raise InputError(
                str(folder), "campaigns name each other in [transfer]", "no ring", "Remove one of them."
            )
        with open_campaign(folder) as other:
            parts.append(data_hash(other, chain))
    return hashlib.sha256(json.dumps(parts).encode()).hexdigest()


def state_of(opened: OpenCampaign) -> str:
    """
    Return a checksum of a campaign as its files stand now: what is kept in memory holds for no other state.

    `data_hash` knows the recorded text of the campaign's file, by which answers are seeded; an edit that is not on
    record, of it or of the material's and machine's files, changes answers as well.
    """
    now = opened.store.campaign_file.read_text(encoding="utf-8-sig")
    parts = [data_hash(opened), now, repr(opened.material), repr(opened.machine)]
    for folder in transfer_folders(opened):
        with open_campaign(folder) as other:
            parts.append(state_of(other))
    return hashlib.sha256(json.dumps(parts).encode()).hexdigest()


def rng_of(text: str) -> np.random.Generator:
    """Return a generator seeded by a checksum: the same data give the same answer."""
    return np.random.default_rng(int(text[:16], 16))


def fit_campaign(
    opened: OpenCampaign, progress: Callable[[str], None] = lambda _: None, everything: bool = False
) -> CampaignModel:
    """Return the learning model of the campaign as its records stand; see `training_data`."""
    return learned(opened, progress, everything)[0]


def learned(
    opened: OpenCampaign, progress: Callable[[str], None] = lambda _: None, everything: bool = False
) -> tuple[CampaignModel, TrainingData]:
    """Return the learning model of the campaign as its records stand, and what it was fitted to."""
    key = (state_of(opened), everything)
    if key not in _FITTED:
        progress("fitting the learning model")
        data = training_data(opened, everything)
        while len(_FITTED) >= _REMEMBERED:
            _FITTED.pop(next(iter(_FITTED)))
        model = fit_model(data, rng_of(data_hash(opened)))
        words = (*model.notes, *passed_over(opened), *transfer_words(opened, data.prior))
        _FITTED[key] = replace(model, notes=words), data
    return _FITTED[key]
