"""Tables of classical plans: orthogonality, balance, rotatability."""

import numpy as np
import pytest

from voidless.design.aliases import resolution
from voidless.design.factorial import CYCLES, GENERATORS, fraction, hadamard
from voidless.design.screening import conference_matrix, screening_rows
from voidless.design.surface import BLOCKS, box_behnken_rows, composite_rows
from voidless.errors import InputError


@pytest.mark.parametrize(("count", "full"), GENERATORS)
def test_fractions_are_orthogonal_and_do_not_repeat(count, full):
    coded = fraction(count, full)
    assert coded.shape == (2**full, count)
    np.testing.assert_allclose(coded.T @ coded, 2**full * np.eye(count), atol=1e-9)
    np.testing.assert_allclose(coded.sum(axis=0), 0, atol=1e-9)
    assert len(np.unique(coded, axis=0)) == 2**full
    assert resolution(coded) >= 3


@pytest.mark.parametrize("rows", CYCLES)
def test_plackett_burman_columns_are_orthogonal(rows):
    coded = hadamard(rows)
    np.testing.assert_array_equal(coded.T @ coded, rows * np.eye(rows - 1))
    np.testing.assert_array_equal(coded.sum(axis=0), 0)


@pytest.mark.parametrize("order", [4, 6, 8, 10, 12, 14])
def test_conference_matrices(order):
    """C'C = (n - 1) I, zero diagonal, ±1 elsewhere."""
    matrix = conference_matrix(order)
    np.testing.assert_array_equal(matrix.T @ matrix, (order - 1) * np.eye(order))
    np.testing.assert_array_equal(np.abs(matrix), 1 - np.eye(order))


@pytest.mark.parametrize("count", range(1, 15))
def test_screening_main_effects_are_clear_of_second_order(count):
    rows = screening_rows(count)
    squares = rows**2
    products = [rows[:, one] * rows[:, other] for one in range(count) for other in range(one)]
    second = np.concatenate([squares, np.array(products).reshape(-1, len(rows)).T], axis=1)
    np.testing.assert_array_equal(rows.T @ second, 0)
    gram = rows.T @ rows
    np.testing.assert_array_equal(gram, np.diag(np.diag(gram)))


@pytest.mark.parametrize("count", BLOCKS)
def test_box_behnken_is_balanced(count):
    """Every factor is at a bound equally often, and so is every pair (Box & Behnken 1960: balanced blocks;
    for six factors the blocks are only partially balanced, so pairs meet once or twice)."""
    rows = box_behnken_rows(count)
    assert set(np.unique(rows)) == {-1.0, 0.0, 1.0}
    np.testing.assert_array_equal(rows.sum(axis=0), 0)
    pairs = (rows**2).T @ rows**2
    assert len(set(np.diag(pairs))) == 1
    assert len(set(pairs[~np.eye(count, dtype=bool)])) == (2 if count == 6 else 1)


@pytest.mark.parametrize(("count", "full"), [(2, 2), (3, 3), (4, 4), (5, 4)])
def test_rotatable_composite_has_the_moments_of_a_sphere(count, full):
    """Rotatable means that the fourth moments obey [iiii] = 3 [iijj]."""
    rows = composite_rows(count, full, (2.0**full) ** 0.25)
    for one in range(count):
        for other in range(one):
            assert np.sum(rows[:, one] ** 4) == pytest.approx(
                3 * np.sum(rows[:, one] ** 2 * rows[:, other] ** 2)
            )


@pytest.mark.parametrize(
    ("call", "text"),
    [
        (lambda: fraction(5, 2), "one of 16, 8 rows"),
        (lambda: hadamard(28), "one of 8, 12, 16, 20, 24"),
        (lambda: conference_matrix(16), "4, 6, 8, 10, 12 or 14"),
        (lambda: screening_rows(15), "at most 14"),
        (lambda: box_behnken_rows(8), "3 to 7 factors"),
    ],
)
def test_what_is_not_there_is_refused(call, text):
    with pytest.raises(InputError, match=text):
        call()
