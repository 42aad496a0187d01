"""Sums of all orders against sums of subsets from itertools."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest

from evenglide.maths.orders import number_of_orders, order_halves

DESIGNS = [
    ([2], [1]),
    ([1], [1]),
    ([3, 1, 2], [0, 1, 1]),
    ([2, 2, 2, 2], [1, 1, 1, 1]),
    ([5, 3], [4, 1]),
    ([11], [8]),
    ([17], [3]),
    ([17, 2], [15, 1]),
    ([20, 3, 3], [1, 2, 1]),
]


@pytest.mark.parametrize(("sizes", "marked"), DESIGNS)
def test_outer_sums_are_the_sums_of_all_orders(sizes: list[int], marked: list[int]) -> None:
    columns = np.random.default_rng(1).standard_normal((3, sum(sizes)))
    blocks = np.split(np.random.default_rng(2).permutation(sum(sizes)), np.cumsum(sizes)[:-1])
    found = np.concatenate(
        [
            (left[:, :, np.newaxis] + right[:, np.newaxis, :]).reshape(3, -1)
            for left, right in order_halves(columns, blocks, marked=marked)
        ],
        axis=1,
    )
    chosen = itertools.product(
        *(itertools.combinations(units, count) for units, count in zip(blocks, marked, strict=True))
    )
    expected = np.array([columns[:, list(itertools.chain(*order))].sum(axis=1) for order in chosen]).T
    assert found.shape[1] == number_of_orders(sizes, marked) == expected.shape[1]
    np.testing.assert_allclose(
        found[:, np.argsort(found[0])], expected[:, np.argsort(expected[0])], atol=1e-12
    )


def test_both_lists_stay_short() -> None:
    """Twenty pairs have a million orders; no list of partial sums is longer than a few thousand."""
    blocks = np.split(np.arange(40), 20)
    halves = order_halves(np.ones((1, 40)), blocks, marked=[1] * 20)
    assert sum(left.shape[1] * right.shape[1] for left, right in halves) == 2**20
    assert max(part.shape[1] for pair in halves for part in pair) <= 2**11


@pytest.mark.parametrize("marked", [2, 38])
def test_marking_nearly_all_is_as_short_as_marking_few(marked: int) -> None:
    halves = order_halves(np.ones((1, 43)), [np.arange(40), np.arange(40, 43)], marked=[marked, 2])
    assert sum(left.shape[1] * right.shape[1] for left, right in halves) == math.comb(40, 2) * 3
    assert max(part.shape[1] for pair in halves for part in pair) <= 3 * math.comb(20, 2)
