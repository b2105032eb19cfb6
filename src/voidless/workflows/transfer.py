"""Start from calibrated campaigns: their constants become the priors of this one."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from voidless.errors import InputError
from voidless.infer.learned import CampaignModel
from voidless.infer.table import TrainingData
from voidless.twin.prior import TwinPrior
from voidless.twin.transfer import Source, StartedPrior
from voidless.workflows.opening import OpenCampaign, open_campaign
from voidless.workflows.taught import belief_words, believed, source_of

__all__ = ["transfer_folders", "transfer_words", "transferred"]

Learned = Callable[[OpenCampaign], tuple[CampaignModel, TrainingData]]
"""Campaign -> its model, and what that was fitted to."""


def transfer_folders(opened: OpenCampaign) -> list[Path]:
    """
    Return the folders that `[transfer] campaigns` names, relative ones beside the campaign's own folder.

    Raises
    ------
    InputError
        A campaign names itself.
    """
    own = opened.folder.resolve()
    found = [(own.parent / Path(name).expanduser()).resolve() for name in opened.campaign.transfer]
    if own in found:
        raise InputError(
            f"{opened.store.campaign_file}: [transfer]",
            "the campaign names itself",
            "another campaign",
            "Remove it.",
        )
    return found


def transferred(
    opened: OpenCampaign, data: TrainingData, prior: TwinPrior, learned: Learned
) -> TwinPrior | StartedPrior:
    """
    Return the twin with constants as the named campaigns have calibrated them; as it was where none is named.

    Each is believed as far as the campaign's own builds, in `data`, speak for it. What those campaigns took over
    themselves from further ones is part of what they know.

    Raises
    ------
    InputError
        A named folder holds no campaign or no result.
    """
    folders = transfer_folders(opened)
    if not folders or not prior.parameters:
        return prior
    return believed(data, prior, {folder.name: _source(opened, folder, learned) for folder in folders})


def transfer_words(opened: OpenCampaign, prior: object) -> list[str]:
    """Return how far each named campaign is believed, in sentences; of which nothing comes over as well."""
    found = (
        {item.name: belief_words(item) for item in prior.beliefs} if isinstance(prior, StartedPrior) else {}
    )
    return [
        found.get(folder.name, f"Nothing comes over from {folder.name}: another material on another machine.")
        for folder in transfer_folders(opened)
    ]


def _source(opened: OpenCampaign, folder: Path, learned: Learned) -> Source:
    with open_campaign(folder) as other:
        if not other.store.observations():
            raise InputError(
                str(folder), "the campaign holds no result", "a calibrated campaign", "voidless read"
            )
        model, data = learned(other)
        same = (
            other.campaign.material == opened.campaign.material,
            other.campaign.machine == opened.campaign.machine,
        )
        return source_of(model, data, *same)
