"""What a heat history is told: polymer, surroundings, method."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from voidless.errors import InputError
from voidless.physics.guards import require_not_negative, require_positive

__all__ = ["METHODS", "Method", "Polymer", "Surroundings"]

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Polymer:
    """
    A polymer as the heat history sees it.

    Attributes
    ----------
    conductivity : float
        [W/(m K)]
    heat_per_volume : float
        Density times specific heat capacity. [J/(m³ K)]
    stop : float
        Temperature below which nothing heals. [K]
    log_rate : function
        Natural logarithm of one over the weld time, of temperatures at and above `stop`.
    """

    conductivity: float
    heat_per_volume: float
    stop: float
    log_rate: Callable[[Floats], Floats]

    def __post_init__(self) -> None:
        require_positive(
            "Polymer",
            conductivity=self.conductivity,
            heat_per_volume=self.heat_per_volume,
            stop=self.stop,
        )

    @property
    def diffusivity(self) -> float:
        """Thermal diffusivity. [m²/s]"""
        return self.conductivity / self.heat_per_volume


@dataclass(frozen=True)
class Surroundings:
    """
    What the part loses heat to.

    Attributes
    ----------
    air : float
        Temperature of the air. [K]
    bed : float
        Temperature of the bed's surface. [K]
    bed_coefficient : float
        Heat-transfer coefficient between bed and part, 0 for an insulating bed. [W/(m² K)]
    """

    air: float
    bed: float
    bed_coefficient: float = 1e4

    def __post_init__(self) -> None:
        require_positive("Surroundings", air=self.air, bed=self.bed)
        require_not_negative("Surroundings", bed_coefficient=self.bed_coefficient)


@dataclass(frozen=True)
class Method:
    """
    How finely time and space are cut.

    Attributes
    ----------
    cells_per_bead, rows_per_layer : int
        Cells across a bead, rows in a layer.
    along : float
        Longest cell along the beads where all of them lie one way, over their pitch. [1]
    tick : float
        Shortest step. [s]
    grade : float
        Step over the time since a bead last came near. [1]
    sideways : float
        Longest step over the one at which the explicit exchange sideways would overshoot. [1]
    sleep_after : float
        Quiet time after which columns are stepped as one block. [s]
    block_step, body_step, calm : float
        Steps of sleeping blocks and of the body below, and how often blocks are looked at. [s]
    depth : float
        Least depth below the top that is not yet part of the coarse body. [m]
    depth_layers : int
        Least number of layers that are not yet part of the coarse body.
    fine_depth, fine_layers : float, int
        Least depth and number of layers that keep their own rows; below, two layers share one. [m]
    after : float
        Time after the last bead that still counts. [s]
    fresh_contact : bool
        Whether faces between beads count as fresh contacts of half-spaces at first.
    """

    cells_per_bead: int = 1
    rows_per_layer: int = 3
    along: float = 2.1
    tick: float = 0.025
    grade: float = 1.3
    sideways: float = 0.95
    sleep_after: float = 4.0
    block_step: float = 2.55
    body_step: float = 2.55
    calm: float = 0.15
    depth: float = 1.8e-3
    depth_layers: int = 8
    fine_depth: float = 0.4e-3
    fine_layers: int = 4
    after: float = 60.0
    fresh_contact: bool = True

    def __post_init__(self) -> None:
        require_positive(
            "Method",
            cells_per_bead=self.cells_per_bead,
            rows_per_layer=self.rows_per_layer,
            along=self.along,
            tick=self.tick,
            grade=self.grade,
            block_step=self.block_step,
            body_step=self.body_step,
            calm=self.calm,
            depth=self.depth,
            depth_layers=self.depth_layers,
            fine_depth=self.fine_depth,
            fine_layers=self.fine_layers,
        )
        require_not_negative("Method", sleep_after=self.sleep_after, after=self.after)


METHODS = {
    "standard": Method(),
    "verify": Method(
        cells_per_bead=4,
        rows_per_layer=4,
        along=4.0,
        tick=0.01,
        grade=0.2,
        sideways=0.7,
        sleep_after=20.0,
        fine_layers=8,
    ),
}
"""Methods by the name that a caller gives."""


def method_named(name: str) -> Method:
    """Return a method by name; InputError where there is none."""
    found = METHODS.get(name)
    if found is None:
        raise InputError("heat history", f"mode {name!r}", "one of " + ", ".join(METHODS), "Name one.")
    return found
