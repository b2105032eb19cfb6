"""What a plan refuses to swallow, and what it says of rows that are no longer as designed."""

import time

import numpy as np
import pytest

from voidless.campaign.space import Space
from voidless.campaign.types import Factor
from voidless.design.criteria import evaluate
from voidless.design.filling import crowding, fill
from voidless.design.ground import ground
from voidless.design.plan import PlanRequest, make_plan
from voidless.errors import ComputationError, InputError


def _plan(request, seed=1):
    return make_plan(request, np.random.default_rng(seed))


@pytest.mark.parametrize("minutes", [np.nan, np.inf, -5.0])
@pytest.mark.parametrize("name", ["start", "definitive-screening", "d-optimal"])
def test_a_cost_that_is_no_number_does_not_pass_as_cheap(free, name, minutes):
    """A NaN compares false with every limit: without the check any plan would count as within budget."""
    space, feasible, usual = free(3)
    request = PlanRequest(
        space,
        feasible,
        usual,
        name,
        hours_limit=2.0,
        cost=lambda x: (np.where(np.arange(len(x)) == 1, minutes, 1.0), np.ones(len(x))),
    )
    with pytest.raises(ComputationError, match="hours of a build came out negative or not finite"):
        _plan(request)


@pytest.mark.parametrize(
    ("change", "text"),
    [
        ({"usual": np.ones(2)}, "a usual setting is not a number"),
        ({"earlier": np.ones((4, 2))}, "an earlier build lacks a setting"),
        ({"earlier": np.array([[100.0, np.nan, 0.2]])}, "an earlier build lacks a setting"),
        ({"variance_ratio": float("inf")}, "variance_ratio = inf"),
    ],
)
def test_incomplete_settings_are_refused(free, change, text):
    space, feasible, usual = free(3)
    with pytest.raises(InputError, match=text):
        _plan(
            PlanRequest(
                **{"space": space, "feasible": feasible, "usual": usual, "name": "d-optimal"} | change
            )
        )


@pytest.mark.parametrize("more", [{"sessions": 7}, {"repeats": 8}, {"sessions": 3, "repeats": 2}])
@pytest.mark.parametrize("name", ["d-optimal", "i-optimal"])
def test_anchors_do_not_eat_the_builds_that_terms_need(free, name, more):
    """Equal builds carry one term together, so many of them need more builds than terms and four."""
    space, feasible, usual = free(4)
    made = _plan(PlanRequest(space, feasible, usual, name, **more))
    assert made.criteria["rank"] == made.criteria["terms"] == 15
    again = np.sum(np.all(made.builds == usual, axis=1))
    assert again >= max(more.get("sessions", 0), more.get("repeats", 0) + 1)


def test_too_few_distinct_builds_are_said(free):
    """Sixteen builds of which six are alike are eleven distinct ones for fifteen terms."""
    space, feasible, usual = free(4)
    made = _plan(PlanRequest(space, feasible, usual, "d-optimal", runs=16, repeats=5))
    assert any("16 builds, 6 of them alike, are fewer than the 15 terms" in note for note in made.notes)
    coded = 2 * space.to_unit(made.builds) - 1
    assert evaluate(coded, space.names, ("1", *space.names))["rank"] == 5


def test_more_sessions_than_builds_leave_something_to_learn(free):
    space, feasible, usual = free(3)
    made = _plan(PlanRequest(space, feasible, usual, "d-optimal", runs=10, sessions=50))
    assert len(made.order) == 10
    assert len(made.points) >= 5


def test_aliases_are_judged_on_the_rows_as_they_stand(six, free):
    """Screening rows keep main effects clear of interactions until limits move them; then that is said."""
    said = "As the builds stand, a main effect carries"
    whole = _plan(PlanRequest(*free(6), name="definitive-screening"))
    assert whole.criteria["max_alias"] == pytest.approx(0.0, abs=1e-9)
    assert not any(said in note for note in whole.notes)
    moved = _plan(PlanRequest(*six, name="definitive-screening"))
    assert moved.criteria["max_alias"] > 0.05
    assert any(said in note for note in moved.notes)


def test_notes_of_a_cut_plan_say_that_they_meant_the_whole(free):
    made = _plan(PlanRequest(*free(6), name="definitive-screening", runs=10))
    assert any("holds 10 of 12 builds" in note and "meant for the whole" in note for note in made.notes)


@pytest.mark.parametrize("seed", range(4))
def test_no_single_move_makes_a_filled_plan_less_crowded(seed):
    """All 121 combinations of two factors of 11 levels: moving any point to any free one is formed anew."""
    space = Space((Factor("bed_c", 50.0, 100.0, 5.0), Factor("fan_pct", 0.0, 100.0, 10.0)))
    usual = np.array([60.0, 20.0])
    rng = np.random.default_rng(seed)
    base = ground(PlanRequest(space, lambda x: np.ones(len(x), dtype=bool), usual), rng)
    filled = space.to_unit(np.concatenate([usual[None], fill(base, usual[None], 9, rng)]))
    places = np.linspace(0.0, 1.0, 11)
    free = np.stack(np.meshgrid(places, places), axis=-1).reshape(-1, 2)
    free = free[np.abs(free[:, None] - filled).max(axis=2).min(axis=1) > 1e-9]
    assert len(free) == 121 - 10
    for moved in range(1, 10):
        others = np.delete(filled, moved, axis=0)
        crowd = [float(crowding(point[None], others, 10)[0]) for point in (filled[moved], *free)]
        assert crowd[0] <= min(crowd) * (1 + 1e-8)


def test_two_hundred_filling_builds_take_seconds(six):
    """Processor time; summing all distances anew for every move took 29 s, taking up shares 0.3 s."""
    began = time.process_time()
    made = _plan(PlanRequest(*six, name="space-filling", runs=200))
    assert time.process_time() - began < 5.0
    assert len(made.order) == 200
    assert len(made.points) == 198
