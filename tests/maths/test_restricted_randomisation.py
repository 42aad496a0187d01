"""The randomisation test over a restricted set of orders, against plain enumeration."""

from __future__ import annotations

import numpy as np
import pytest

from evenglide.maths.order_sets import Restriction
from evenglide.maths.randomisation import randomisation_test
from tests.maths.brute_randomisation import Brute

TWELVE_DIGITS = 1e-12
BISECTED = 1e-7
"""Bisection counts statistics within 1e-9 as ties, which moves an end by about as much."""


def places(block: np.ndarray) -> np.ndarray:
    """Weights of slots in time: twice the place in the block, less its middle."""
    weights = np.zeros(len(block), dtype=np.int64)
    for b in np.unique(block):
        units = np.flatnonzero(block == b)
        weights[units] = 2 * np.arange(1, len(units) + 1) - len(units) - 1
    return weights


def restricted(z: np.ndarray, block: np.ndarray, largest: int, offset: int = 0) -> Brute:
    """Every order that keeps the rule, from the plain enumeration of all."""
    brute = Brute(z, block)
    kept = np.abs(offset + brute.orders @ places(block)) <= largest
    brute.orders, brute.rows = brute.orders[kept], brute.rows[kept]
    return brute


def drawn(sizes: list[tuple[int, int]], largest: int, seed: int) -> tuple[np.ndarray, ...]:
    """Values, an order that keeps the rule, and blocks of so many units with so many marked."""
    rng = np.random.default_rng(seed)
    block = np.repeat(np.arange(len(sizes)), [units for units, _ in sizes])
    while True:
        marks = [rng.permutation(np.arange(units) < marked) for units, marked in sizes]
        z = np.concatenate(marks)
        if abs(int(places(block)[z].sum())) <= largest:
            return rng.normal(size=len(z)).round(2) + 0.8 * z, z, block


@pytest.mark.parametrize(
    ("sizes", "largest", "orders"),
    [
        ([(2, 1)] * 8, 4, 238),
        ([(2, 1)] * 7, 1, 70),
        ([(4, 2)] * 3, 4, None),  # three blocks of two and two
        ([(3, 1), (2, 1), (4, 2)], 2, None),
    ],
)
@pytest.mark.parametrize("seed", range(3))
def test_same_as_plain_enumeration(
    sizes: list[tuple[int, int]], largest: int, orders: int | None, seed: int
) -> None:
    y, z, block = drawn(sizes, largest, seed)
    brute = restricted(z, block, largest)
    rule = Restriction(weights=places(block), largest=largest)
    found = randomisation_test(y, z, block=block, level=0.2, restriction=rule)
    assert found is not None
    assert found.assignments == len(brute.rows) == (orders or len(brute.rows))
    assert found.p == pytest.approx(brute.p(y), abs=TWELVE_DIGITS)
    assert found.interval is not None
    for side, end in zip((-1, 1), found.interval, strict=True):
        assert end == pytest.approx(brute.limit(y, level=0.2, side=side), abs=BISECTED)


def test_least_p_counts_mirror_images() -> None:
    y, z, block = drawn([(2, 1)] * 8, 4, 1)
    found = randomisation_test(y, z, block=block, restriction=Restriction(weights=places(block), largest=4))
    assert found is not None
    assert found.smallest_p == 2 / 238


def test_a_wide_rule_is_no_rule() -> None:
    y, z, block = drawn([(2, 1)] * 6, 6, 2)
    free = randomisation_test(y, z, block=block)
    assert free == randomisation_test(
        y, z, block=block, restriction=Restriction(weights=places(block), largest=6)
    )


def test_an_order_that_breaks_the_rule_has_no_answer() -> None:
    block = np.repeat(np.arange(6), 2)
    z = np.tile([False, True], 6)
    rule = Restriction(weights=places(block), largest=4)
    assert randomisation_test(np.arange(12.0), z, block=block, restriction=rule) is None


def test_blocks_that_are_left_out_are_held_as_they_were() -> None:
    """Two of eight pairs lost one unit each, both of them late: the others must make up for it."""
    y, z, block = drawn([(2, 1)] * 6, 0, 4)
    weights = np.concatenate([places(block), [1, 1]])
    whole_y, whole_z = np.concatenate([y, [0.0, 0.0]]), np.concatenate([z, [True, True]])
    whole_block = np.concatenate([block, [6, 7]])
    found = randomisation_test(
        whole_y, whole_z, block=whole_block, restriction=Restriction(weights=weights, largest=4)
    )
    brute = restricted(z, block, 4, offset=2)
    assert found is not None
    assert (found.assignments, found.smallest_p) == (len(brute.rows), 1 / len(brute.rows))
    assert found.p == pytest.approx(brute.p(y), abs=TWELVE_DIGITS)


def test_beyond_the_limit_the_restricted_set_is_still_counted() -> None:
    y, z, block = drawn([(2, 1)] * 8, 4, 1)
    rule = Restriction(weights=places(block), largest=4)
    found = randomisation_test(y, z, block=block, limit=10, restriction=rule)
    assert found is not None
    assert (found.method, found.assignments, found.smallest_p) == ("monte carlo", 238, 2 / 238)
