"""The scalar check and the columns check keep one table of rules: they agree everywhere."""

import math

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from voidless.machines import load_machine, machine_names
from voidless.materials import load_material, material_names
from voidless.quantities import QUANTITIES, Role, names
from voidless.settings import default_settings, feasible, problems

MATERIALS = {name: load_material(name) for name in material_names()}
MACHINES = {name: load_machine(name) for name in machine_names()}


def values(name):
    known = QUANTITIES[name]
    usual = default_settings(MATERIALS["petg"], MACHINES["bench-0.4"])[name]
    inside = st.floats(known.low, known.high)
    near = st.floats(0.5, 1.5).map(lambda share: usual * share)
    whole = st.integers(-2, 60).map(float)
    odd = st.sampled_from([math.nan, math.inf, -math.inf, known.low, known.high])
    return st.one_of(near, inside, near, whole, odd)


@settings(max_examples=150, deadline=None)
@given(
    material=st.sampled_from(material_names()),
    machine=st.sampled_from(machine_names()),
    changed=st.lists(
        st.sampled_from(names(Role.SETTING)).flatmap(lambda name: values(name).map(lambda v: (name, v))),
        max_size=6,
    ).map(dict),
    rate_limit=st.one_of(st.none(), st.floats(0.1, 50.0)),
)
def test_no_problem_exactly_where_feasible(material, machine, changed, rate_limit):
    ground = (MATERIALS[material], MACHINES[machine])
    whole = {**default_settings(*ground), **changed}
    columns = {name: np.array([value, whole[name]]) for name, value in whole.items()}
    found = problems(whole, *ground, rate_limit=rate_limit)
    assert feasible(columns, *ground, rate_limit=rate_limit).tolist() == [not found] * 2


@settings(max_examples=150, deadline=None)
@given(
    machine=st.sampled_from(machine_names()),
    shares=st.lists(st.floats(0.0, 1.0), min_size=8, max_size=8),
    rate_limit=st.floats(0.5, 20.0),
)
def test_the_lowest_corner_of_a_box_is_feasible_if_any_point_is(machine, shares, rate_limit):
    """What the check of a campaign's factor box rests on."""
    ground = (MATERIALS["petg"], MACHINES[machine])
    nozzle = ground[1].nozzle_diameter_mm
    whole = {"layer_mm": (0.15 * nozzle, 0.8 * nozzle), "width_mm": (0.8 * nozzle, 2.0 * nozzle),
             "speed_mm_s": (0.5, 200.0), "flow_pct": (20.0, 300.0)}  # fmt: skip
    ends = iter(shares)
    box = {
        name: [low + share * (high - low) for share in sorted((next(ends), next(ends)))]
        for name, (low, high) in whole.items()
    }
    rng = np.random.default_rng(7)
    points = {name: np.append(low, rng.uniform(low, high, 50)) for name, (low, high) in box.items()}
    found = feasible(points, *ground, rate_limit=rate_limit)
    assert found[0] or not found.any()
