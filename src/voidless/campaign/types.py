"""Frozen values that every stage of a campaign shares."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import Enum

from voidless.specimens.order import SpecimenOrder

__all__ = [
    "Bound",
    "BreakMode",
    "BreakPlace",
    "Build",
    "BuildOutcome",
    "Campaign",
    "Exposure",
    "Factor",
    "Limits",
    "Objective",
    "Observation",
    "Probability",
    "ResponseKey",
    "Run",
    "Sense",
    "Specification",
    "SpecimenOrder",
]


class Probability(Enum):
    """What a probability of passing speaks of."""

    MEAN = "mean"
    NEXT_BUILD = "next_build"
    NEXT_PART = "next_part"


class Sense(Enum):
    """Direction of the objective."""

    MINIMISE = "minimise"
    MAXIMISE = "maximise"


class Bound(Enum):
    """Whether a value is exact or only a limit of the true one."""

    EXACT = "exact"
    LOWER = "lower"
    UPPER = "upper"


class BuildOutcome(Enum):
    """How a build ended."""

    OK = "ok"
    COLD = "cold"
    CLOGGED = "clogged"
    FELL_OFF = "fell_off"
    OTHER = "other"


class BreakPlace(Enum):
    """Where a bar broke."""

    GAUGE = "gauge"
    RADIUS = "radius"
    GRIP = "grip"


class BreakMode(Enum):
    """What a break ran through."""

    BETWEEN_LAYERS = "between_layers"
    THROUGH_LAYERS = "through_layers"
    MIXED = "mixed"


@dataclass(frozen=True)
class Factor:
    """
    A setting that the campaign varies.

    Attributes
    ----------
    name : str
        A setting of `quantities`.
    low, high : float
        Bounds, both included. [unit of the setting]
    step : float or None
        Smallest change that makes sense, counted from `low`. [unit of the setting]
    hard_to_change : bool
        Whether a change costs time beyond the build itself.
    """

    name: str
    low: float
    high: float
    step: float | None = None
    hard_to_change: bool = False


@dataclass(frozen=True)
class ResponseKey:
    """
    What a response is: quantity, method, feature and conditions, not a bare name.

    Attributes
    ----------
    quantity : str
        A response of `quantities`.
    method : str
        How it was measured; empty when not said.
    feature : str
        For size errors, which feature.
    conditions : tuple of (str, str)
        Sorted pairs such as (`thickness_mm`, `3`).
    """

    quantity: str
    method: str = ""
    feature: str = ""
    conditions: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True)
class Specification:
    """A limit on a response; `minimum` and `maximum` are both included. [unit of the response]"""

    response: str
    minimum: float | None = None
    maximum: float | None = None

    @property
    def bounds(self) -> tuple[float, float]:
        """Lowest and highest value allowed, infinite where no limit is stated. [unit of the response]"""
        return (
            float("-inf") if self.minimum is None else self.minimum,
            float("inf") if self.maximum is None else self.maximum,
        )


@dataclass(frozen=True)
class Objective:
    """What to minimise or maximise."""

    response: str = "build_min"
    sense: Sense = Sense.MINIMISE


@dataclass(frozen=True)
class Limits:
    """
    What a campaign may spend; None is no limit.

    A running printer is not left alone, so print hours are attended hours: the lesser limit of the two holds.
    """

    builds: int | None = None
    hours: float | None = None
    attended_hours: float | None = None
    grams: float | None = None
    rate_mm3_s: float | None = None


@dataclass(frozen=True)
class Campaign:
    """
    One material on one machine for one target.

    Attributes
    ----------
    settings : mapping
        Settings that stay fixed, by name; what is not named comes from machine and material.
    conditions : mapping of str to mapping
        Measuring conditions per response, as the file states them.
    specimens : tuple of SpecimenOrder
        Empty: chosen from the responses that specifications name.
    nuisance : tuple of str
        Quantities that vary but are not chosen; predictions refer to dry filament in mid-campaign.
    transfer : tuple of str
        Folders of calibrated campaigns to start from, as the file names them: absolute, or beside this one's.
    """

    name: str
    material: str
    machine: str
    factors: tuple[Factor, ...]
    specifications: tuple[Specification, ...]
    objective: Objective = Objective()
    limits: Limits = Limits()
    probability: Probability = Probability.NEXT_BUILD
    settings: Mapping[str, float] = field(default_factory=dict)
    conditions: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
    specimens: tuple[SpecimenOrder, ...] = ()
    nuisance: tuple[str, ...] = ("exposure_h", "humidity_pct", "order")
    transfer: tuple[str, ...] = ()

    def factor(self, name: str) -> Factor:
        """Return a factor by name; KeyError if there is none."""
        return {item.name: item for item in self.factors}[name]


@dataclass(frozen=True)
class Run:
    """One row of the plan: a combination of levels, by its label `R01`."""

    label: str
    settings: Mapping[str, float]
    reason: str = ""


@dataclass(frozen=True)
class Exposure:
    """An interval in which a spool stood somewhere since it was dried."""

    spool: str
    start: str
    end: str
    place: str
    temperature_c: float | None = None
    humidity_pct: float | None = None


@dataclass(frozen=True)
class Build:
    """
    One build cycle as it is known to the models.

    Attributes
    ----------
    label, run : str
        `B07` and the run whose settings it printed, `R05`. A bed that carries several runs appears
        once per run.
    order : int
        Position in time within the campaign, from 1.
    session : int
        Ordinal of the session (block).
    position : int
        Position on the bed, from 1.
    settings : mapping
        Settings as resolved (realised where known), every factor included.
    exposure_h, humidity_pct : float or None
        Nuisance at print time. [h], [%]
    water_pct : float or None
        Water of the filament at print time, where the spool's own uptake was measured; it stands in place of both. [%]
    """

    label: str
    run: str
    order: int
    session: int
    settings: Mapping[str, float]
    position: int = 1
    exposure_h: float | None = None
    humidity_pct: float | None = None
    spool: str = ""
    outcome: BuildOutcome = BuildOutcome.OK
    water_pct: float | None = field(default=None, repr=False)


@dataclass(frozen=True)
class Observation:
    """
    One measured value.

    Attributes
    ----------
    run, build, specimen : str
        Labels; an empty specimen is a fact of the build, empty run and build are "not recorded".
    key : ResponseKey
        What was measured.
    value : float
        [unit of the quantity]
    uncertainty : float or None
        Standard uncertainty. [unit of the quantity]
    bound : Bound
        Lower for a bar that broke at the radius: the true strength is at least this.
    """

    run: str
    build: str
    specimen: str
    key: ResponseKey
    value: float
    uncertainty: float | None = None
    bound: Bound = Bound.EXACT
    break_place: BreakPlace | None = None
    break_mode: BreakMode | None = None
    order: int | None = None
    session: str = ""
    assumed: bool = False
    extra: Mapping[str, str] = field(default_factory=dict)
    """Conditioning, age, test speed, operator, bed side, polish, coating, annealing: as stated."""
