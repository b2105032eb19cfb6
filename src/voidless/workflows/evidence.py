"""Whether the raw files on which a campaign rests are still what was read."""

from __future__ import annotations

from typing import Any

from voidless.workflows.opening import OpenCampaign

__all__ = ["evidence_of"]

_LOST = ("missing", "damaged", "database")


def evidence_of(opened: OpenCampaign) -> dict[str, Any]:
    """
    Return how many raw files were read again (`checked`), and in words what of the evidence is lost (`lost`).

    Parameters
    ----------
    opened : OpenCampaign
        The campaign.

    Notes
    -----
    Every byte of every raw file is hashed. Harmless rests of interrupted writes are not told.
    """
    lost = [
        f"Evidence is lost: {item.what} ({item.where}). {item.remedy}"
        for item in opened.store.verify()
        if item.kind in _LOST
    ]
    return {"checked": len(opened.store.files()), "lost": lost}
