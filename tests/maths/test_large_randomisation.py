"""Sets of orders too large to list: counted from halves, searched, or drawn."""

from __future__ import annotations

import itertools
import math
from collections import Counter

import numpy as np
import pytest

from evenglide.maths import randomisation, shift_search
from evenglide.maths.half_sums import count_beyond, half_sums, pick, statistics
from evenglide.maths.order_sets import Restriction, order_set
from evenglide.maths.orders import length_of_halves, orders_by_weight
from evenglide.maths.randomisation import possible_orders, randomisation_test
from tests.maths.brute_randomisation import Brute
from tests.maths.test_restricted_randomisation import drawn, places, restricted

SIZES = [([2] * 6, [1] * 6), ([5, 4, 2], [2, 3, 1]), ([3] * 4, [1] * 4), ([9], [4]), ([4, 4], [2, 2])]


def design(sizes: list[int], marks: list[int], seed: int) -> tuple[np.ndarray, np.ndarray]:
    rng = np.random.default_rng(seed)
    parts = [rng.permutation(np.arange(size) < mark) for size, mark in zip(sizes, marks, strict=True)]
    return np.repeat(np.arange(len(sizes)), sizes), np.concatenate(parts)


def exact_hits(values: list[int], z: np.ndarray, block: np.ndarray, rule: Restriction | None = None) -> tuple:
    """Hits and orders of a whole-number set in exact integers, by dynamic programming over its units.

    Within blocks the numerator of the estimate is sum of (n_b y - block sum) over marked units, here with
    one common size of blocks; orders are counted by that sum and by the restriction's.
    """
    size = int(np.bincount(block)[0])
    assert (np.bincount(block) == size).all()
    counts: Counter[tuple[int, int]] = Counter({(0, 0): 1})
    for b in np.unique(block):
        units = np.flatnonzero(block == b)
        total = sum(values[unit] for unit in units)
        ways: Counter[tuple[int, int, int]] = Counter({(0, 0, 0): 1})
        for unit in units:
            weight = 0 if rule is None else int(rule.weights[unit])
            more = Counter(
                {(m + 1, s + size * values[unit] - total, w + weight): n for (m, s, w), n in ways.items()}
            )
            ways = ways + more
        own = [(s, w, n) for (m, s, w), n in ways.items() if m == int(z[units].sum())]
        longer: Counter[tuple[int, int]] = Counter()
        for (s0, w0), n0 in counts.items():
            for s1, w1, n1 in own:
                longer[s0 + s1, w0 + w1] += n0 * n1
        counts = longer
    if rule is not None:
        counts = Counter({k: n for k, n in counts.items() if abs(k[1]) <= rule.largest})
    observed = sum(
        size * values[u] - sum(values[v] for v in np.flatnonzero(block == block[u]))
        for u in np.flatnonzero(z)
    )
    return sum(n for (s, _), n in counts.items() if abs(s) >= abs(observed)), sum(counts.values())


# ------------------------------------------------------------------------------------ counting


@pytest.mark.parametrize(
    ("sizes", "marks"),
    [([2] * 31, [1] * 31), ([40], [17]), ([8] * 5, [4] * 5), ([4] * 12, [1] * 12)],
)
def test_the_count_of_billions_is_that_of_exact_integers(sizes: list[int], marks: list[int]) -> None:
    """Whole numbers have many ties; divided by ten they miss each other by rounding errors."""
    block, z = design(sizes, marks, 3)
    values = np.random.default_rng(4).integers(-9, 10, len(z)) + 2 * z
    hits, orders = exact_hits(values.tolist(), z, block)
    found = randomisation_test(values / 10 + 0.1, z, block=block, level=None)
    assert found is not None
    assert orders >= 2**24
    assert (found.method, found.assignments, found.p) == ("exact", orders, hits / orders)


