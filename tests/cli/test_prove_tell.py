"""How many builds tell two settings apart, on the command line."""

import pytest

from voidless.errors import InputError
from voidless.infer.learned import Noise
from voidless.workflows.apart import Difference, apart_rows, difference_of


def test_builds_of_each_before_any_result(campaign, voidless):
    """Cohen, Psychological Bulletin 112 (1992) 155, table 2 (from memory): 26 of each for 0.8 scatters, 64 for 0.5."""
    found = voidless.json(
        "prove", campaign, "--tell", "strength_z_mpa=1.6,sd=2", "--tell", "clarity=0.05,sd=0.1,each=64"
    )
    large, medium = found["apart"]
    assert (large["needed"], large["chance"], large["unit"]) == (26, None, "MPa")
    assert (medium["needed"], round(medium["chance"], 2)) == (64, 0.80)
    assert found["verdict"] == "not tested"
    _, said, _ = voidless("prove", campaign, "--tell", "strength_z_mpa=1.6,sd=2")
    assert "takes 26 builds of each" in " ".join(said.split())
    fault = voidless.json("prove", campaign, "--tell", "strength_z_mpa=1.6", status=2)["error"]
    assert "scatter of strength_z_mpa between builds is not known" in fault["what"]


def test_learned_scatter_counts_the_parts_of_a_build_once():
    noise = {
        "strength_z_mpa": Noise(3.0, 1.0, 8.0, 0.0, True, 40.0, "strength_z_mpa"),
    }
    (row,) = apart_rows([Difference("strength_z_mpa", -5.0)], lambda: noise, 4, 0.8)
    assert row["sd"] == pytest.approx(5.0)
    assert row["needed"] == 17  # of a difference of one scatter: Cohen 1992 as above, from a general library
    assert not row["sd_stated"]
    with pytest.raises(InputError, match="scatter of build_min between builds is not known"):
        apart_rows([Difference("build_min", 5.0)], lambda: noise, 4, 0.8)
    (row,) = apart_rows([Difference("strength_z_mpa", 0.01, 5.0)], dict, 4, 0.8)
    assert row["needed"] is None
    assert "too small to tell" in row["words"]


@pytest.mark.parametrize(
    "text",
    [
        "strength_z_mpa", "nothing=3", "strength_z_mpa=0", "strength_z_mpa=nan", "strength_z_mpa=inf",
        "strength_z_mpa=3,sd=0", "strength_z_mpa=3,each=1", "strength_z_mpa=3,sd=1,sd=2", "strength_z_mpa=3,n=4",
        "strength_z_mpa=3,each=2.5",
    ],
)  # fmt: skip
def test_what_is_no_difference_is_refused(text):
    with pytest.raises(InputError, match="voidless prove --tell"):
        difference_of(text)
