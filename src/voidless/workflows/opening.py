"""A campaign's folder, opened: its file, ground facts, space of factors and records."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from functools import cached_property
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from voidless.campaign.file import load_ground, read_campaign
from voidless.campaign.space import Space
from voidless.campaign.types import Campaign, SpecimenOrder
from voidless.errors import InputError
from voidless.machines import Machine
from voidless.materials import Material
from voidless.quantities import QUANTITIES
from voidless.records.store import Store
from voidless.settings import default_settings, feasible
from voidless.specimens.catalogue import specimens_for
from voidless.workflows.own_ground import own_ground
from voidless.workflows.readings import Finding, findings_of

__all__ = ["SCHEMA_VERSION", "OpenCampaign", "code_version", "open_campaign", "utc_now"]

SCHEMA_VERSION = 1
_LEAST_LEVELS = 20
Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]


def utc_now() -> datetime:
    """Return the time now; workflows take it as an argument so that tests can fix it."""
    return datetime.now(UTC)


def code_version() -> str:
    """Return the version that derived numbers record."""
    from voidless import __version__

    return __version__


@dataclass(frozen=True)
class OpenCampaign:
    """
    A campaign with everything that its file names.

    Attributes
    ----------
    folder : Path
    campaign : Campaign
    material, machine : Material, Machine
        As the campaign file and the library state them, with what was measured on its own spools and machine.
    store : Store
    findings : tuple of Finding
        What files told of spools and machine.
    ground_notes : tuple of str
        Where the measured numbers of material and machine came from.
    """

    folder: Path
    campaign: Campaign
    material: Material
    machine: Machine
    store: Store
    findings: tuple[Finding, ...] = ()
    ground_notes: tuple[str, ...] = ()

    @cached_property
    def space(self) -> Space:
        """The box of the factors, in steps that a person can set."""
        return settable_space(self.campaign)

    @cached_property
    def fixed(self) -> dict[str, float]:
        """Settings that no factor varies, from the campaign file or else machine and material."""
        return fixed_settings(self.campaign, self.material, self.machine)

    @cached_property
    def orders(self) -> tuple[SpecimenOrder, ...]:
        """Specimens of each run: as ordered, or else what the specified responses need."""
        if self.campaign.specimens:
            return self.campaign.specimens
        asked = [specification.response for specification in self.campaign.specifications]
        return specimens_for([*asked, self.campaign.objective.response])

    @cached_property
    def usual(self) -> Floats:
        """The usual settings as a point of the space, moved to the nearest feasible one, `(k,)`."""
        return usual_point(self.campaign, self.material, self.machine)

    def columns(self, points: Floats) -> dict[str, Floats]:
        """Return every setting of points `(n, k)` as arrays `(n,)` by name. [shop units]"""
        return full_columns(self.space, self.fixed, points)

    def settings(self, factors: Mapping[str, float]) -> dict[str, float]:
        """Return a complete set of settings: the given factors over the fixed ones."""
        return {**self.fixed, **{name: float(factors[name]) for name in self.space.names}}

    def feasible(self, points: Floats) -> Bools:
        """Return which points `(n, k)` machine, material and the campaign's rate limit allow."""
        limit = self.campaign.limits.rate_mm3_s
        return np.asarray(feasible(self.columns(points), self.material, self.machine, limit))


def settable_space(campaign: Campaign) -> Space:
    """
    Return the box of the factors; a factor without a step of its own moves in steps that a person sets.

    Nobody sets 244.17 °C. A narrow range keeps at least twenty levels.
    """
    factors = []
    for factor in campaign.factors:
        step = factor.step or QUANTITIES[factor.name].resolution
        narrow = factor.step is None and (factor.high - factor.low) / step < _LEAST_LEVELS
        factors.append(replace(factor, step=(factor.high - factor.low) / _LEAST_LEVELS if narrow else step))
    return Space(tuple(factors))


def fixed_settings(campaign: Campaign, material: Material, machine: Machine) -> dict[str, float]:
    """Return the settings that no factor varies, complete."""
    varied = {factor.name for factor in campaign.factors}
    defaults = default_settings(material, machine)
    return {name: value for name, value in {**defaults, **campaign.settings}.items() if name not in varied}


def full_columns(space: Space, fixed: Mapping[str, float], points: Floats) -> dict[str, Floats]:
    """Return fixed and varied settings of points `(n, k)` as arrays `(n,)`. [shop units]"""
    points = np.atleast_2d(np.asarray(points, dtype=float))
    same = {name: np.full(len(points), value) for name, value in fixed.items()}
    return {**same, **space.columns(points)}


def usual_point(campaign: Campaign, material: Material, machine: Machine) -> Floats:
    """
    Return the usual settings inside the factors' bounds, `(k,)`, or the nearest feasible point.

    Raises
    ------
    InputError
        The box holds no feasible point.
    """
    space = settable_space(campaign)
    fixed = fixed_settings(campaign, material, machine)
    defaults = default_settings(material, machine)
    wanted = space.snap(np.array([[defaults[name] for name in space.names]]))

    def allowed(points: Floats) -> Bools:
        columns = full_columns(space, fixed, points)
        return np.asarray(feasible(columns, material, machine, campaign.limits.rate_mm3_s))

    if allowed(wanted)[0]:
        return np.asarray(wanted[0])
    from scipy.stats import qmc  # slow to import, and seldom needed

    sample = qmc.Sobol(len(space.names), seed=0).random_base2(12)
    points = space.snap(space.from_unit(sample))
    points = points[allowed(points)]
    if not len(points):
        raise InputError(
            "campaign.toml [factors]",
            "machine and material allow no point of the factors' box",
            "at least one feasible combination",
            "Widen the bounds, or raise limits.rate_mm3_s.",
        )
    distance = np.linalg.norm(space.to_unit(points) - space.to_unit(wanted), axis=1)
    return np.asarray(points[np.argmin(distance)])


def _commanded(campaign: Campaign, material: Material, machine: Machine) -> dict[str, tuple[float, float]]:
    """Return between which values each setting will be commanded. [unit of the setting]"""
    fixed = {name: (value, value) for name, value in fixed_settings(campaign, material, machine).items()}
    return fixed | {factor.name: (factor.low, factor.high) for factor in campaign.factors}


@contextmanager
def open_campaign(folder: str | Path) -> Iterator[OpenCampaign]:
    """
    Open a campaign's folder for the length of a `with` block.

    Raises
    ------
    InputError
        The folder holds no campaign, or its file is wrong.
    """
    folder = Path(folder)
    store = Store.open(folder)
    try:
        campaign = read_campaign(store.campaign_file)
        material, machine = load_ground(campaign, store.campaign_file)
        findings = findings_of(store)
        own = own_ground(material, machine, findings, _commanded(campaign, material, machine))
        yield OpenCampaign(folder, campaign, own.material, own.machine, store, findings, own.notes)
    finally:
        store.close()
