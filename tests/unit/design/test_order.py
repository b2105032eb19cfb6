"""Print order is random, respects hard factors and spreads sessions."""

from itertools import permutations

import numpy as np
import pytest
from scipy.stats import chisquare

from voidless.design.blinding import specimen_test_order
from voidless.design.ground import ground
from voidless.design.order import changes, print_order
from voidless.design.plan import PlanRequest, make_plan
from voidless.design.types import Draft
from voidless.errors import InputError
from voidless.specimens.codes import ALPHABET


def test_order_is_a_uniform_permutation(free):
    """24 orders of four builds, 4800 draws: chi-square with 23 degrees of freedom."""
    space, allowed, usual = free(1)
    rng = np.random.default_rng(8)
    base = ground(PlanRequest(space, allowed, usual), rng)
    rows = np.array([[90.0], [95.0], [105.0], [110.0]])
    draft = Draft(rows, (), (), np.zeros(4, dtype=bool))
    drawn = [tuple(print_order(base, draft, 1, rng)[0]) for _ in range(4800)]
    counts = [drawn.count(order) for order in permutations(range(4))]
    assert sum(counts) == 4800
    assert chisquare(counts).pvalue > 1e-3


@pytest.mark.parametrize("name", ["full-factorial", "central-composite", "space-filling", "d-optimal"])
@pytest.mark.parametrize("sessions", [1, 3])
def test_hard_factors_change_at_most_once_per_whole_plot(free, name, sessions):
    space, allowed, usual = free(3, hard=("nozzle_c",))
    made = make_plan(
        PlanRequest(space, allowed, usual, name=name, sessions=sessions), np.random.default_rng(3)
    )
    groups = len({(slot.session, plot) for slot, plot in zip(made.order, made.whole_plots, strict=True)})
    assert changes(made.builds[:, [1]]) <= groups - 1
    levels = len(np.unique(made.builds[:, 1]))
    if sessions == 1 and name != "d-optimal":
        assert groups == levels


@pytest.mark.parametrize("name", ["start", "full-factorial", "definitive-screening", "d-optimal", "ladder"])
def test_sessions_are_equal_and_each_has_its_anchor(free, name):
    space, allowed, usual = free(4)
    made = make_plan(PlanRequest(space, allowed, usual, name=name, sessions=3), np.random.default_rng(5))
    session = np.array([slot.session for slot in made.order])
    assert list(session) == sorted(session)
    sizes = np.bincount(session)[1:]
    assert len(sizes) == 3
    assert sizes.max() - sizes.min() <= (1 if name != "d-optimal" else 2)
    run = np.array([slot.run for slot in made.order])
    most_repeated = np.argmax(np.bincount(run))
    assert set(session[run == most_repeated]) == {1, 2, 3}


def test_sessions_are_spread_over_every_factor(free):
    """Of a full plan of 16 in 2 sessions no factor's mean differs by more than a quarter of its range;
    a single random split does so in most draws."""
    space, allowed, usual = free(4)
    made = make_plan(
        PlanRequest(space, allowed, usual, name="full-factorial", runs=16, sessions=2),
        np.random.default_rng(6),
    )
    coded = 2 * space.to_unit(made.builds) - 1
    session = np.array([slot.session for slot in made.order])
    apart = coded[session == 1].mean(axis=0) - coded[session == 2].mean(axis=0)
    assert np.abs(apart).max() <= 0.5


def test_runs_are_numbered_as_they_are_first_printed(free):
    space, allowed, usual = free(3)
    made = make_plan(PlanRequest(space, allowed, usual), np.random.default_rng(2))
    first = list(dict.fromkeys(slot.run for slot in made.order))
    assert first == list(range(len(made.points)))


def test_blind_codes_are_distinct_and_legible():
    labels = [f"B{build:02d}-Z{piece}" for build in range(1, 41) for piece in range(1, 6)]
    order = specimen_test_order(labels, np.random.default_rng(1))
    codes = [code for code, _ in order]
    assert sorted(label for _, label in order) == sorted(labels)
    assert len(set(codes)) == 200
    assert {len(code) for code in codes} == {4}
    assert set("".join(codes)) <= set(ALPHABET)


def test_blind_codes_never_meet():
    """Of 5000 codes drawn with replacement from 24^4 some 37 would be used twice."""
    order = specimen_test_order([str(number) for number in range(5000)], np.random.default_rng(4))
    assert len({code for code, _ in order}) == 5000


def test_blind_codes_and_order_tell_nothing_of_the_specimen():
    """Rank correlation of code, place and specimen over 400 specimens: |r| < 4 / sqrt(400)."""
    labels = [f"{number:03d}" for number in range(400)]
    order = specimen_test_order(labels, np.random.default_rng(9))
    code = np.argsort(np.argsort([code for code, _ in order]))
    specimen = np.array([int(label) for _, label in order])
    place = np.arange(400)
    for one, other in ((code, specimen), (code, place), (place, specimen)):
        assert abs(np.corrcoef(one, other)[0, 1]) < 0.2


def test_test_order_is_uniform():
    """Six orders of three, 3000 draws."""
    rng = np.random.default_rng(10)
    drawn = ["".join(label for _, label in specimen_test_order("abc", rng)) for _ in range(3000)]
    assert chisquare([drawn.count("".join(order)) for order in permutations("abc")]).pvalue > 1e-3


def test_a_specimen_named_twice_is_refused():
    with pytest.raises(InputError, match="Z1 named twice"):
        specimen_test_order(["Z1", "Z2", "Z1"], np.random.default_rng(0))
