"""Randomisation test and interval against published counts, plain enumeration and laws."""

from __future__ import annotations

import json
import math
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from evenglide.maths.randomisation import randomisation_test
from tests.maths.brute_randomisation import Brute, weights

PUBLISHED = json.loads(
    (Path(__file__).parents[1] / "reference" / "maths" / "randomisation.json").read_text("utf-8")
)
SIX_DIGITS = 1e-6


def design(sizes: list[int], marks: list[int], seed: int) -> tuple[np.ndarray, np.ndarray]:
    """Blocks of given sizes and an order with given numbers of labels, drawn."""
    rng = np.random.default_rng(seed)
    block = np.repeat(np.arange(len(sizes)), sizes)
    z = np.zeros(len(block), dtype=bool)
    for b, count in enumerate(marks):
        z[rng.permutation(np.flatnonzero(block == b))[:count]] = True
    return block, z


def test_shoes_count_ties() -> None:
    case = PUBLISHED["shoes"]
    pairs = len(case["A"])
    y = np.array(case["A"] + case["B"])
    found = randomisation_test(y, np.arange(2 * pairs) >= pairs, block=np.tile(np.arange(pairs), 2))
    assert found is not None
    assert found.assignments == case["assignments"] == 2**10
    assert found.p == case["as_extreme"] / case["assignments"]
    assert found.estimate == pytest.approx(case["mean_difference"], rel=1e-13)
    assert found.smallest_p == 2 / 1024
    assert found.method == "exact"
    assert found.log10_assignments == pytest.approx(math.log10(1024), rel=1e-15)


def test_ties_survive_a_large_common_part() -> None:
    """At 100 million the data themselves are rounded to 1.5e-8; the count is still the published one."""
    case = PUBLISHED["shoes"]
    pairs = len(case["A"])
    y = np.array(case["A"] + case["B"]) + 1e8
    found = randomisation_test(y, np.arange(2 * pairs) >= pairs, block=np.tile(np.arange(pairs), 2))
    assert found is not None
    assert found.p == case["as_extreme"] / case["assignments"]


def test_tomato_without_blocks() -> None:
    case = PUBLISHED["tomato"]
    z = np.array(case["fertiliser"]) == "B"
    found = randomisation_test(np.array(case["yield"]), z, block=np.zeros(len(z), dtype=int))
    assert found is not None
    assert found.assignments == case["assignments"]
    assert found.p == case["as_extreme"] / case["assignments"]
    assert found.estimate == pytest.approx(case["difference"], rel=1e-13)
    assert found.smallest_p == 1 / case["assignments"]


# Sizes and labels of blocks, with the number of orders.
DESIGNS = [
    ([2] * 6, [1] * 6, 64),
    ([3, 3, 2, 2, 2], [1, 2, 1, 1, 1], 72),
    ([5, 4, 2], [2, 3, 1], 80),
    ([3] * 4, [1] * 4, 81),
    ([9], [7], 36),
    ([10], [1], 10),
    ([4, 4], [2, 2], 36),
]


@pytest.mark.parametrize(("sizes", "marks", "expected"), DESIGNS)
@pytest.mark.parametrize("seed", [1, 2, 3])
@pytest.mark.parametrize("level", [0.05, 0.1, 0.3])
def test_same_as_plain_enumeration(
    sizes: list[int], marks: list[int], expected: int, *, seed: int, level: float
) -> None:
    block, z = design(sizes, marks, seed)
    rng = np.random.default_rng(100 + seed)
    # The second seed has whole numbers with many ties.
    y = rng.integers(0, 4, len(z)).astype(float) if seed == 2 else rng.standard_normal(len(z))
    found, brute = randomisation_test(y, z, block=block, level=level), Brute(z, block)
    assert found is not None
    assert found.assignments == expected == len(brute.rows)
    assert found.p == brute.p(y)
    expect_interval(found.interval, brute, y, level)


def expect_interval(
    interval: tuple[float | None, float | None] | None, brute: Brute, y: np.ndarray, level: float
) -> None:
    """Compare the limits with the shifts at which the brute p crosses the level."""
    for side, limit in zip((-1, 1), interval or (None, None), strict=True):
        expected = brute.limit(y, level=level, side=side)
        assert (limit is None) == (expected is None)
        assert expected is None or limit == pytest.approx(expected, abs=SIX_DIGITS)


