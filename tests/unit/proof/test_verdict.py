"""What builds show: coverage by simulation, refusals, and how many more would do."""

import numpy as np
import pytest
from scipy.stats import norm

from voidless.campaign.types import Probability
from voidless.errors import InputError
from voidless.proof.between import build_scatter, part_bound
from voidless.proof.capability import capability
from voidless.proof.equivalence import Sample, equivalence
from voidless.proof.requirement import Requirement
from voidless.proof.size import Expected, builds_needed, chance_to_show
from voidless.proof.verdict import State, judge

INFINITE = float("inf")


def need(kind=Probability.NEXT_BUILD, low=0.6, high=INFINITE, **more):
    return Requirement("clarity", low, high, kind, **more)


def builds(rng, count, parts, between=0.03, within=0.01, mean=0.7):
    return mean + between * rng.normal(size=(count, 1)) + within * rng.normal(size=(count, parts))


@pytest.mark.parametrize(("count", "parts", "least"), [(10, 4, 0.93), (5, 8, 0.92), (10, 1, 0.93)])
def test_bound_of_parts_covers(rng, count, parts, least):
    """Builds three times as scattered as parts, 90/95; 1,500 simulations, so 0.95 is known within 0.011."""
    truth = 0.7 + norm.ppf(0.1) * np.hypot(0.03, 0.01)
    hits = [part_bound(builds(rng, count, parts)) <= truth for _ in range(1500)]
    assert least <= np.mean(hits) <= 0.985


@pytest.mark.slow
@pytest.mark.parametrize("kind", list(Probability))
def test_a_recipe_just_inside_is_not_called_shown_too_often(rng, kind):
    """The truth sits exactly where the statement becomes false: it may be made in 5 % of cases."""
    spread = {
        Probability.MEAN: 0.0,
        Probability.NEXT_BUILD: np.hypot(0.03, 0.01 / 2),
        Probability.NEXT_PART: np.hypot(0.03, 0.01),
    }
    mean = 0.6 + norm.ppf(0.9) * spread[kind]
    shown = [judge(need(kind), builds(rng, 6, 4, mean=mean)).state is State.SHOWN for _ in range(1000)]
    assert np.mean(shown) < 0.07


def test_the_number_of_builds_has_the_power_it_promises(rng):
    expected = Expected(0.70, 0.03, 0.01)
    number = builds_needed(need(), expected, 2)
    shown = [judge(need(), builds(rng, number, 2)).state is State.SHOWN for _ in range(1500)]
    assert np.mean(shown) > 0.78
    assert chance_to_show(need(), expected, number - 1, 2) < 0.8
    assert chance_to_show(need(), expected, number, 2) == pytest.approx(np.mean(shown), abs=0.04)


def test_two_limits_need_more_builds_than_one():
    expected = Expected(0.0, 0.04, 0.0)
    one = need(low=-0.15)
    two = need(low=-0.15, high=0.15)
    assert builds_needed(two, expected, 1) > builds_needed(one, expected, 1)


def test_a_mean_on_the_limit_is_out_of_reach():
    assert builds_needed(need(), Expected(0.605, 0.03, 0.01), 2) is None


def test_parts_of_one_build_are_one_build(rng):
    found = judge(need(Probability.NEXT_PART), builds(rng, 1, 40))
    assert found.state is State.TOO_FEW
    assert found.more_builds == 2
    assert "one build" in found.words
    with pytest.raises(InputError, match="parts of one build are one build"):
        build_scatter(builds(rng, 1, 40))


def test_two_builds_bound_no_further_part(rng):
    with pytest.raises(InputError, match="at least 3 builds"):
        part_bound(builds(rng, 2, 20))
    assert judge(need(Probability.NEXT_PART), builds(rng, 2, 20)).state is State.TOO_FEW
    assert judge(need(Probability.MEAN), builds(rng, 2, 20, between=0.001)).state is State.SHOWN


def test_what_lies_outside_is_contradicted(rng):
    found = judge(need(), builds(rng, 5, 2, mean=0.4))
    assert found.state is State.CONTRADICTED
    assert found.more_builds is None


def test_a_ratio_is_judged_by_its_logarithm(rng):
    values = np.exp(rng.normal(np.log(0.9), 0.02, (8, 1)))
    found = judge(Requirement("z_ratio", 0.8, INFINITE, Probability.NEXT_PART, ratio=True), values)
    assert found.state is State.SHOWN
    assert found.mean == pytest.approx(0.9, abs=0.03)
    assert 0.8 < found.bound_low < found.mean


def test_a_bound_is_stated_for_a_limit_only(rng):
    """A void share near 0: nobody asked for a lower end, which a normal distribution would put below 0."""
    values = np.abs(rng.normal(0.1, 0.08, (6, 1)))
    found = judge(Requirement("void_pct", -INFINITE, 1.0, Probability.NEXT_BUILD), values)
    assert found.state is State.SHOWN
    assert np.isnan(found.bound_low)
    assert found.mean < found.bound_high < 1.0


def test_nothing_measured_yet_is_said_as_such():
    found = judge(need(), [])
    assert found.words == "clarity: no confirmation build has a value yet; 3 at least."


def test_units_do_not_matter(rng):
    values = builds(rng, 6, 3)
    plain = judge(need(Probability.NEXT_PART), values)
    scaled = judge(need(Probability.NEXT_PART, low=60.0), 100.0 * values)
    assert scaled.bound_low == pytest.approx(100.0 * plain.bound_low)
    assert scaled.state is plain.state


def test_capability_bound_is_the_tolerance_bound(rng):
    """One limit, capability c: its lower bound is c exactly where the tolerance bound of that share meets the limit."""
    found = capability(10.0, 1.0, 12, 6.0, INFINITE)
    from voidless.proof.tolerance import one_sided_factor

    share = norm.cdf(3.0 * found.low)
    assert one_sided_factor(share, 0.95, 12) == pytest.approx(4.0, rel=1e-6)
    assert found.value == pytest.approx(4.0 / 3.0)


@pytest.mark.parametrize("content", [0.3, 1.0, float("nan")])
def test_content_out_of_range(content):
    with pytest.raises(InputError):
        need(content=content)


def test_equivalence_needs_scatter_and_a_margin():
    with pytest.raises(InputError, match="margin"):
        equivalence(Sample(5, 1, 5), Sample(5, 1, 5), 0.0)
    with pytest.raises(InputError, match="two or more values"):
        equivalence(Sample(5, float("nan"), 1), Sample(5, 1, 5), 1.0)
    assert not equivalence(Sample(5, 1, 4), Sample(5, 1, 4), 0.5).shown


@pytest.fixture
def rng():
    return np.random.default_rng(4)