@pytest.mark.parametrize(
    ("units", "marks", "blocks", "largest"), [(2, 1, 31, 1), (4, 2, 9, 2), (4, 2, 9, 12)]
)
def test_only_orders_that_keep_the_rule_are_counted(
    units: int, marks: int, blocks: int, largest: int
) -> None:
    _, z, block = drawn([(units, marks)] * blocks, largest, 5)
    values = np.random.default_rng(6).integers(-9, 10, len(z)) + 2 * z
    rule = Restriction(weights=places(block), largest=largest)
    hits, orders = exact_hits(values.tolist(), z, block, rule)
    found = randomisation_test(values / 10, z, block=block, level=None, restriction=rule)
    assert found is not None
    assert (found.assignments, found.p) == (orders, hits / orders)
    free = randomisation_test(values / 10, z, block=block, level=None)
    assert free is not None
    assert free.assignments > orders


def test_a_tenth_and_two_tenths_make_three_tenths() -> None:
    """0.1 + 0.2 is not 0.3 to a computer, but to whoever reads a tape."""
    first, second = np.array([0.1, 0.2, 0.3, 0.7]), np.array([0.0, 0.0, 0.0, 0.1])
    y, z = np.stack([first, second], axis=1).ravel(), np.tile([True, False], 4)
    z[4:6] = [False, True]
    found = randomisation_test(y, z, block=np.repeat(np.arange(4), 2), level=None)
    signs = itertools.product((-1, 1), repeat=4)
    hits = sum(abs(1 * a + 2 * b + 3 * c + 6 * d) >= 6 for a, b, c, d in signs)
    assert found is not None
    assert found.p == hits / 16


@pytest.mark.parametrize(("sizes", "marks"), SIZES)
def test_each_order_of_the_halves_is_one_order(sizes: list[int], marks: list[int]) -> None:
    block, z = design(sizes, marks, 7)
    y = np.random.default_rng(8).normal(size=len(z))
    orders = order_set(y, z, block=block)
    assert orders is not None
    halves, brute = half_sums(orders), Brute(z, block)
    listed = np.concatenate([statistic for statistic, _ in statistics(orders, halves)])
    np.testing.assert_allclose(np.sort(listed), np.sort(brute.rows @ y), atol=1e-12)
    for shift in (0.0, -0.7, 1.3):
        threshold = abs(orders.estimate - shift) * orders.weight - 1e-9
        count = np.count_nonzero(np.abs(brute.rows @ (y - shift * z)) * orders.weight >= threshold)
        assert count_beyond(halves, threshold, shift=shift) == count


def test_halves_are_cut_where_they_stay_short() -> None:
    """Six blocks of eight: cutting one in the middle would leave five million sums on one side."""
    assert length_of_halves([8] * 6, [4] * 6) == 2 * 70**3
    assert length_of_halves([40], [20]) == 2 * 2**20
    assert length_of_halves([18_000], [3]) > randomisation.HALVES


def test_weights_of_a_large_block_are_counted_unit_by_unit() -> None:
    weights = [list(range(-19, 20, 2)), [-1, 1]]
    found = orders_by_weight(weights, [10, 1])
    assert sum(found.values()) == math.comb(20, 10) * 2
    small = Counter(sum(some) + w for some in itertools.combinations(weights[0][:9], 4) for w in (-1, 1))
    assert orders_by_weight([weights[0][:9], weights[1]], [4, 1]) == small


def test_picked_orders_are_equally_likely() -> None:
    y, z, block = drawn([(4, 2)] * 2, 2, 1)
    rule = Restriction(weights=places(block), largest=2)
    orders = order_set(y, z, block=block, restriction=rule)
    assert orders is not None
    halves = half_sums(orders)
    picked = pick(halves, 40_000, rng=np.random.default_rng(2))
    brute = restricted(z, block, 2)
    expected = np.sort(brute.rows @ y)
    assert len(expected) == halves.number()
    values, counts = np.unique((picked[0] / orders.weight).round(9), return_counts=True)
    np.testing.assert_allclose(values, expected.round(9))
    fair = 40_000 / len(expected)
    assert ((counts - fair) ** 2 / fair).sum() < len(expected) + 6 * math.sqrt(2 * len(expected))


# ------------------------------------------------------------------------------------ search


@pytest.fixture
def small_steps(monkeypatch: pytest.MonkeyPatch) -> None:
    """Make the search take its steps on sets that can be listed."""
    monkeypatch.setattr(randomisation, "LISTED_FOR_INTERVAL", 0)
    monkeypatch.setattr(shift_search, "SAMPLE", 24)
    monkeypatch.setattr(shift_search, "LISTED", 6)


