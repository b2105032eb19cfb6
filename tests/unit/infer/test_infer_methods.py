"""Methods that measured one response: whether they agree is told, build by build."""

import numpy as np
import pytest

from voidless.campaign.types import Bound, Observation, ResponseKey
from voidless.infer.methods import method_words


def _rows(method, values, uncertainty=None, start=1, feature="", bound=Bound.EXACT):
    key = ResponseKey("void_pct", method, feature)
    return [
        Observation("R01", f"B{build:02d}", "p", key, value, uncertainty, bound)
        for build, value in enumerate(values, start)
    ]


def test_one_method_needs_no_word():
    assert method_words("void_pct", _rows("immersion", [1.0, 1.2])) == ()
    assert method_words("clarity", _rows("immersion", [1.0]) + _rows("micrograph", [1.0])) == ()


def test_methods_that_contradict_each_other_are_said_with_their_difference_and_the_way_out():
    rows = _rows("immersion", [1.5, 1.6, 1.7]) + _rows("micrograph", [0.5, 0.62, 0.68])
    merged, words = method_words("void_pct", rows)
    assert (
        merged
        == "void_pct was measured by 2 methods (immersion, micrograph), which are taken as one response"
    )
    # Differences 1.00, 0.98, 1.02: mean 1, 0.02 / root 3 x t(0.975, 2) = 4.302653.
    half = 4.302653 * 0.02 / 3**0.5
    assert words.startswith(f"void_pct: immersion less micrograph is +1 ± {half:.2g} % (95 %) in 3 builds")
    assert "contradict each other" in words
    assert '[responses.void_pct] method = "immersion"' in words


def test_methods_that_agree_within_their_stated_uncertainties_do_not_contradict():
    rows = _rows("immersion", [1.5, 1.6], 0.1) + _rows("micrograph", [1.4, 1.5], 0.1)
    assert method_words("void_pct", rows)[1].endswith("they do not contradict each other")
    apart = _rows("immersion", [1.5], 0.1) + _rows("micrograph", [1.0], 0.1)
    assert "contradict each other, and" in method_words("void_pct", apart)[1]


def test_what_cannot_be_compared_is_said():
    apart = _rows("immersion", [1.5, 1.6]) + _rows("micrograph", [0.5], start=7)
    assert (
        method_words("void_pct", apart)[1]
        == "no build has void_pct by two methods, limits aside: whether they agree is not known"
    )
    limits = _rows("immersion", [1.5]) + _rows("micrograph", [0.5], bound=Bound.UPPER)
    assert "not known" in method_words("void_pct", limits)[1]
    other = _rows("immersion", [1.5]) + _rows("micrograph", [0.5], feature="z")
    assert "not known" in method_words("void_pct", other)[1]


@pytest.mark.parametrize("bias", [0.0, 0.5])
def test_how_often_methods_are_called_apart(bias):
    """Eight builds, three values each by two methods that scatter 0.1: without a bias in at most one of twenty."""
    rng = np.random.default_rng(3)
    called = 0
    for _ in range(400):
        truth = rng.uniform(1, 3, 8)
        rows = []
        for method, shift in (("immersion", 0.0), ("micrograph", bias)):
            for _ in range(3):
                rows += _rows(method, list(truth + shift + rng.normal(0, 0.1, 8)))
        called += "learned of both" in method_words("void_pct", rows)[1]
    assert called == 400 if bias else called / 400 <= 0.05 + 3 * (0.05 * 0.95 / 400) ** 0.5
