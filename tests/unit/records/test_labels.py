"""Labels have one spelling and their numbers go on growing."""

import pytest

from voidless.errors import InputError
from voidless.records.labels import BUILD, RUN, canonical_label, label_of, number_of


@pytest.mark.parametrize(
    ("number", "label"), [(1, "R01"), (10, "R10"), (99, "R99"), (100, "R100"), (1234, "R1234")]
)
def test_labels_have_two_digits_or_more(number, label):
    assert label_of(RUN, number) == label
    assert number_of(label, RUN) == number


@pytest.mark.parametrize("text", ["b7", "B7", "B07", "B007", " B07 "])
def test_one_build_has_one_spelling(text):
    assert canonical_label(text, BUILD) == "B07"


@pytest.mark.parametrize("text", ["left-2", "R07", "B", "B0", "B7a", "７"])
def test_other_labels_are_kept_as_they_are(text):
    assert canonical_label(text, BUILD) == text
    assert number_of(text, BUILD) is None


@pytest.mark.parametrize("text", ["", "   ", "a\nb", "a\x00b", "x" * 65])
def test_impossible_labels_are_refused(text):
    with pytest.raises(InputError, match="cannot be the label"):
        canonical_label(text, RUN)
