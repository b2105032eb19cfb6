"""
Precision of measurement, outliers and rounding against printed and computed values.

Sources: ASTM E691 glucose data (tests/data/interlaboratory; materials A, D, E agree with the printed s_r and s_R to
the 4 decimals remembered); critical h and k at 0.5 % for 8 laboratories, 3 replicates: 2.15 and 2.06 printed;
NIST/SEMATECH e-Handbook
1.3.5.17.1 (uranium data from memory: G 2.4687); MNR limits of CMH-17-1G for n = 7 and 8: 2.020 and 2.127.
"""

import csv
from pathlib import Path

import pytest

from voidless.errors import InputError
from voidless.measure.quality.outlier import grubbs, grubbs_limit
from voidless.measure.quality.repeat import precision_of

DATA = Path(__file__).parents[1] / "data" / "interlaboratory" / "ils_glucose_E691.csv"


def _material(name):
    with DATA.open(encoding="utf-8") as file:
        rows = list(csv.DictReader(line for line in file if not line.startswith("#")))
    found = {}
    for row in rows:
        if row["Material"] == name:
            found.setdefault(row["Laboratory"], []).append(float(row["Glucose"]))
    return found


@pytest.mark.parametrize(
    ("name", "mean", "s_r", "s_big"),
    [
        ("A", 41.518333, 1.063224, 1.063224),
        ("B", 79.607917, 1.496071, 1.496071),
        ("C", 135.138750, 2.750879, 3.478919),
        ("D", 194.717083, 2.625065, 3.365713),
        ("E", 294.492083, 3.934974, 4.192334),
    ],
)
def test_glucose(name, mean, s_r, s_big):
    found = precision_of(_material(name))
    assert (found.mean, found.s_r, found.s_R) == pytest.approx((mean, s_r, s_big), abs=5e-7)
    assert (found.r, found.R) == pytest.approx((2.8 * s_r, 2.8 * s_big), abs=2e-6)
    assert (found.h_limit, found.k_limit) == pytest.approx((2.15249, 2.06084), abs=5e-6)


def test_laboratory_four_is_flagged_and_kept():
    """Material C: k 2.41 above 2.06; h 2.14 just within 2.15."""
    found = precision_of(_material("C"))
    assert found.k["Lab4"] == pytest.approx(2.41, abs=0.005)
    assert found.h["Lab4"] == pytest.approx(2.14, abs=0.005)
    assert [flag.split(":")[0] for flag in found.flags] == ["Lab4"]
    assert len(found.h) == 8


@pytest.mark.parametrize(
    "groups", [{"a": [1.0, 2.0]}, {"a": [1.0], "b": [2.0]}, {"a": [1.0, 2.0], "b": [1.0]}]
)
def test_a_study_that_shows_nothing_is_refused(groups):
    with pytest.raises(InputError, match="two or more groups"):
        precision_of(groups)


def test_grubbs_of_the_handbook():
    """G 2.468764611 above 2.031652 one-sided at 5 %."""
    values = [199.31, 199.53, 200.19, 200.82, 201.92, 201.95, 202.18, 245.57]
    found = grubbs(values, two_sided=False)
    assert found.statistic == pytest.approx(2.468764611, abs=5e-10)
    assert found.limit == pytest.approx(2.031652, abs=5e-7)
    assert found.stands_apart
    assert values[found.place] == 245.57
    assert not grubbs(values[:-1]).stands_apart


ONE_SIDED = {5: 1.6714, 6: 1.8221, 7: 1.9381, 8: 2.0317, 9: 2.1096, 10: 2.1761}
TWO_SIDED = {5: 1.7150, 6: 1.8871, 7: 2.0200, 8: 2.1266, 9: 2.2150, 10: 2.2900}


@pytest.mark.parametrize("count", ONE_SIDED)
def test_grubbs_limits(count):
    assert grubbs_limit(count, two_sided=False) == pytest.approx(ONE_SIDED[count], abs=5e-5)
    assert grubbs_limit(count) == pytest.approx(TWO_SIDED[count], abs=5e-5)


def test_grubbs_limits_of_cmh_17():
    assert grubbs_limit(7) == pytest.approx(2.020, abs=5e-4)
    assert grubbs_limit(8) == pytest.approx(2.127, abs=5e-4)
