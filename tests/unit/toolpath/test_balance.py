"""Beads corrected by what they fill: less is lacking, limits of width hold, the way stays."""

from dataclasses import replace

import numpy as np
import pytest
from shapely import Point, box

from voidless.toolpath.fill.plan import plan_region
from voidless.toolpath.fill.types import Fill
from voidless.toolpath.judge import judge_beads

FILL = Fill(0.4070796, 0.45, 2, 20.0, 0.4)


def _judged(pattern, region):
    starts, bead = np.vstack([pattern.points[:1], pattern.points[:-1]]), pattern.area_mm2 > 0.0
    return judge_beads(starts[bead], pattern.points[bead], pattern.area_mm2[bead], region, 0.4, 0.45)


@pytest.mark.parametrize(
    ("region", "angle"), [(box(-6.0, -5.0, 6.0, 5.0), 45.0), (Point(0.0, 0.0).buffer(3.0, 64), 0.0)]
)
def test_corrected_beads_fill_more_evenly(region, angle):
    """Less of the area is off by over 1 %, and no bead is narrower than 0.8 or wider than 2 nozzle diameters."""
    rough = _judged(plan_region(region, replace(FILL, even=False), angle), region)
    even = _judged(plan_region(region, FILL, angle), region)
    assert 1.0 - even.good_share < 0.6 * (1.0 - rough.good_share)
    assert even.gap_share < rough.gap_share
    assert even.width_low_mm >= 0.8 * 0.4 * (1.0 - 1e-6)
    assert even.width_high_mm <= 2.0 * 0.4 * (1.0 + 1e-6)
    assert abs(even.volume_error) < 1e-9
