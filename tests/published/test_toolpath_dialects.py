"""
One print in six dialects, and arcs against their analytic ring: tests/data/toolpaths-dialects (CC0).

Truths from its SOURCE.txt: path 7422.3 mm, moving filament 226.8 mm, net 292.3 mm; ring of five layers with
path 5 x 62.83185 mm, filament 10.63392 mm, volume 25.5776 mm³. Tolerance: half the last printed digit, with
1e-5 mm for the five rounded feed words of the ring.
"""

from pathlib import Path

import numpy as np
import pytest

from voidless.toolpath.part import part_summary
from voidless.toolpath.reader import read_gcode

DATA = Path(__file__).parents[1] / "data" / "toolpaths-dialects"
SIX = sorted(path.name for path in DATA.glob("v[0-6]_*.gcode"))


@pytest.fixture(scope="module")
def plain():
    return part_summary(read_gcode(DATA / "v0_absolute_E.gcode"))


def test_all_six_are_there():
    """The parametrised test below covers six files."""
    assert len(SIX) == 6


@pytest.mark.parametrize("name", SIX)
def test_dialects_agree(name, plain):
    """Path, filament, volume, layers, box and time are the same in every dialect."""
    found = part_summary(read_gcode(DATA / name))
    assert found["path_mm"] == pytest.approx(7422.3, abs=0.05)
    assert found["moving_filament_mm"] == pytest.approx(226.8, abs=0.05)
    assert found["filament_mm"] == pytest.approx(292.3, abs=0.05)
    assert found["layers"] == plain["layers"] == 14
    np.testing.assert_allclose(found["box_mm"], plain["box_mm"], atol=2.5e-5)  # inches to six decimals
    assert found["volume_mm3"] == pytest.approx(plain["volume_mm3"], rel=1e-4)  # feed words of five decimals
    assert found["time_s"] == pytest.approx(plain["time_s"], rel=1e-4)


def test_arcs_equal_their_ring():
    """Full circles, half circles, short and long way by radius: each layer is one circle."""
    found = part_summary(read_gcode(DATA / "v8_arcs_ring_analytic.gcode"))
    assert found["path_mm"] == pytest.approx(5 * 62.83185, abs=5 * 5e-6)
    assert found["moving_filament_mm"] == pytest.approx(10.63392, abs=5e-6 + 1e-5)
    assert found["volume_mm3"] == pytest.approx(25.5776, abs=1e-4)
    assert found["layers"] == 5
    np.testing.assert_allclose(found["box_mm"], [[40.0, 40.0, 0.2], [60.0, 60.0, 1.0]], atol=1e-6)