@pytest.mark.parametrize(("sizes", "marks"), [row[:2] for row in DESIGNS])
@pytest.mark.parametrize("items", [2, 3, 4])
@pytest.mark.parametrize("seed", [1, 2, 3, 4])
def test_same_as_dense_least_squares_with_items(
    sizes: list[int], marks: list[int], *, items: int, seed: int
) -> None:
    block, z = design(sizes, marks, seed)
    rng = np.random.default_rng(200 + seed)
    item = rng.integers(0, items, len(z))
    y = rng.standard_normal(len(z)) + 3 * item
    found = randomisation_test(y, z, block=block, item=item, level=0.1)
    own = weights(z, block, item)
    if own is None:
        assert found is None
        return
    brute = Brute(z, block, item)
    assert found is not None
    assert found.estimate == pytest.approx(float(own @ y), abs=1e-9)
    assert found.assignments == len(brute.rows)
    assert found.p == brute.p(y)
    expect_interval(found.interval, brute, y, 0.1)


def test_overlaps_beyond_one_leave_no_shift_out() -> None:
    """With items an order may be more extreme only far away; no shift that is not rejected lies outside."""
    block, z = design([3] * 4, [1] * 4, 1)
    y, item = np.random.default_rng(5).standard_normal(12), np.array([0, 1, 2, 2, 1, 0, 1, 1, 0, 0, 2, 1])
    brute = Brute(z, block, item)
    assert np.abs(brute.overlaps()).max() > 1.01, "the design must show what is tested"
    found = randomisation_test(y, z, block=block, item=item, level=0.1)
    assert found is not None
    assert found.interval is not None
    low, high = found.interval
    assert low is not None
    assert high is not None
    kept = [s for s in np.linspace(low - 40, high + 40, 4001) if brute.p(y - s * brute.z) > 0.1]
    assert low <= min(kept)
    assert max(kept) <= high
    assert brute.p(y - (low + 1e-9) * brute.z) > 0.1
    assert brute.p(y - (high - 1e-9) * brute.z) > 0.1


def parallel_pairs(pairs: int) -> tuple[np.ndarray, np.ndarray]:
    """Pairs of two items that change sides from pair to pair."""
    block, item = np.repeat(np.arange(pairs), 2), np.tile([0, 1], pairs)
    return block, item


def test_orders_without_estimate_are_not_counted() -> None:
    block, item = parallel_pairs(6)
    z = (item == 1) ^ (block % 2 == 0)
    found = randomisation_test(np.arange(12.0) ** 2, z, block=block, item=item)
    assert found is not None
    assert found.assignments == 62
    assert found.smallest_p == 2 / 62


def test_no_estimate_no_answer() -> None:
    block, item = parallel_pairs(6)
    y = np.arange(12.0)
    assert randomisation_test(y, item == 1, block=block, item=item) is None
    assert randomisation_test(y, block < 3, block=block) is None
    assert randomisation_test(np.zeros(0), np.zeros(0, bool), block=np.zeros(0, int)) is None


def test_blocks_with_one_label_say_nothing() -> None:
    block, z = design([2, 2, 2, 2, 2], [1] * 5, 4)
    y = np.random.default_rng(1).standard_normal(10)
    more = randomisation_test(
        np.append(y, [50.0, -70.0, 1e6]), np.append(z, [True, True, False]), block=np.append(block, [9, 9, 7])
    )
    assert more == randomisation_test(y, z, block=block)


def test_too_few_orders_have_no_interval() -> None:
    block, z = design([2, 2], [1, 1], 4)
    found = randomisation_test(np.array([1.0, 2.0, 4.0, 8.0]), z, block=block)
    assert found is not None
    assert found.interval is None
    assert found.p is not None
    assert found.smallest_p == 0.5


def test_equal_values_never_reject() -> None:
    block, z = design([3] * 4, [1] * 4, 1)
    for value in (0.0, 0.1 + 0.2, 1e9 / 3):
        found = randomisation_test(np.full(12, value), z, block=block)
        assert found is not None
        assert found.p == 1.0


