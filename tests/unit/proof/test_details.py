"""Further statements on confirmation builds: values of the functions beneath, and refusals that say what is missing."""

import numpy as np
import pytest

from voidless.campaign.types import Probability
from voidless.errors import InputError
from voidless.proof.capability import capability
from voidless.proof.details import builds_to_equal, details, equal_to
from voidless.proof.equivalence import Sample, equivalence, sample_of
from voidless.proof.requirement import Requirement
from voidless.proof.weibull import weibull_bound
from voidless.workflows.details import detail_rows, reference_of

NEED = Requirement("strength_z_mpa", 40.0, float("inf"), Probability.NEXT_BUILD)
BUILDS = [[48.0, 49.0], [46.5, 47.5], [50.0, 49.2], [47.0, 47.4]]


@pytest.fixture
def rng():
    return np.random.default_rng(7)


def told(values, rng, need=NEED):
    return {item.kind: item for item in details(need, values, rng)}


def test_one_build_of_twenty_bars_is_one_build(rng):
    (found,) = details(NEED, [rng.normal(50, 1, 20).tolist()], rng)
    assert found.words == "1 build(s): parts of one build are one build; 2 more at least."
    assert np.isnan([found.value, found.low, found.high]).all()


def test_four_builds(rng):
    found = told(BUILDS, rng)
    means = np.mean(BUILDS, axis=1)
    assert found["capability"].low == capability(means.mean(), means.std(ddof=1), 4, 40.0, np.inf).low
    assert found["any_distribution"].words == "without a distribution: 4 builds; 25 more would do."
    other = weibull_bound(means.tolist(), 0.9, 0.95, np.random.default_rng(1))
    assert found["weibull"].low == pytest.approx(other, rel=0.01)  # noise of 20,000 draws
    assert found["between_builds"].low <= found["between_builds"].value <= found["between_builds"].high
    assert found["within_builds"].value == pytest.approx(np.sqrt(np.var(BUILDS, axis=1, ddof=1).mean()))


def test_twenty_nine_builds_need_no_distribution(rng):
    values = rng.normal(50, 1, (29, 1)).tolist()
    found = told(values, rng)
    assert found["any_distribution"].low == min(values)[0]
    assert "two parts of every build" in found["agreement"].words


def test_builds_that_differ_are_told(rng):
    found = told([(mean + rng.normal(size=8)).tolist() for mean in (40, 50, 60)], rng)
    assert found["agreement"].words.startswith("builds differ")


def test_values_all_alike_tell_nothing(rng):
    found = told([[50.0, 50.0]] * 3, rng)
    assert "same" in found["agreement"].words
    assert all(np.isnan(found[kind].low) for kind in ("capability", "weibull", "any_distribution"))


def test_equality_counts_each_build_once():
    reference = Sample(48.0, 1.5, 30)
    found = equal_to(reference, 3.0, BUILDS)
    assert (found.low, found.high) == (
        (e := equivalence(sample_of(np.mean(BUILDS, axis=1)), reference, 3.0)).low,
        e.high,
    )
    assert found.words.startswith("equal to the reference")
    assert equal_to(reference, 0.9, BUILDS).words.startswith("equality not shown")
    assert equal_to(Sample(60.0, 1.5, 30), 3.0, BUILDS).words.startswith("not equal")
    assert equal_to(Sample(48.0, 9.0, 3), 1.0, BUILDS).words.count("not even 60 builds") == 1
    assert "parts of one build are one build" in equal_to(reference, 3.0, BUILDS[:1]).words


def test_the_builds_that_equality_asks_for_show_it(rng):
    """Power 0.8 is promised on the safe side; 1,000 simulations know it within 0.013."""
    own, reference = Sample(50.0, 1.0, 4), Sample(50.3, 1.0, 60)
    number = builds_to_equal(own, reference, 1.5)
    shown = [
        equivalence(sample_of(50.0 + rng.normal(size=number)), reference, 1.5).shown for _ in range(1000)
    ]
    assert 0.78 < np.mean(shown) < 0.97


@pytest.mark.parametrize(
    "text",
    ["", "a=1", "a=1,sd=1,n=2", "a=x,sd=1,n=2,margin=1", "=1,sd=1,n=2,margin=1", "a=1,sd=1,n=2.5,margin=1",
     "a=1,sd=1,n=2,margin=nan", "a=1,sd=1,n=inf,margin=1", "a=1,sd=1,sd=1,n=2,margin=1", "a=1,sd=1,n=2,margin=1,b=2"],
)  # fmt: skip
def test_a_reference_that_is_no_reference_is_refused(text):
    with pytest.raises(InputError, match="RESPONSE=MEAN"):
        reference_of(text)


@pytest.mark.parametrize("text", ["a=1,sd=0,n=5,margin=1", "a=1,sd=1,n=1,margin=1", "a=1,sd=1,n=5,margin=0"])
def test_a_reference_that_tells_nothing_is_refused(text):
    with pytest.raises(InputError, match="equivalence"):
        reference_of(text)


def test_rows_are_plain_and_name_their_response(rng):
    values = {"strength_z_mpa": dict(zip("abcd", BUILDS, strict=True))}
    rows = detail_rows([NEED], values, [reference_of("strength_z_mpa=48,sd=1.5,n=30,margin=3")], rng)
    assert [row["kind"] for row in rows][-1] == "equivalence"
    assert all(row["value"] is None or np.isfinite(row["value"]) for row in rows)
    with pytest.raises(InputError, match="clarity"):
        detail_rows([NEED], values, [reference_of("clarity=0.7,sd=0.1,n=5,margin=0.1")], rng)
