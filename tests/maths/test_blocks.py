"""Blocks: which count, centring, and the columns of a second factor."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from evenglide.maths.blocks import centred, centred_basis, compact, holds_both
from tests.maths.brute_randomisation import nuisance

CODES = st.lists(st.integers(0, 4), min_size=1, max_size=14)


@given(CODES)
def test_compact_keeps_who_is_with_whom(codes: list[int]) -> None:
    found = compact(np.array(codes) * 7 - 3)
    assert set(found) == set(range(len(set(codes))))
    assert [a == b for a in found for b in found] == [a == b for a in codes for b in codes]


@given(CODES, st.integers(0, 2**14 - 1))
def test_holds_both_asks_every_block(codes: list[int], mask: int) -> None:
    block, z = compact(codes), np.array([bool(mask >> i & 1) for i in range(len(codes))])
    expected = [len({bool(z[j]) for j in range(len(z)) if block[j] == b}) == 2 for b in block]
    np.testing.assert_array_equal(holds_both(block, z), expected)


@given(CODES, st.integers(0, 1000), st.floats(-1e6, 1e6))
def test_centred_is_what_least_squares_leaves(codes: list[int], seed: int, shift: float) -> None:
    block, y = compact(codes), np.random.default_rng(seed).standard_normal((len(codes), 2))
    dense = nuisance(block, None)
    expected = y - dense @ np.linalg.lstsq(dense, y, rcond=None)[0]
    np.testing.assert_allclose(centred(y, block), expected, atol=1e-12)
    np.testing.assert_allclose(centred(y[:, 0] + shift, block), expected[:, 0], atol=1e-8)


def test_equal_values_leave_exactly_nothing() -> None:
    assert not centred(np.full(7, 0.1), np.array([0, 0, 0, 1, 1, 2, 2])).any()


@given(CODES, st.lists(st.integers(0, 3), min_size=14, max_size=14))
def test_basis_spans_what_blocks_leave_of_the_factor(codes: list[int], levels: list[int]) -> None:
    block, item = compact(codes), np.array(levels[: len(codes)])
    basis, dense = centred_basis(item, block), nuisance(block, item)
    np.testing.assert_allclose(basis.T @ basis, np.eye(basis.shape[1]), atol=1e-12)
    assert np.linalg.matrix_rank(dense) == block.max() + 1 + basis.shape[1]
    rest = centred(dense, block)
    np.testing.assert_allclose(basis @ (basis.T @ rest), rest, atol=1e-9)


@pytest.mark.parametrize("size", [0, 3])
def test_no_factor_no_columns(size: int) -> None:
    assert centred_basis(None, np.zeros(size, dtype=np.int64)).shape == (size, 0)
