"""Values that two groups need to be told apart, against printed answers and another library."""

import pytest
from statsmodels.stats.power import TTestIndPower

from voidless.errors import InputError
from voidless.proof.size import chance_to_tell, values_to_tell


@pytest.mark.parametrize(("difference", "each"), [(0.2, 394), (0.5, 64), (0.8, 26)])
def test_values_of_small_medium_and_large_differences(difference, each):
    """
    Cohen, Psychological Bulletin 112 (1992) 155, table 2, alpha 0.05: 393, 64, 26 (from memory).

    The first is 393.4 by the other library below, which the table rounds down: 394 reach the power.
    """
    assert values_to_tell(difference, 1.0) == each


@pytest.mark.parametrize("each", [2, 5, 17])
@pytest.mark.parametrize("difference", [0.0, -0.7, 3.0])
@pytest.mark.parametrize("significance", [0.01, 0.05])
def test_power_as_another_library_has_it(each, difference, significance):
    other = TTestIndPower().power(difference / 2.0, each, significance, alternative="two-sided")
    assert chance_to_tell(difference, 2.0, each, significance) == pytest.approx(other, abs=1e-9)


def test_too_small_a_difference_and_faults():
    assert values_to_tell(0.01, 1.0) is None
    assert chance_to_tell(30.0, 1.0, 4) == pytest.approx(1.0)
    for scatter, each, significance in (
        (0.0, 5, 0.05),
        (float("nan"), 5, 0.05),
        (1.0, 1, 0.05),
        (1.0, 5, 1.0),
    ):
        with pytest.raises(InputError, match="scatter above 0, 2 values or more"):
            chance_to_tell(1.0, scatter, each, significance)
