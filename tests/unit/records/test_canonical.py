"""Equal values give equal text; what JSON cannot carry is refused."""

import math

import pytest

from voidless.errors import InputError
from voidless.records.canonical import canonical_json, finite, sha256_of


def test_order_of_keys_does_not_matter():
    assert canonical_json({"b": 1, "a": {"d": 2, "c": 3}}) == canonical_json({"a": {"c": 3, "d": 2}, "b": 1})


def test_text_stays_readable():
    assert canonical_json({"name": "µ"}) == '{"name":"µ"}'


@pytest.mark.parametrize("value", [math.nan, math.inf, {1, 2}, object(), b"bytes"])
def test_what_json_cannot_carry_is_refused(value):
    with pytest.raises(InputError, match="cannot be kept as JSON"):
        canonical_json({"value": value})


def test_hash_is_that_of_the_published_test_vector():
    # FIPS 180-2, appendix B.1: SHA-256 of "abc".
    assert sha256_of("abc") == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf, None, "much", -0.1])
def test_numbers_that_are_none_are_refused(value):
    with pytest.raises(InputError, match=r"width_mm = .* cannot be recorded"):
        finite("width_mm", value, 0.0)
