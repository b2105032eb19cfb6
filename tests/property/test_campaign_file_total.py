"""Reading a campaign file ends in a campaign or in an input error, whatever the file holds."""

import datetime as dt
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from voidless.campaign.file import parse_campaign, read_campaign
from voidless.campaign.space import Space
from voidless.errors import InputError
from voidless.quantities import QUANTITIES

TABLES = (
    "campaign", "settings", "factors", "responses", "specifications", "objective", "limits", "specimens",
    "nuisance", "materials", "machines", "schema_version", "other",
)  # fmt: skip
KEYS = (
    *QUANTITIES, "name", "material", "machine", "probability", "low", "high", "step", "hard_to_change", "min",
    "max", "minimise", "maximise", "builds", "hours", "grams", "bar_xy", "petg", "bench-0.4", "base",
    "properties", "usual", "limits", "density_g_cm3", "value", "unit", "spread", "notes", "wrong",
)  # fmt: skip
SCALARS = st.one_of(
    st.sampled_from(["petg", "bench-0.4", "next_build", "build_min", "x.toml", "", "\x00.toml", "a" * 300]),
    st.integers(-5, 400),
    st.floats(-1.0, 400.0),
    st.sampled_from([math.nan, math.inf, 10**400, True, False, dt.date(2000, 1, 1)]),
    st.lists(st.integers(0, 300), max_size=3),
)
VALUES = st.recursive(SCALARS, lambda below: st.dictionaries(st.sampled_from(KEYS), below, max_size=4))
FILES = st.dictionaries(st.sampled_from(TABLES), VALUES, max_size=8)


def toml(value):
    match value:
        case dict():
            return "{" + ", ".join(f'"{key}" = {toml(below)}' for key, below in value.items()) + "}"
        case bool():
            return str(value).lower()
        case str():
            return '"' + "".join(c if c.isprintable() else f"\\u{ord(c):04x}" for c in value) + '"'
        case list():
            return "[" + ", ".join(map(toml, value)) + "]"
        case _:
            return str(value)


def read(text):
    try:
        campaign = parse_campaign(text)
    except InputError as fault:
        refusal = fault
    else:
        refusal = None
    if refusal:
        assert refusal.where.startswith("campaign.toml")
        assert refusal.what
        return
    space = Space(campaign.factors)
    assert (space.low < space.high).all()


@settings(max_examples=200, deadline=None)
@given(FILES)
def test_tables_of_any_content(tables):
    read("\n".join(f"{key} = {toml(value)}" for key, value in tables.items()))


@settings(max_examples=200, deadline=None)
@given(
    st.dictionaries(
        st.sampled_from(list(QUANTITIES)),
        st.fixed_dictionaries({"low": SCALARS, "high": SCALARS}, optional={"step": SCALARS}),
        min_size=1,
        max_size=4,
    )
)
def test_factors_of_any_content(factors):
    head = '[campaign]\nname = "x"\nmaterial = "petg"\nmachine = "bench-0.4"\n'
    read(head + "[factors]\n" + "\n".join(f"{key} = {toml(value)}" for key, value in factors.items()))


@settings(max_examples=200, deadline=None)
@given(st.text(max_size=400))
def test_any_text(text):
    read(text)


@settings(max_examples=100, deadline=None)
@given(content=st.binary(max_size=300))
def test_any_bytes(tmp_path_factory, content):
    path = tmp_path_factory.getbasetemp() / "campaign.toml"
    path.write_bytes(content)
    with pytest.raises(InputError, match=r"campaign\.toml"):
        read_campaign(path)
