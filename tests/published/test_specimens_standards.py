"""
Dimensions of ISO 527-2 and ASTM D638 tensile bars against the tables in tests/data/specimens-dimensions.

The tables' heads say what was seen and what is from memory; numbers are compared exactly. A table's entry
such as `80+-2` or `>=75` is compared by its number.
"""

import csv
import re
from pathlib import Path

import numpy as np
import pytest

from voidless.specimens.outline import tensile_outline
from voidless.specimens.standards import TENSILE_BARS

DATA = Path(__file__).parents[1] / "data" / "specimens-dimensions"


def _rows(name):
    lines = [
        line for line in (DATA / name).read_text(encoding="utf-8").splitlines() if not line.startswith("#")
    ]
    return {row["type"]: row for row in csv.DictReader(lines)}


def _number(text):
    return float(re.search(r"\d+(\.\d+)?", text).group())


@pytest.mark.parametrize("kind", ["1A", "1B", "1BA", "1BB", "5A", "5B"])
def test_iso_527_2(kind):
    """Lengths, widths, thickness and gauge are those of the table."""
    row, bar = _rows("iso527_2_specimens.csv")[kind], TENSILE_BARS[f"iso527_{kind.lower()}"]
    columns = {
        "l3_overall": bar.length,
        "l1_parallel": bar.parallel,
        "b1_narrow_width": bar.narrow,
        "b2_end_width": bar.wide,
        "h": bar.thickness,
        "L0_gauge": bar.gauge,
    }
    assert {name: _number(row[name]) for name in columns} == columns


@pytest.mark.parametrize("kind", ["1A", "1B", "5A", "5B"])
def test_iso_527_2_radii_and_grips(kind):
    """Fillet, outer fillet (after the stroke) and distance of the grips are those of the table."""
    row, bar = _rows("iso527_2_specimens.csv")[kind], TENSILE_BARS[f"iso527_{kind.lower()}"]
    inner, _, outer = row["radius"].partition("/")
    assert _number(inner) == bar.radius
    assert (_number(outer) if outer else 0.0) == bar.outer_radius
    assert _number(row["L_grips"]) == bar.grips


@pytest.mark.parametrize(("kind", "apart"), [("1BA", 58.0), ("1BB", 23.0)])
def test_iso_527_2_ends(kind, apart):
    """The parallel parts of the ends stand l2 apart (58 and 23 mm, from the table's last column)."""
    bar = TENSILE_BARS[f"iso527_{kind.lower()}"]
    outline = tensile_outline(bar)
    wide = outline[np.isclose(outline[:, 1], bar.wide / 2.0) & (outline[:, 0] > 0.0)]
    assert 2.0 * wide[:, 0].min() == pytest.approx(apart, abs=0.005)  # radius is stated to 0.005 mm
    assert bar.grips == apart + _number(_rows("iso527_2_specimens.csv")[kind]["L_grips"].rpartition("+")[2])
    assert bar.radius >= _number(_rows("iso527_2_specimens.csv")[kind]["radius"])


@pytest.mark.parametrize("kind", ["I", "II", "III", "IV", "V"])
def test_astm_d638(kind):
    """Every dimension is that of the table."""
    row, bar = _rows("astm_d638_specimens.csv")[kind], TENSILE_BARS[f"d638_{kind.lower()}"]
    columns = {
        "W_narrow_width": bar.narrow,
        "L_narrow_length": bar.parallel,
        "WO_overall_width_min": bar.wide,
        "LO_overall_length_min": bar.length,
        "G_gage": bar.gauge,
        "D_grip_distance": bar.grips,
        "R_fillet": bar.radius,
    }
    assert {name: float(row[name]) for name in columns} == columns
    assert float(row["RO_outer_radius"] or 0.0) == bar.outer_radius


@pytest.mark.parametrize("name", list(TENSILE_BARS))
def test_outline_has_the_dimensions(name):
    """Length, end width and narrow width of the outline are the bar's, and it has two axes of symmetry."""
    bar, outline = TENSILE_BARS[name], tensile_outline(TENSILE_BARS[name])
    assert np.ptp(outline[:, 0]) == pytest.approx(bar.length)
    assert np.ptp(outline[:, 1]) == pytest.approx(bar.wide)
    middle = outline[np.abs(outline[:, 0]) <= bar.parallel / 2.0 + 1e-9]
    np.testing.assert_allclose(np.abs(middle[:, 1]), bar.narrow / 2.0)
    for mirror in ([1.0, -1.0], [-1.0, 1.0]):
        seen = {tuple(np.round(point, 9) + 0.0) for point in outline * mirror}
        assert seen == {tuple(np.round(point, 9) + 0.0) for point in outline}
