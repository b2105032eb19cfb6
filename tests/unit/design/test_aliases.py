"""What plans cannot tell apart."""

import numpy as np
import pytest

from voidless.design.aliases import alias_groups, alias_notes, estimable, listed, resolution, unseen_terms
from voidless.design.factorial import fraction, full_levels
from voidless.design.terms import model_terms


def _brute_resolution(coded):
    """Shortest product of columns that is constant, by trying all products."""
    from itertools import combinations

    for length in range(1, coded.shape[1] + 1):
        for some in combinations(range(coded.shape[1]), length):
            if len(np.unique(np.prod(coded[:, some], axis=1))) == 1:
                return length
    return None


@pytest.mark.parametrize(("count", "full"), [(3, 2), (5, 3), (5, 4), (6, 4), (7, 4), (4, 4)])
def test_resolution_agrees_with_trying_all_products(count, full):
    coded = fraction(count, full)
    assert resolution(coded) == _brute_resolution(coded)


def test_groups_of_a_quarter_fraction_follow_from_its_generators():
    """2^(5-2), D = AB, E = AC: words ABD, ACE, BCDE, so A = BD = CE, B = AD, C = AE, D = AB, E = AC,
    BC = DE, BE = CD."""
    terms = [term for term in model_terms("abcde", "interactions") if term != "1"]
    groups = {
        frozenset(term.removeprefix("-") for term in group)
        for group in alias_groups(fraction(5, 3), "abcde", terms)
    }
    assert groups == {
        frozenset(group.split())
        for group in ("a b:d c:e", "b a:d", "c a:e", "d a:b", "e a:c", "b:c d:e", "b:e c:d")
    }


def test_opposite_sign_is_marked():
    two = full_levels(2)
    coded = np.concatenate([two, -np.prod(two, axis=1, keepdims=True)], axis=1)
    assert alias_groups(coded, "abc", ["a:b", "c"]) == (("a:b", "-c"),)


def test_curvature_is_not_seen_with_two_levels_and_not_sorted_out_with_a_centre():
    names, squares = "ab", ["a^2", "b^2"]
    assert unseen_terms(full_levels(2), names, squares) == ("a^2", "b^2")
    with_centre = np.concatenate([full_levels(2), np.zeros((1, 2))])
    assert unseen_terms(with_centre, names, squares) == ()
    assert alias_groups(with_centre, names, squares) == (("a^2", "b^2"),)


def test_estimable_terms_have_the_rank_of_the_matrix():
    coded = fraction(5, 3)
    kept = estimable(coded, "abcde", model_terms("abcde", "quadratic"))
    assert kept == ("1", "a", "b", "c", "d", "e", "b:c", "b:e")


def test_notes_say_it_in_words():
    notes = " ".join(alias_notes(fraction(4, 3), ["flow_pct", "fan_pct", "bed_c", "width_mm"], ("1",)))
    assert "flow_pct x fan_pct cannot be told from bed_c x width_mm" in notes
    assert "Not seen at all: curvature of flow_pct" in notes


def test_notes_name_terms_of_the_model_that_are_lost():
    notes = alias_notes(full_levels(2), "ab", model_terms("ab", "quadratic"))
    assert notes[0] == "Cannot be estimated beside the other terms: curvature of a, curvature of b."


def test_long_lists_are_counted():
    assert listed(list("abcde"), 3) == "a, b, c and 2 more"


def test_nearly_equal_columns_are_not_called_equal():
    """Correlation above 0.95, yet data can tell them apart."""
    coded = np.array([[-1.0, -1.0], [-0.5, -0.4], [0.4, 0.5], [1.0, 0.8]])
    assert np.corrcoef(coded.T)[0, 1] > 0.95
    assert alias_groups(coded, "ab", ["a", "b"]) == ()
