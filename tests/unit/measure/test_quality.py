"""Gauge share, rounding, and what checks of an instrument mean for results."""

from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from voidless.errors import InputError
from voidless.measure.quality.gauge import gauge_share
from voidless.measure.quality.outlier import grubbs
from voidless.measure.quality.register import InstrumentCheck, Standing, rederived, verdict_on
from voidless.measure.quality.rounding import rounded

NOON = datetime(2031, 5, 1, 12, tzinfo=UTC)


def test_a_gauge_study_gives_back_its_variances():
    """Simulated variances: part 4, operator 1, interaction 0.25, repeat 0.25; within 15 % for a study this large."""
    rng = np.random.default_rng(4)
    shape = (300, 40, 3)
    table = (
        rng.normal(0, 2.0, (300, 1, 1))
        + rng.normal(0, 1.0, (1, 40, 1))
        + rng.normal(0, 0.5, (300, 40, 1))
        + rng.normal(0, 0.5, shape)
    )
    found = gauge_share(table.tolist())
    assert found.repeat == pytest.approx(0.25, rel=0.05)
    assert found.interaction == pytest.approx(0.25, rel=0.1)
    assert found.part == pytest.approx(4.0, rel=0.2)
    assert found.operator == pytest.approx(1.0, rel=0.5)
    assert found.gauge_pct == pytest.approx(
        100 * (1 - found.part / (found.part + found.repeat + found.operator + found.interaction))
    )
    assert found.distinct == int(
        1.41 * (found.part / (found.repeat + found.operator + found.interaction)) ** 0.5
    )


@pytest.mark.parametrize("study", [[[[1.0, 2.0]]], [[[1.0], [2.0]], [[1.0], [2.0]]], [[[1.0, 2.0], [1.0]]]])
def test_a_poor_gauge_study_is_refused(study):
    with pytest.raises(InputError, match=r"at least 2 parts|equally many"):
        gauge_share(study)


@pytest.mark.parametrize(
    ("value", "unsure", "text"),
    [
        (38.2371, 0.3149, ("38.24", "0.31")),
        (0.0012345, 0.00092, ("0.00123", "0.00092")),
        (1269.135, 114.3, ("1270", "110")),
        (5.0, 0.1049, ("5.00", "0.10")),
        (-0.04, 0.02, ("-0.040", "0.020")),
        (2.0, 0.996, ("2.0", "1.0")),
    ],
)
def test_rounding_follows_the_uncertainty(value, unsure, text):
    assert rounded(value, unsure) == text


def test_rounding_never_makes_an_uncertainty_much_smaller():
    for unsure in np.geomspace(1e-6, 1e6, 997):
        value, shown = rounded(123.456, float(unsure), digits=1)
        assert float(shown) >= unsure * (1 - 1 / 20) - 1e-12
        assert abs(float(value) - 123.456) <= 0.5 * 10 ** np.floor(np.log10(float(shown)) + 1e-9) + 1e-9
    with pytest.raises(InputError, match="above 0"):
        rounded(1.0, 0.0)
    with pytest.raises(InputError, match="finite"):
        rounded(float("nan"), 0.1)


def test_values_without_spread_have_no_outlier():
    with pytest.raises(InputError, match="that differ"):
        grubbs([1.0, 1.0, 1.0])
    with pytest.raises(InputError, match="at least 3"):
        grubbs([1.0, 2.0])


def _check(hours, passed, **found):
    return InstrumentCheck(NOON + timedelta(hours=hours), passed, **found)


@pytest.mark.parametrize(
    ("checks", "standing"),
    [
        ([], Standing.UNCHECKED),
        ([(-1, True)], Standing.UNCHECKED),
        ([(1, True)], Standing.UNCHECKED),
        ([(-1, True), (1, True)], Standing.SOUND),
        ([(1, False), (-1, True)], Standing.DOUBTFUL),
        ([(-1, False), (1, True)], Standing.DOUBTFUL),
        ([(-2, False), (-1, True), (1, True), (2, False)], Standing.SOUND),
    ],
)
def test_a_failed_check_reaches_to_its_neighbours(checks, standing):
    assert verdict_on(NOON, [_check(*item) for item in checks]).standing is standing


def test_a_later_check_that_tells_by_how_much_corrects():
    later = _check(1, False, gain=1.02, gain_uncertainty=0.002)
    found = verdict_on(NOON, [_check(-1, True), later])
    assert (found.standing, found.check) == (Standing.CORRECTED, later)
    strength, unsure = rederived(40.8, 0.2, 1.0, later, 1632.0)
    assert strength == pytest.approx(40.0)
    moved = 40.8 * (1 - 1 / 1.02) / 3**0.5
    assert unsure == pytest.approx(((0.2 / 1.02) ** 2 + (40.0 * 0.002 / 1.02) ** 2 + moved**2) ** 0.5)
    thicker, _ = rederived(40.0, 0.2, -2.0, _check(1, False, offset=0.02), 4.02)
    assert thicker == pytest.approx(40.0 * (4.0 / 4.02) ** -2)
    with pytest.raises(InputError, match="by how much"):
        rederived(40.0, 0.2, 1.0, _check(1, False), 1600.0)
    with pytest.raises(InputError, match="a reading above 0"):
        rederived(40.0, 0.2, 1.0, _check(1, False, offset=5.0), 4.0)
