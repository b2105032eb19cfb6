"""Start a campaign in a new folder."""

from __future__ import annotations

import secrets
import shutil
from contextlib import closing
from datetime import datetime
from pathlib import Path
from typing import Any

from voidless.campaign.file import load_ground, read_campaign
from voidless.errors import InputError
from voidless.records.store import Store
from voidless.specimens.catalogue import specimen
from voidless.workflows.blinding import keep_secret
from voidless.workflows.opening import SCHEMA_VERSION, fixed_settings, usual_point, utc_now

__all__ = ["new_campaign"]


def new_campaign(
    folder: str | Path, source: str | Path, now: datetime | None = None, secret: str | None = None
) -> dict[str, Any]:
    """
    Return what was set up: name, material, machine, fixed settings, notes.

    Parameters
    ----------
    folder : path
        Folder to make; it may exist but must be empty.
    source : path
        Campaign file (TOML).
    now : datetime or None
        The clock; None reads it.
    secret : str or None
        Hexadecimal digits that blind codes of specimens are drawn from; None draws them.

    Raises
    ------
    InputError
        The file is wrong or the folder is taken; nothing is made.
    """
    folder, source = Path(folder), Path(source)
    if folder.exists() and not folder.is_dir():
        raise InputError(str(folder), "a file has this name", "a new folder", "Choose another name.")
    campaign = read_campaign(source)
    material, machine = load_ground(campaign, source)
    for order in campaign.specimens:
        specimen(order.kind)
    usual = usual_point(campaign, material, machine)
    text = source.read_text(encoding="utf-8-sig")
    beside = [
        source.parent / name for name in (campaign.material, campaign.machine) if name.endswith(".toml")
    ]
    moment = now or utc_now()
    with closing(Store.create(folder, campaign.name, text, moment)) as store, store.writing(moment) as writer:
        keep_secret(writer, secret or secrets.token_hex(32))
    for file in beside:
        shutil.copyfile(file, folder / file.name)
    factors = {factor.name: float(value) for factor, value in zip(campaign.factors, usual, strict=True)}
    return {
        "schema_version": SCHEMA_VERSION,
        "name": campaign.name,
        "folder": str(folder),
        "material": campaign.material,
        "machine": campaign.machine,
        "fixed": fixed_settings(campaign, material, machine),
        "usual": factors,
        "notes": _notes(campaign.specifications),
    }


def _notes(specifications: tuple[object, ...]) -> list[str]:
    if specifications:
        return []
    return ["No specification is stated: a window cannot be claimed until campaign.toml names one."]
