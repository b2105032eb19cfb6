"""Whatever is written in whatever order: nothing is lost, chains have one end, labels never come back."""

import json
import shutil
from datetime import UTC, datetime

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from voidless.campaign.types import Bound, BreakMode, BreakPlace, Observation, ResponseKey
from voidless.records.canonical import canonical_json
from voidless.records.labels import BUILD, canonical_label, label_of, number_of
from voidless.records.store import Store

NOW = datetime(2026, 3, 2, tzinfo=UTC)
TEXT = st.text(st.characters(exclude_categories=("Cs",)), max_size=20)
NUMBER = st.floats(allow_nan=False, allow_infinity=False)
JSON = st.recursive(
    st.none() | st.booleans() | st.integers(-(2**53), 2**53) | NUMBER | TEXT,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(TEXT, inner, max_size=4),
    max_leaves=12,
)
OBSERVATION = st.builds(
    Observation,
    run=st.just("R01"),
    build=st.sampled_from(["B01", ""]),
    specimen=st.text("abc 1Ä", max_size=5),
    key=st.builds(
        ResponseKey,
        quantity=st.sampled_from(["clarity", "size_error_mm", "strength_z_mpa"]),
        method=TEXT,
        feature=TEXT,
        conditions=st.dictionaries(TEXT, TEXT, max_size=3).map(lambda pairs: tuple(sorted(pairs.items()))),
    ),
    value=NUMBER,
    uncertainty=st.none() | st.floats(0.0, 1e300),
    bound=st.sampled_from(Bound),
    break_place=st.none() | st.sampled_from(BreakPlace),
    break_mode=st.none() | st.sampled_from(BreakMode),
    order=st.none() | st.integers(0, 10**6),
    session=TEXT,
    assumed=st.booleans(),
    extra=st.dictionaries(TEXT, TEXT, max_size=3),
)


@pytest.fixture(scope="module")
def template(tmp_path_factory):
    folder = tmp_path_factory.mktemp("template") / "campaign"
    with Store.create(folder, "a", "text", NOW) as store, store.writing(NOW) as writer:
        writer.add_build(writer.add_run({"flow_pct": 100.0}))
    return folder


@pytest.fixture(scope="module")
def fresh(template, tmp_path_factory):
    """Give a store of its own for each example."""
    base = tmp_path_factory.mktemp("examples")
    count = iter(range(10**6))
    return lambda: Store.open(shutil.copytree(template, base / str(next(count))))


@given(JSON)
def test_canonical_json_keeps_every_value(value):
    text = canonical_json(value)
    assert json.loads(text) == value
    assert canonical_json(json.loads(text)) == text


@given(st.integers(1, 10**8), st.integers(0, 3))
def test_labels_and_numbers_are_each_others_inverse(number, zeros):
    label = label_of(BUILD, number)
    assert number_of(label, BUILD) == number
    assert canonical_label("b" + "0" * zeros + str(number), BUILD) == label


@settings(max_examples=30, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(OBSERVATION, min_size=1, max_size=5))
def test_observations_come_back_as_they_were_given(fresh, given_observations):
    with fresh() as store:
        with store.writing(NOW) as writer:
            for observation in given_observations:
                writer.add_observation(observation)
        assert store.observations() == given_observations


STEP = st.tuples(
    st.sampled_from(["add", "supersede", "withdraw", "undo", "run", "drop"]), st.integers(0, 10**6), NUMBER
)


class Undone(Exception):
    """Raised to undo a transaction."""


@settings(max_examples=40, deadline=None)
@given(st.lists(STEP, max_size=15))
def test_the_store_agrees_with_a_plain_model(fresh, steps):
    """The model: a list of everything ever written, and a set of what rules."""
    ever, ruling, labels = [], {}, {"R01"}
    with fresh() as store:
        for verb, choice, value in steps:
            observation = Observation("R01", "B01", "", ResponseKey("size_error_mm"), value)
            target = list(ruling)[choice % len(ruling)] if ruling else None
            try:
                with store.writing(NOW) as writer:
                    if verb == "supersede" and target:
                        made = writer.supersede(target, observation)
                        del ruling[target]
                    elif verb == "withdraw" and target:
                        writer.withdraw_observation(target, "wrong")
                        del ruling[target]
                        continue
                    elif verb == "run":
                        label = writer.add_run({"flow_pct": 100.0})
                        assert label not in labels
                        labels.add(label)
                        continue
                    elif verb == "drop":
                        writer.drop_plan()
                        continue
                    else:
                        made = writer.add_observation(observation)
                    if verb == "undo":
                        raise Undone
                    ever.append(value)
                    ruling[made] = value
            except Undone:
                pass
        assert [row.observation.value for row in store.rows(current=False)] == ever
        assert {row.id: row.observation.value for row in store.rows()} == ruling
        assert store.builds_spent() == (1 if ruling else 0)
        assert len(store.runs(withdrawn=True)) == len(labels)
        assert store.verify() == []
