"""What a campaign has seen: builds and observations, and the same as a plain table."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from benchmarks.labs.bench import SPACE, Lab, build_minutes
from numpy.typing import NDArray

from voidless.campaign.types import Bound, Build, Observation

Floats = NDArray[np.float64]

JUDGED = ("clarity", "z_ratio", "size_error_mm")


@dataclass
class History:
    """Builds of one campaign in order."""

    lab: Lab
    builds: list[Build] = field(default_factory=list)
    observations: list[Observation] = field(default_factory=list)

    def make(self, point: Floats) -> None:
        """Build one setting."""
        build, seen = self.lab.build(point, len(self.builds) + 1)
        self.builds.append(build)
        self.observations += seen

    @property
    def points(self) -> Floats:
        """Settings as commanded, `(n, k)`. [shop units]"""
        return SPACE.points([build.settings for build in self.builds])

    @property
    def hours(self) -> float:
        """Print hours so far. [h]"""
        return float(np.sum(build_minutes(self.points))) / 60.0

    @property
    def table(self) -> Floats:
        """Means of `JUDGED` per build, `(n, 3)`; bars that broke early left out, a cold build is NaN."""
        seen: dict[tuple[str, str], list[float]] = {}
        for item in self.observations:
            if item.bound is Bound.EXACT:
                seen.setdefault((item.build, item.key.quantity), []).append(item.value)
        rows = []
        for build in self.builds:
            mean = {
                name: float(np.mean(seen.get((build.label, name), [np.nan])))
                for name in ("clarity", "strength_z_mpa", "strength_xy_mpa", "size_error_mm")
            }
            rows.append(
                [mean["clarity"], mean["strength_z_mpa"] / mean["strength_xy_mpa"], mean["size_error_mm"]]
            )
        return np.array(rows, dtype=float)

    @property
    def limits(self) -> Floats:
        """Lower and upper limit of each of `JUDGED`, `(3, 2)`, infinite where there is none."""
        by_name = {spec.response: spec for spec in self.lab.specifications}
        return np.array(
            [
                [
                    -np.inf if by_name[name].minimum is None else by_name[name].minimum,
                    np.inf if by_name[name].maximum is None else by_name[name].maximum,
                ]
                for name in JUDGED
            ],
            dtype=float,
        )
