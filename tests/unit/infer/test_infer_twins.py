"""No proposal is the twin of a build or of another proposal, unless it is a repeat and says so."""

from importlib import util
from pathlib import Path

import numpy as np

from voidless.campaign.types import Objective, Specification
from voidless.infer.model import TrainingData, fit_model
from voidless.infer.propose import propose
from voidless.infer.search import even_points

_SPEC = util.spec_from_file_location("invented_lab_twins", Path(__file__).with_name("invented.py"))
lab = util.module_from_spec(_SPEC)
_SPEC.loader.exec_module(lab)

SPECS = (Specification("clarity", 0.66), Specification("z_ratio", 0.78))
SCATTER = {"flow_pct": 3.0, "nozzle_c": 8.0}


def test_a_batch_holds_no_twins():
    rng = np.random.default_rng(4)
    points = lab.SPACE.from_unit(even_points(24, 3, rng))
    builds, observations = lab.campaign(points, rng)
    data = TrainingData(
        lab.SPACE, builds, observations, known={"build_min": lab.build_min}, setting_sd=SCATTER
    )
    found = propose(
        fit_model(data, rng), SPECS, Objective(), lab.SPACE, lab.everywhere, 8, rng,
        setting_sd=SCATTER, builds=points,
    )  # fmt: skip
    fresh = [item for item in found if item.kind != "repeat"]
    made = np.vstack([points, *(lab.SPACE.point(item.settings)[None, :] for item in fresh)])
    reach = np.array([3.0, 8.0, 0.02 * 80.0])
    for row in range(len(points), len(made)):
        apart = np.abs(made[:row] - made[row]) / reach
        assert apart.max(axis=1).min() > 1.0
    assert len(fresh) >= 6
