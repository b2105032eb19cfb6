"""Model terms and their columns."""

import numpy as np
import pytest

from voidless.design.terms import degree, model_matrix, model_terms, powers, term_words
from voidless.errors import InputError


def test_columns_are_the_products_their_names_say():
    points = np.array([[0.5, -1.0, 0.2], [1.0, 0.3, -0.4]])
    a, b, c = points.T
    got = model_matrix(points, ["a", "b", "c"], ["1", "c", "a:b", "b^2", "a^2:c", "a:b:c"])
    np.testing.assert_allclose(got, np.stack([np.ones(2), c, a * b, b**2, a**2 * c, a * b * c], axis=1))


@pytest.mark.parametrize(("model", "count"), [("linear", 7), ("interactions", 22), ("quadratic", 28)])
def test_number_of_terms_of_six_factors(model, count):
    """1 + k, + k (k - 1) / 2, + k."""
    terms = model_terms("abcdef", model)
    assert len(terms) == len(set(terms)) == count
    assert degree("abcdef", terms).max() == (1 if model == "linear" else 2)


@pytest.mark.parametrize("term", ["d", "a:d", "a^x", "a^0", "a^-1", ""])
def test_a_term_of_no_factor_is_refused(term):
    with pytest.raises(InputError, match="is not a factor or a power of one"):
        powers(["a", "b"], [term])


def test_an_unknown_model_is_refused():
    with pytest.raises(InputError, match="'cubic' is not a model"):
        model_terms(["a"], "cubic")


def test_words():
    assert [term_words(term) for term in ("1", "a", "a:b", "a^2")] == [
        "the mean",
        "a",
        "a x b",
        "curvature of a",
    ]
