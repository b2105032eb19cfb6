"""When a blind threshold is believed: both classes 2 % or more, three pooled standard deviations apart."""

import numpy as np
import pytest

from voidless.measure.images.levels import Split, otsu, trust_split


def two_classes(minority, spread=2.0):
    """Return a histogram of 256 classes: two normal classes about 60 and 180."""
    grey = np.arange(256)
    dark, light = (np.exp(-0.5 * ((grey - middle) / spread) ** 2) for middle in (60, 180))
    return 1e6 * (minority * dark / dark.sum() + (1.0 - minority) * light / light.sum())


@pytest.mark.parametrize(
    ("minority", "believed"), [(0.021, True), (0.019, False), (0.979, True), (0.981, False)]
)
def test_a_class_below_two_per_cent_is_not_believed(minority, believed):
    split = otsu(two_classes(minority))
    assert split.share == pytest.approx(minority, abs=1e-4)
    assert trust_split(split) is believed


@pytest.mark.parametrize(("separation", "believed"), [(2.99, False), (3.01, True), (float("nan"), False)])
def test_classes_that_are_near_are_not_believed(separation, believed):
    assert trust_split(Split(100, 0.4, 1.0, 1.0, separation)) is believed
