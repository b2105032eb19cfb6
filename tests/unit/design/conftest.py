"""Six invented factors and an invented limit on the melt that a hot end can deliver."""

import numpy as np
import pytest

from voidless.campaign.space import Space
from voidless.campaign.types import Factor

FACTORS = (
    Factor("flow_pct", 90.0, 110.0),
    Factor("nozzle_c", 210.0, 260.0, 5.0),
    Factor("layer_mm", 0.1, 0.3),
    Factor("width_mm", 0.4, 0.7),
    Factor("speed_mm_s", 15.0, 80.0),
    Factor("fan_pct", 0.0, 100.0),
)
USUAL = np.array([100.0, 240.0, 0.2, 0.45, 40.0, 30.0])


def anything(points):
    return np.ones(len(points), dtype=bool)


def melt_limit(points):
    rate = points[:, 0] / 100 * points[:, 2] * points[:, 3] * points[:, 4]
    return rate <= 3.0 + (points[:, 1] - 210.0) / 50.0 * 6.0


@pytest.fixture
def six():
    return Space(FACTORS), melt_limit, USUAL


@pytest.fixture
def free():
    """First `count` factors without limits; no steps, so that every level can be met."""

    def make(count, hard=()):
        factors = [
            Factor(item.name, item.low, item.high, None, item.name in hard) for item in FACTORS[:count]
        ]
        return Space(tuple(factors)), anything, USUAL[:count]

    return make
