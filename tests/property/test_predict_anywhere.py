"""`predict` wherever a machine and a material let it be asked: numbers, in order, within what is possible."""

import warnings

import numpy as np
import pytest

from voidless.machines import load_machine
from voidless.materials import load_material
from voidless.quantities import QUANTITIES
from voidless.settings import feasible
from voidless.twin.fast import predict

BENCH = load_machine("bench-0.4")
SIDES = {
    "layer_mm": (0.06, 0.32),
    "width_mm": (0.32, 0.8),
    "flow_pct": (40.0, 160.0),
    "raster_deg": (0.0, 180.0),
    "raster_step_deg": (0.0, 90.0),
    "overlap_pct": (0.0, 60.0),
    "nozzle_c": (170.0, 300.0),
    "bed_c": (0.0, 110.0),
    "fan_pct": (0.0, 100.0),
}
SHARES = ("clarity", "haze_pct", "transmittance_pct", "void_pct", "healing")


def settings_of(polymer, count, seed):
    """Return settings drawn evenly from all that machine and material allow, slow and fast alike."""
    rng = np.random.default_rng(seed)
    drawn = {name: rng.uniform(*ends, 40 * count) for name, ends in SIDES.items()}
    drawn["contours"] = rng.integers(0, 10, 40 * count).astype(float)
    drawn["chamber_c"] = np.zeros(40 * count)
    drawn["speed_mm_s"] = np.exp(rng.uniform(0.0, np.log(200.0), 40 * count))
    kept = np.flatnonzero(feasible(drawn, polymer, BENCH))[:count]
    assert kept.size == count
    return {name: values[kept] for name, values in drawn.items()}


@pytest.mark.parametrize("material", ["petg", "pla", "pc", "pp", "pa6"])
@pytest.mark.parametrize("hours", [0.0, 1000.0])
def test_no_setting_that_is_allowed_goes_without_an_answer(material, hours):
    """
    Starved to flooded, frozen to boiling: 2 to 3 in 100 were refused or not a number before.

    The ratio of strengths has no upper limit where beads hardly touch in the plane.
    """
    polymer = load_material(material)
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        found = predict(
            settings_of(polymer, 150, 5), polymer, BENCH, {"exposure_h": hours, "humidity_pct": 90.0}
        )
    for name, item in found.responses.items():
        for values in (item.mean, item.sd, item.low, item.high):
            assert np.all(np.isfinite(values)), name
        assert np.all((item.low <= item.mean) & (item.mean <= item.high)), name
        assert np.all(item.sd > 0.0), name
        if name in SHARES:
            assert np.all((item.low >= 0.0) & (item.high <= QUANTITIES[name].high)), name
        elif name not in ("yellowness", "size_error_mm"):
            assert np.all(item.low >= 0.0), name
    assert np.all(found.responses["density_g_cm3"].low > 0.0)
    for values in found.shape.values():
        assert np.all(np.isfinite(values))
