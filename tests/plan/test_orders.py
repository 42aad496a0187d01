"""Orders are drawn fairly: every allowed one equally likely, counted by hand and by brute force."""

from __future__ import annotations

import itertools
import random
from collections import Counter
from collections.abc import Iterator, Sequence

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from evenglide.errors import StudyError
from evenglide.plan.orders import (
    FEWEST_ORDERS,
    Order,
    RoundToDraw,
    draw_order,
    estimable,
    imbalance,
    largest_imbalance,
    orders_within,
    shuffled,
)


def rounds_of(count: int, treatments: Sequence[str], items: Sequence[str]) -> list[RoundToDraw]:
    return [
        RoundToDraw(treatments=tuple(treatments), items=tuple(items), surfaces=("snow",))
        for _ in range(count)
    ]


class EndedError(Exception):
    """A fake source has no more numbers."""


def every_source(places: Sequence[int]) -> Iterator[Iterator[float]]:
    """Every way that numbers in [0, 1) can choose among so many places, one after the other."""
    for choices in itertools.product(*(range(count) for count in places)):
        yield iter([(choice + 0.5) / count for choice, count in zip(choices, places, strict=True)])


def drawn_orders(rounds: Sequence[RoundToDraw], allowed: object = None) -> Counter[Order]:
    """Orders of the first draw, over every way that chance can fall; those not allowed end the source."""
    rule = allowed if callable(allowed) else lambda order: True
    places = [size for one in rounds for size in range(len(one.treatments), 1, -1)]
    found: Counter[Order] = Counter()
    for numbers in every_source(places):

        def source(numbers: Iterator[float] = numbers) -> float:
            try:
                return next(numbers)
            except StopIteration:
                raise EndedError from None

        try:
            found[draw_order(rounds, source, allowed=rule)] += 1
        except EndedError:
            continue
    return found


@pytest.mark.parametrize("size", [1, 2, 3, 4, 5])
def test_every_arrangement_is_equally_likely(size: int) -> None:
    names = [str(number) for number in range(size)]
    found = Counter(shuffled(names, numbers.__next__) for numbers in every_source(range(size, 1, -1)))
    assert found == dict.fromkeys(itertools.permutations(names), 1)


@pytest.mark.parametrize(
    ("rounds", "orders"),
    [
        (rounds_of(6, ["bare", "rub"], ["1", "2"]), 62),  # 2^6 less the two with a rub on one item throughout
        (rounds_of(2, ["bare", "rub"], ["1", "2"]), 2),
        (rounds_of(4, ["bare", "rub"], ["1", "1"]), 16),  # one item: positions in time, nothing is lost
    ],
)
def test_every_order_with_an_estimate_is_equally_likely(rounds: list[RoundToDraw], orders: int) -> None:
    found = drawn_orders(rounds, lambda order: estimable(order, rounds))
    assert len(found) == orders
    assert set(found.values()) == {1}


def test_every_order_within_the_limit_is_equally_likely() -> None:
    rounds = rounds_of(8, ["bare", "rub"], ["1", "1"])
    found = drawn_orders(rounds, lambda order: abs(imbalance(order, "rub")) <= 4)
    assert len(found) == orders_within(8, 4) == 238
    assert set(found.values()) == {1}


def test_what_is_not_allowed_is_drawn_again() -> None:
    rounds = rounds_of(2, ["bare", "rub"], ["1", "2"])
    numbers = iter([0.9, 0.9, 0.1, 0.9])
    order = draw_order(rounds, numbers.__next__, allowed=lambda order: estimable(order, rounds))
    assert order == (("rub", "bare"), ("bare", "rub"))


def test_one_round_of_two_items_has_no_order() -> None:
    rounds = rounds_of(1, ["bare", "rub"], ["1", "2"])
    with pytest.raises(StudyError, match="enough rounds"):
        draw_order(rounds, random.Random(1).random, allowed=lambda order: estimable(order, rounds))


def has_estimate_by_rank(order: Order, rounds: Sequence[RoundToDraw]) -> bool:
    """Whether each comparison lies in the row space of rounds, items and treatments, by rank alone."""
    treatments = sorted({name for one in rounds for name in one.treatments})
    reference = rounds[0].treatments[0]
    for treatment in set(treatments) - {reference}:
        rows = [
            (at, item, name == treatment)
            for at, one in enumerate(rounds)
            for item, name in zip(one.items, order[at], strict=True)
            if {treatment, reference} <= set(order[at]) and name in {treatment, reference}
        ]
        items = sorted({item for _, item, _ in rows})
        columns = [[at == b for b in range(len(rounds))] + [item == i for i in items] for at, item, _ in rows]
        without = np.array(columns, dtype=float).reshape(len(rows), -1)
        label = np.array([[treated] for _, _, treated in rows], dtype=float).reshape(len(rows), 1)
        more = np.hstack([without, label])
        if not rows or np.linalg.matrix_rank(more) == np.linalg.matrix_rank(without):
            return False
    return True


@given(st.integers(1, 4), st.sampled_from([2, 3]), st.randoms(use_true_random=False))
def test_estimable_is_a_matter_of_rank(count: int, size: int, chance: random.Random) -> None:
    treatments, items = ["bare", "rub", "wax"][:size], ["1", "2", "3"][:size]
    rounds = rounds_of(count, treatments, items)
    order = tuple(shuffled(treatments, chance.random) for _ in rounds)
    assert estimable(order, rounds) == has_estimate_by_rank(order, rounds)


def test_a_surface_met_by_one_round_only_has_no_estimate() -> None:
    first, second = rounds_of(2, ["bare", "rub"], ["1", "2"])
    rounds = [first, second, RoundToDraw(treatments=("bare", "rub"), items=("1", "2"), surfaces=("ice",))]
    order = (("bare", "rub"), ("rub", "bare"), ("bare", "rub"))
    assert estimable(order[:2], rounds[:2])
    assert not estimable(order, rounds)


@pytest.mark.parametrize("rounds", range(1, 15))
def test_largest_imbalance_by_brute_force(rounds: int) -> None:
    sums = [sum(signs) for signs in itertools.product((-1, 1), repeat=rounds)]
    enough = [limit for limit in range(rounds + 1) if sum(abs(s) <= limit for s in sums) >= FEWEST_ORDERS]
    assert largest_imbalance(rounds) == (enough[0] if enough else None)
    for limit in range(rounds + 1):
        assert orders_within(rounds, limit) == sum(abs(s) <= limit for s in sums)


def test_imbalance_of_larger_rounds() -> None:
    assert imbalance((("a", "b", "c"), ("c", "a", "b")), "c") == 2 - 2
    assert imbalance((("a", "b", "c"), ("a", "b", "c")), "c") == 4
