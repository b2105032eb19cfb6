"""The campaign file: read, checked against machine and material, all faults of it named with their lines."""

from __future__ import annotations

from pathlib import Path

from voidless.campaign import tables
from voidless.campaign.faults import Faults
from voidless.campaign.limits import check_box
from voidless.campaign.types import Campaign
from voidless.errors import InputError
from voidless.machines.library import load_machine, machine_names
from voidless.machines.types import Machine
from voidless.materials.library import load_material, material_names
from voidless.materials.types import Material
from voidless.quantities import suggest
from voidless.tomlfile import Document, parse_document, read_document

__all__ = ["CAMPAIGN_FILE", "load_ground", "parse_campaign", "read_campaign"]

CAMPAIGN_FILE = "campaign.toml"
"""Name of the campaign file in the folder of a campaign."""


def read_campaign(path: Path) -> Campaign:
    """
    Return the campaign that a file describes.

    Parameters
    ----------
    path : Path
        The TOML file; files that it names for its own material or machine stand beside it.

    Raises
    ------
    InputError
        The file cannot be read or something in it is wrong. `where` is `file:line` of the first fault;
        `what` lists the others too.
    """
    return _campaign(read_document(path), path.parent)


def parse_campaign(text: str, where: str = CAMPAIGN_FILE, folder: Path | None = None) -> Campaign:
    """
    Return the campaign that a text describes.

    Parameters
    ----------
    text : str
        TOML.
    where : str
        Name of the file, as errors print it.
    folder : Path or None
        Where files that the text names stand.

    Raises
    ------
    InputError
        As `read_campaign`.
    """
    return _campaign(parse_document(text, where), folder)


def load_ground(campaign: Campaign, path: Path | None) -> tuple[Material, Machine]:
    """
    Return the material and the machine of a campaign.

    Parameters
    ----------
    campaign : Campaign
        Names them.
    path : Path or None
        The campaign file, which may describe its own material and machine, or name files beside it; None
        for library names.

    Raises
    ------
    InputError
        A name is not known, or what the file says of it is wrong.
    """
    document = Document(campaign.name, {}) if path is None else read_document(path)
    folder = None if path is None else path.parent
    return _material(campaign.material, document, folder), _machine(campaign.machine, document, folder)


def _campaign(document: Document, folder: Path | None) -> Campaign:
    faults = Faults()
    tables.known_tables(document, faults)
    varied = tables.factors(document, faults)
    campaign = Campaign(
        **tables.head(document, faults),
        factors=varied,
        specifications=tables.specifications(document, faults),
        objective=tables.objective(document, faults),
        limits=tables.limits(document, faults),
        settings=tables.fixed_settings(document, varied, faults),
        conditions=tables.conditions(document, faults),
        specimens=tables.specimens(document, faults),
        nuisance=tables.nuisance(document, Campaign.nuisance, faults),
        transfer=tables.transfer(document, faults),
    )
    material = machine = None
    if campaign.material:
        with faults.kept():
            material = _material(campaign.material, document, folder)
    if campaign.machine:
        with faults.kept():
            machine = _machine(campaign.machine, document, folder)
    if material and machine and varied:
        check_box(campaign, material, machine, document, faults)
    faults.raise_all()
    return campaign


def _material(name: str, document: Document, folder: Path | None) -> Material:
    own = _own(name, "material", material_names(), document, folder)
    return load_material(Path(name).stem if name.endswith(".toml") else name, own)


def _machine(name: str, document: Document, folder: Path | None) -> Machine:
    own = _own(name, "machine", machine_names(), document, folder)
    return load_machine(Path(name).stem if name.endswith(".toml") else name, own)


def _own(
    name: str, kind: str, library: tuple[str, ...], document: Document, folder: Path | None
) -> Document | None:
    """Return what the campaign's own files say of its material or machine; None where they say nothing."""
    described = document.section(f"{kind}s")
    for other in described.data:
        if other != name:
            raise InputError(
                described.place(other),
                f"[{kind}s.{other}] describes a {kind} that the campaign does not use",
                f'{kind} = "{other}" in [campaign], or [{kind}s.{name}]',
                "Rename or remove it.",
            )
    if name in described.data:
        return described.section(name)
    if name.endswith(".toml"):
        return _beside(name, kind, document, folder)
    if name not in library:
        raise InputError(
            document.place("campaign", kind),
            f"{kind} {name!r} is not in the library",
            "one of " + ", ".join(library),
            suggest(name, library) or f'Describe it in [{kind}s.{name}] with base = "...".',
        )
    return None


def _beside(name: str, kind: str, document: Document, folder: Path | None) -> Document:
    place = document.place("campaign", kind)
    if folder is None or Path(name).name != name or "\\" in name:
        raise InputError(
            place,
            f"{kind} = {name!r} cannot be found",
            "a file beside the campaign file, by its plain name",
            "Put it there.",
        )
    found = read_document(folder / name)
    stem = Path(name).stem
    return found.section(f"{kind}s", stem) if f"{kind}s" in found.data else found