def test_beyond_the_limit_the_count_is_still_exact() -> None:
    block, z = design([2] * 70, [1] * 70, 4)
    found = randomisation_test(np.arange(140.0), z, block=block, draws=999)
    assert found is not None
    assert found.assignments == 2**70
    assert found.log10_assignments == pytest.approx(70 * math.log10(2))
    assert found.smallest_p == 2.0**-69
    assert (found.method, found.draws) == ("monte carlo", 999)


@pytest.mark.parametrize("items", [None, 3])
def test_large_blocks_are_cut_into_halves_without_loss(items: int | None) -> None:
    block, z = design([13, 3], [6, 2], 5)
    rng = np.random.default_rng(6)
    y, item = rng.standard_normal(16), None if items is None else rng.integers(0, items, 16)
    found = randomisation_test(y, z, block=block, item=item, level=0.05)
    brute = Brute(z, block, item)
    assert found is not None
    assert found.assignments == len(brute.rows)
    assert found.p == brute.p(y)
    expect_interval(found.interval, brute, y, 0.05)


# ---------------------------------------------------------------------- laws

CASES = st.tuples(st.sampled_from(DESIGNS[:4]), st.integers(1, 50), st.booleans())


def drawn(case: tuple[tuple[list[int], list[int], int], int, bool]) -> dict[str, np.ndarray | None]:
    (sizes, marks, _), seed, with_items = case
    block, z = design(sizes, marks, seed)
    rng = np.random.default_rng(seed)
    item = rng.integers(0, 2, len(z)) if with_items else None
    return {"y": rng.standard_normal(len(z)), "z": z, "block": block, "item": item}


def answer(**units: np.ndarray | None) -> tuple[float, ...] | None:
    """Numbers of the answer, an unbounded end as infinity."""
    found = randomisation_test(units["y"], units["z"], block=units["block"], item=units["item"], level=0.1)
    if found is None:
        return None
    low, high = found.interval or (None, None)
    ends = (-math.inf if low is None else low, math.inf if high is None else high)
    return (found.p or 0.0, found.assignments, found.estimate, *ends)


@given(CASES)
def test_swapped_labels_change_only_signs(case: tuple) -> None:
    units = drawn(case)
    found, swapped = answer(**units), answer(**{**units, "z": ~units["z"]})
    if found is None:
        assert swapped is None
        return
    p, assignments, estimate, low, high = found
    assert swapped == pytest.approx((p, assignments, -estimate, -high, -low), abs=1e-9)


@given(CASES, st.randoms(use_true_random=False))
def test_order_of_rows_and_names_of_blocks_do_not_matter(case: tuple, random: object) -> None:
    units = drawn(case)
    order = list(range(len(units["z"])))
    random.shuffle(order)  # type: ignore[attr-defined]
    moved = {name: None if value is None else value[order] for name, value in units.items()}
    moved["block"] = 100 - 7 * moved["block"]
    expected = answer(**units)
    assert answer(**moved) == (expected if expected is None else pytest.approx(expected, abs=1e-9))


@given(CASES, st.floats(-1e3, 1e3), st.floats(1e-3, 1e3))
def test_shift_of_blocks_and_scale(case: tuple, shift: float, scale: float) -> None:
    units = drawn(case)
    moved = {**units, "y": scale * (units["y"] + shift * (units["block"] + 1))}
    expected, found = answer(**units), answer(**moved)
    if expected is None:
        assert found is None
        return
    p, assignments, *numbers = expected
    assert found == pytest.approx((p, assignments, *(scale * n for n in numbers)), rel=1e-8, abs=1e-8 * scale)


@given(CASES, st.floats(-5, 5))
def test_a_true_shift_moves_the_interval_with_it(case: tuple, shift: float) -> None:
    units = drawn(case)
    expected, found = answer(**units), answer(**{**units, "y": units["y"] + shift * units["z"]})
    if expected is not None:
        assert found is not None
        assert found[2:] == pytest.approx([number + shift for number in expected[2:]], abs=1e-9)