@pytest.mark.parametrize(("sizes", "marks"), SIZES)
@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("level", [0.05, 0.2, 0.5])
@pytest.mark.usefixtures("small_steps")
def test_the_search_finds_what_the_list_holds(
    sizes: list[int], marks: list[int], seed: int, level: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    block, z = design(sizes, marks, seed)
    rng = np.random.default_rng(50 + seed)
    y = rng.normal(size=len(z)) + z
    if seed == 3:  # many orders share an end
        y = rng.integers(0, 4, len(z)) / 10
    found = randomisation_test(y, z, block=block, level=level)
    monkeypatch.undo()
    listed = randomisation_test(y, z, block=block, level=level)
    assert found is not None
    assert listed is not None
    assert (found.interval is None) == (listed.interval is None)
    if found.interval is not None:
        assert found.interval == pytest.approx(listed.interval, rel=1e-11, abs=1e-11)


@pytest.mark.parametrize(("units", "blocks", "largest"), [((2, 1), 10, 2), ((4, 2), 3, 4), ((3, 1), 5, 3)])
@pytest.mark.parametrize("seed", range(3))
@pytest.mark.usefixtures("small_steps")
def test_the_search_keeps_the_rule(
    units: tuple[int, int], blocks: int, largest: int, seed: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    y, z, block = drawn([units] * blocks, largest, seed)
    rule = Restriction(weights=places(block), largest=largest)
    found = randomisation_test(y, z, block=block, level=0.1, restriction=rule)
    monkeypatch.undo()
    listed = randomisation_test(y, z, block=block, level=0.1, restriction=rule)
    assert found is not None
    assert listed is not None
    assert found.interval == pytest.approx(listed.interval, rel=1e-11, abs=1e-11)


@pytest.mark.parametrize(("sizes", "marks"), [([2] * 31, [1] * 31), ([30], [13])])
@pytest.mark.parametrize("digits", [12, 1])
def test_limits_over_billions_are_where_p_crosses_the_level(
    sizes: list[int], marks: list[int], digits: int
) -> None:
    block, z = design(sizes, marks, 9)
    y = (np.random.default_rng(10).normal(size=len(z)) + 0.5 * z).round(digits)
    found = randomisation_test(y, z, block=block, level=0.05)
    assert found is not None
    assert found.interval is not None

    def p(shift: float) -> float:
        test = randomisation_test(y - shift * z, z, block=block, level=None)
        assert test is not None
        return test.p

    low, high = found.interval
    assert low is not None
    assert high is not None
    # p counts statistics within 1e-9 as ties, so it crosses the level a little further out.
    assert p(low + 1e-8) > 0.05 >= p(low - 1e-7)
    assert p(high - 1e-8) > 0.05 >= p(high + 1e-7)


# ------------------------------------------------------------------------------------ drawing


@pytest.mark.parametrize(
    ("sizes", "marks", "items"),
    [
        ([2] * 10, [1] * 10, None),
        ([2] * 10, [1] * 10, 3),
        ([4] * 4, [2] * 4, 3),
        ([17], [8], None),
        ([17], [8], 3),
        ([16, 16], [8, 5], None),
        ([36, 6], [18, 3], None),
    ],
)
def test_draws_agree_with_the_count(sizes: list[int], marks: list[int], items: int | None) -> None:
    block, z = design(sizes, marks, 11)
    rng = np.random.default_rng(12)
    y, item = rng.normal(size=len(z)) + 0.5 * z, None if items is None else rng.integers(0, items, len(z))
    exact = randomisation_test(y, z, block=block, item=item)
    found = randomisation_test(y, z, block=block, item=item, limit=0, draws=99_999)
    assert exact is not None
    assert found is not None
    assert exact.method == "exact"
    assert (found.method, found.draws) == ("monte carlo", 99_999)
    assert found.estimate == exact.estimate
    assert found.p * 100_000 == pytest.approx(round(found.p * 100_000))
    assert found.standard_error == pytest.approx(math.sqrt(found.p * (1 - found.p) / 100_000))
    assert abs(found.p - exact.p) < 5 * found.standard_error
    assert found == randomisation_test(y, z, block=block, item=item, limit=0, draws=99_999)
    assert found.interval is not None
    assert exact.interval is not None
    for drawn_end, end in zip(found.interval, exact.interval, strict=True):
        assert drawn_end == pytest.approx(end, abs=0.05)


def test_draws_keep_the_rule() -> None:
    y, z, block = drawn([(2, 1)] * 12, 0, 2)
    rule = Restriction(weights=places(block), largest=0)
    exact = randomisation_test(y, z, block=block, restriction=rule)
    found = randomisation_test(y, z, block=block, restriction=rule, limit=0, draws=99_999)
    free = randomisation_test(y, z, block=block)
    assert exact is not None
    assert found is not None
    assert free is not None
    assert found.assignments == exact.assignments == math.comb(12, 6)
    assert found.standard_error is not None
    assert abs(found.p - exact.p) < 5 * found.standard_error < abs(free.p - exact.p)


def test_the_interval_of_draws_inverts_their_own_test() -> None:
    """The same draws at every shift: p crosses the level at the limits, the observed order among them."""
    block, z = design([2] * 12, [1] * 12, 13)
    y = np.random.default_rng(14).normal(size=24)
    found = randomisation_test(y, z, block=block, limit=0, draws=994, level=0.1)
    assert found is not None
    assert found.interval is not None
    low, high = found.interval
    assert low is not None
    assert high is not None
    for inside, outside in ((low + 1e-6, low - 1e-6), (high - 1e-6, high + 1e-6)):
        p = [
            randomisation_test(y - shift * z, z, block=block, limit=0, draws=994, level=0.1)
            for shift in (inside, outside)
        ]
        assert p[0] is not None
        assert p[1] is not None
        assert p[0].p > 0.1 >= p[1].p


def test_large_blocks_are_drawn_independently_of_each_other() -> None:
    """Values that tell only which half of each block got the labels: going along would widen the sums."""
    block, z = design([16, 16], [8, 8], 15)
    y = np.tile(np.arange(16) < 8, 2) + 0.5 * z
    exact = randomisation_test(y, z, block=block, level=None)
    found = randomisation_test(y, z, block=block, level=None, limit=0, draws=99_999)
    assert exact is not None
    assert found is not None
    assert found.standard_error is not None
    assert 0.001 < exact.p < 0.9
    assert abs(found.p - exact.p) < 5 * found.standard_error


def test_pairs_with_items_beyond_the_list_are_drawn() -> None:
    block, item = np.repeat(np.arange(24), 2), np.tile([0, 1], 24)
    z = (item == 1) ^ (block % 2 == 0)
    y = np.random.default_rng(1).normal(size=48) + 3 * item + 0.5 * z
    found = randomisation_test(y, z, block=block, item=item, draws=9_999)
    assert found is not None
    assert (found.method, found.draws, found.assignments) == ("monte carlo", 9_999, 2**24)
    listed = randomisation_test(y, z, block=block, item=item, level=None, limit=2**24)
    assert listed is not None
    assert listed.assignments == 2**24 - 2
    assert found.standard_error is not None
    assert abs(found.p - listed.p) < 5 * found.standard_error


def test_a_great_many_units_are_drawn_fewer_times() -> None:
    block, z = design([2] * 20_000, [1] * 20_000, 1)
    found = randomisation_test(np.random.default_rng(2).normal(size=len(z)), z, block=block, level=None)
    assert found is not None
    assert found.draws is not None
    assert randomisation.FEWEST_DRAWS <= found.draws < randomisation.DRAWS


# ------------------------------------------------------------------------------------ numbers of orders


def test_possible_orders_are_those_of_the_test() -> None:
    for sizes, marks in SIZES:
        block, z = design(sizes, marks, 20)
        item = np.random.default_rng(21).integers(0, 3, len(z))
        for gear in (None, item):
            found = possible_orders(z, block=block, item=gear)
            test = randomisation_test(np.arange(len(z)) ** 2.0, z, block=block, item=gear)
            assert (found is None) == (test is None)
            if found is not None and test is not None:
                assert (found.assignments, found.smallest_p) == (test.assignments, test.smallest_p)
