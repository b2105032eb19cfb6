"""An invented laboratory for the tests: smooth, three factors, known truth. Nothing in it was measured."""

import numpy as np

from voidless.campaign.space import Space
from voidless.campaign.types import Build, Factor, Observation, ResponseKey

SPACE = Space(
    (Factor("flow_pct", 90.0, 110.0), Factor("nozzle_c", 210.0, 260.0), Factor("speed_mm_s", 20.0, 100.0))
)
BETWEEN = {"clarity": 0.01, "strength_z_mpa": 0.6, "strength_xy_mpa": 0.5}
WITHIN = {"clarity": 0.0, "strength_z_mpa": 0.9, "strength_xy_mpa": 0.4}


def build_min(points):
    return 10.0 + 900.0 / points[:, 2]


def everywhere(points):
    return np.ones(len(points), dtype=bool)


def truth(points):
    u = SPACE.to_unit(points)
    return {
        "clarity": 0.8 - 0.9 * (u[:, 0] - 0.6) ** 2 - 0.5 * (u[:, 1] - 0.7) ** 2 - 0.1 * u[:, 2],
        "strength_z_mpa": 40.0 / (1.0 + np.exp(-5.0 * (u[:, 1] - 0.3 - 0.3 * u[:, 2]))),
        "strength_xy_mpa": 45.0 + 5.0 * u[:, 0] - 3.0 * u[:, 2],
    }


def campaign(points, rng, specimens=3, exposure=None, drift=0.0, sessions=None, scatter=1.0):
    """Return builds and observations of an invented campaign at points in shop units."""
    builds, observations = [], []
    means = truth(points)
    for i, point in enumerate(points):
        label = f"{i + 1:02d}"
        hours = None if exposure is None else float(exposure[i])
        session = 1 if sessions is None else int(sessions[i])
        builds.append(
            Build(f"B{label}", f"R{label}", i + 1, session, SPACE.settings(point), exposure_h=hours)
        )
        for name, mean in means.items():
            here = mean[i] + scatter * BETWEEN[name] * rng.standard_normal() + drift * (hours or 0.0)
            for number in range(1 if name == "clarity" else specimens):
                value = float(here + scatter * WITHIN[name] * rng.standard_normal())
                observations.append(
                    Observation(f"R{label}", f"B{label}", f"S{number}", ResponseKey(name), value)
                )
    return builds, observations
