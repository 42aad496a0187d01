"""Joint randomisation test against plain enumeration with dense least squares, and laws."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from evenglide.maths.joint_randomisation import joint_randomisation_test
from evenglide.maths.order_sets import Restriction
from evenglide.maths.randomisation import randomisation_test
from tests.maths.brute_randomisation import nuisance, orders

TWELVE_DIGITS = 1e-12


def squared_t(y: np.ndarray, z: np.ndarray, block: np.ndarray, item: np.ndarray | None) -> float | None:
    """Squared t of z by dense least squares on units with values; None without estimate or scatter."""
    valued = ~np.isnan(y)
    both = [b for b in np.unique(block[valued]) if len(set(z[valued & (block == b)])) == 2]
    use = valued & np.isin(block, both)
    if not use.any():
        return None
    others = nuisance(block[use], None if item is None else item[use])
    full = np.column_stack([others, z[use]])
    rank = np.linalg.matrix_rank(full)
    df = int(use.sum()) - rank
    if rank == np.linalg.matrix_rank(others) or df < 1:
        return None

    def rest(columns: np.ndarray) -> float:
        return float(np.sum((y[use] - columns @ np.linalg.lstsq(columns, y[use], rcond=None)[0]) ** 2))

    return (rest(others) - rest(full)) / (rest(full) / df)


def keeps_counts(order: np.ndarray, z: np.ndarray, values: np.ndarray, block: np.ndarray) -> bool:
    """Whether every block has the observed number of labels among the valued units of every response."""
    return all(
        order[(block == b) & ~np.isnan(row)].sum() == z[(block == b) & ~np.isnan(row)].sum()
        for row in values
        for b in np.unique(block)
    )


def brute(
    values: np.ndarray, z: np.ndarray, block: np.ndarray, item: np.ndarray | None
) -> tuple[float, float, int] | None:
    """Largest |t|, p and number of orders counted, one order at a time."""
    met = ~np.isnan(values).all(axis=0)
    values, z, block = values[:, met], z[met], block[met]
    item = None if item is None else item[met]
    used = [row for row in values if squared_t(row, z, block, item) is not None]
    if not used:
        return None
    largest = []
    for order in orders(z, block):
        if keeps_counts(order, z, values, block):
            squares = [squared_t(row, order, block, item) for row in used]
            if None not in squares:
                largest.append(max(squares))
    observed = max(squared_t(row, z, block, item) for row in used)
    hits = sum(square >= observed * (1 - 1e-9) for square in largest)
    return math.sqrt(observed), hits / len(largest), len(largest)


def case(seed: int, sizes: list[int], *, items: int | None, responses: int, gaps: float) -> tuple:
    """A drawn design with values, some of them missing."""
    rng = np.random.default_rng(seed)
    block = np.repeat(np.arange(len(sizes)), sizes)
    z = np.zeros(len(block), dtype=bool)
    for b, size in enumerate(sizes):
        z[rng.permutation(np.flatnonzero(block == b))[: size // 2]] = True
    values = rng.standard_normal((responses, len(z))) + rng.standard_normal(len(z))
    values[rng.random(values.shape) < gaps] = np.nan
    item = None if items is None else rng.integers(0, items, len(z))
    return values, z, block, item


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("items", [None, 2, 3])
@pytest.mark.parametrize("gaps", [0.0, 0.2])
@pytest.mark.parametrize("sizes", [[2] * 5, [4, 4], [3, 2, 4], [6]])
def test_same_as_plain_enumeration(seed: int, items: int | None, gaps: float, sizes: list[int]) -> None:
    values, z, block, item = case(seed, sizes, items=items, responses=1 + seed % 3, gaps=gaps)
    expected = brute(values, z, block, item)
    found = joint_randomisation_test(values, z, block=block, item=item)
    if expected is None:
        assert found is None
        return
    assert found is not None
    assert (found.method, found.draws, found.standard_error) == ("exact", None, None)
    assert found.statistic == pytest.approx(expected[0], rel=1e-9)
    assert (found.p, found.assignments) == expected[1:]


def test_missing_values_leave_only_orders_that_keep_the_counts() -> None:
    """Three pairs, one unit blanked on the second response: its pair cannot be turned round."""
    block, z = np.repeat(np.arange(3), 2), np.tile([True, False], 3)
    values = np.array([[1.0, 2, 4, 3, 7, 5], [2.0, 3, 5, 8, 9, np.nan]])
    found = joint_randomisation_test(values, z, block=block)
    assert found is not None
    assert found.assignments == 4


def test_a_unit_without_any_value_is_no_unit() -> None:
    values, z, block, _ = case(3, [3, 3, 4], items=None, responses=2, gaps=0.0)
    values[:, 4] = np.nan
    kept = np.arange(len(z)) != 4
    assert joint_randomisation_test(values, z, block=block) == joint_randomisation_test(
        values[:, kept], z[kept], block=block[kept]
    )


def test_one_response_without_items_is_the_single_test() -> None:
    """With the block counts fixed, |t| grows with the absolute estimate."""
    values, z, block, _ = case(8, [4, 4, 3], items=None, responses=1, gaps=0.0)
    single = randomisation_test(values[0], z, block=block)
    joint = joint_randomisation_test(values, z, block=block)
    assert single is not None
    assert joint is not None
    assert (joint.p, joint.assignments) == (single.p, single.assignments)


def test_six_pairs_and_three_responses_can_reject() -> None:
    """A plain effect on every response has the least possible p; adjusting three single p cannot."""
    rng = np.random.default_rng(4)
    block, z = np.repeat(np.arange(6), 2), np.tile([True, False], 6)
    values = 3.0 * z + rng.standard_normal((3, 12)) * 0.3
    found = joint_randomisation_test(values, z, block=block)
    assert found is not None
    assert found.p == 2 / 64


def test_nothing_to_test_is_none() -> None:
    block, z = np.repeat(np.arange(2), 2), np.array([True, False, True, False])
    assert joint_randomisation_test(np.full((2, 4), np.nan), z, block=block) is None
    assert joint_randomisation_test(np.ones((1, 2)), z[:2], block=block[:2]) is None  # no degree of freedom
    assert joint_randomisation_test(np.ones((1, 4)), block < 1, block=block) is None


def test_equal_values_never_reject() -> None:
    block, z = np.repeat(np.arange(4), 2), np.tile([True, False], 4)
    found = joint_randomisation_test(np.full((2, 8), 0.1 + 0.2), z, block=block)
    assert found is not None
    assert (found.statistic, found.p) == (0.0, 1.0)


@pytest.mark.parametrize("items", [None, 2])
@pytest.mark.parametrize("gaps", [0.0, 0.15])
def test_draws_agree_with_enumeration(items: int | None, gaps: float) -> None:
    values, z, block, item = case(5, [4, 6, 4], items=items, responses=2, gaps=gaps)
    exact = joint_randomisation_test(values, z, block=block, item=item)
    drawn = joint_randomisation_test(values, z, block=block, item=item, limit=1)
    assert exact is not None
    assert drawn is not None
    assert (drawn.method, drawn.draws) == ("monte carlo", 99_999)
    assert drawn.standard_error == pytest.approx(math.sqrt(drawn.p * (1 - drawn.p) / 100_000))
    assert 0 < drawn.standard_error < 0.002
    assert abs(drawn.p - exact.p) < 5 * drawn.standard_error
    assert drawn.statistic == exact.statistic


def test_cells_that_can_trade_labels() -> None:
    """Six patterns of missing values in one block: labels move between cells in several ways."""
    rng = np.random.default_rng(11)
    patterns = np.array([[1, 1, 0], [1, 0, 1], [0, 1, 1], [1, 0, 0], [0, 1, 0], [0, 0, 1]], dtype=bool)
    values = np.where(np.repeat(patterns, 2, axis=0).T, rng.standard_normal((3, 12)), np.nan)
    z, block = np.tile([True, False], 6), np.zeros(12, dtype=int)
    exact = joint_randomisation_test(values, z, block=block)
    assert exact is not None
    assert (exact.statistic, exact.p, exact.assignments) == pytest.approx(brute(values, z, block, None))
    assert exact.assignments > 2**6, "more orders than one way to share out gives"
    drawn = joint_randomisation_test(values, z, block=block, limit=1)
    assert drawn is not None
    assert drawn.assignments == exact.assignments
    assert abs(drawn.p - exact.p) < 5 * (drawn.standard_error or 0)


def test_many_orders_are_drawn_the_same_way_each_time() -> None:
    values, z, block, item = case(6, [2] * 20, items=2, responses=2, gaps=0.0)
    found = joint_randomisation_test(values, z, block=block, item=item)
    assert found is not None
    assert found == joint_randomisation_test(values, z, block=block, item=item)
    assert (found.method, found.assignments) == ("monte carlo", 2**20)
    assert found.p * 100_000 == pytest.approx(round(found.p * 100_000))
    other = joint_randomisation_test(values, z, block=block, item=item, rng=np.random.default_rng(1))
    assert other is not None
    assert other.p != found.p
    assert abs(other.p - found.p) < 5 * math.hypot(other.standard_error or 0, found.standard_error or 0)


def test_a_huge_block_is_drawn() -> None:
    values, z, block, _ = case(7, [400], items=None, responses=2, gaps=0.05)
    found = joint_randomisation_test(values, z, block=block, draws=999)
    assert found is not None
    assert found.draws == 999
    assert found.assignments > 10**80


@pytest.mark.parametrize("gaps", [0.0, 0.1])
def test_draws_under_a_restriction_agree_with_enumeration(gaps: float) -> None:
    values, z, block, _ = case(9, [2] * 11, items=None, responses=2, gaps=gaps)
    weights = np.tile([-1, 1], 11)
    rule = Restriction(weights=weights, largest=abs(int(weights[z].sum())))
    exact = joint_randomisation_test(values, z, block=block, restriction=rule)
    free = joint_randomisation_test(values, z, block=block)
    drawn = joint_randomisation_test(values, z, block=block, restriction=rule, limit=1)
    assert exact is not None
    assert free is not None
    assert drawn is not None
    assert drawn.assignments == exact.assignments < free.assignments
    assert drawn.draws == 99_999
    assert abs(drawn.p - exact.p) < 5 * (drawn.standard_error or 0)


def test_an_order_that_breaks_the_restriction_has_no_joint_test() -> None:
    values, z, block, _ = case(9, [2] * 11, items=None, responses=2, gaps=0.0)
    rule = Restriction(weights=np.where(z, 1, -1), largest=10)
    assert joint_randomisation_test(values, z, block=block, restriction=rule) is None


SMALL = st.tuples(st.integers(0, 400), st.sampled_from([[2, 2, 2, 2], [4, 3], [3, 2, 2]]), st.booleans())


def drawn_case(small: tuple) -> tuple:
    seed, sizes, with_items = small
    return case(seed, sizes, items=2 if with_items else None, responses=2, gaps=0.1)


@given(SMALL, st.floats(-100, 100), st.floats(1e-3, 1e3))
def test_swap_shift_scale_and_order_of_responses(small: tuple, shift: float, scale: float) -> None:
    values, z, block, item = drawn_case(small)
    expected = joint_randomisation_test(values, z, block=block, item=item)
    moved = scale * (values[::-1] + shift * (1 + block))
    found = joint_randomisation_test(moved, ~z, block=7 - block, item=item)
    if expected is None:
        assert found is None
        return
    assert found is not None
    assert (found.p, found.assignments) == (expected.p, expected.assignments)
    assert found.statistic == pytest.approx(expected.statistic, rel=1e-6)


@given(SMALL, st.randoms(use_true_random=False))
def test_order_of_units_does_not_matter(small: tuple, random: object) -> None:
    values, z, block, item = drawn_case(small)
    order = list(range(len(z)))
    random.shuffle(order)  # type: ignore[attr-defined]
    expected = joint_randomisation_test(values, z, block=block, item=item)
    found = joint_randomisation_test(
        values[:, order], z[order], block=block[order], item=None if item is None else item[order]
    )
    if expected is None:
        assert found is None
        return
    assert found is not None
    assert (found.p, found.assignments) == (expected.p, expected.assignments)


@given(SMALL)
def test_p_is_never_below_the_observed_order_alone(small: tuple) -> None:
    values, z, block, item = drawn_case(small)
    found = joint_randomisation_test(values, z, block=block, item=item)
    assert found is None or 1 / found.assignments <= found.p <= 1
