r"""Sums over units for every order in which a label could have been given out within blocks.

Notation: c numbers per unit, component-first, shape (c, n); block b holds given units of which a given
number is marked. An order marks that many units in each block. A sum over marked units adds up over any
two parts of the units, so the sums of all orders are the outer sums of two short lists, each about as
long as the square root of the number of orders.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations

import numpy as np

from evenglide.typing import FloatArray, IntArray

SMALL_BLOCK = 8
"""Partial orders of so many units come from a kept table, those of more units from two halves."""
LARGE_BLOCK = 64
"""The place of the cut is looked for in blocks of at most so many units."""


def number_of_orders(sizes: Sequence[int], marked: Sequence[int]) -> int:
    """Number of ways to mark a given number of units in each block.

    Parameters
    ----------
    sizes : sequence of int
        Units of each block.
    marked : sequence of int
        Units marked in each block.

    Returns
    -------
    int
        Exact, of any size.

    Examples
    --------
    >>> number_of_orders([2, 2, 2], [1, 1, 1]), number_of_orders([40], [20])
    (8, 137846528820)
    """
    return math.prod(math.comb(size, count) for size, count in zip(sizes, marked, strict=True))


def order_halves(
    columns: FloatArray, blocks: Sequence[IntArray], *, marked: Sequence[int]
) -> list[tuple[FloatArray, FloatArray]]:
    """Pairs of lists of partial sums whose outer sums are the sums of all orders, each order once.

    The largest block is cut in two where that keeps the lists shortest, which gives a pair of lists for each
    way to share out its marks. The other blocks go whole to the side that has fewer partial orders.

    Parameters
    ----------
    columns : array of float, shape (c, n)
        Numbers to be summed over the marked units.
    blocks : sequence of array of int
        Units of each block, at least one block.
    marked : sequence of int
        Units marked in each block.

    Returns
    -------
    list of tuple of (array of float, shape (c, a), array of float, shape (c, b))
        ``left[:, i] + right[:, j]`` is the sum of one order.

    Examples
    --------
    >>> halves = order_halves(np.array([[1.0, 2.0, 4.0]]), [np.array([0, 1, 2])], marked=[2])
    >>> sorted(float(l + r) for left, right in halves for l in left[0] for r in right[0])
    [3.0, 5.0, 6.0]
    """
    plan = _cut_in_halves([len(units) for units in blocks], marked)
    sides = [np.zeros((len(columns), 1))] * 2
    for at, side in plan.whole:
        sides[side] = outer_sum(sides[side], block_sums(columns[:, blocks[at]], marked[at]))
    cut, count = columns[:, blocks[plan.largest]], marked[plan.largest]
    few = min(count, cut.shape[1] - count)
    first, second = (
        _complements(part, subset_sums(part, few)) if few < count else subset_sums(part, few)
        for part in (cut[:, : plan.cut], cut[:, plan.cut :])
    )
    return [
        (outer_sum(sides[0], left), outer_sum(sides[1], right))
        for left, right in _matching(first, second, few)
    ]


def length_of_halves(sizes: Sequence[int], marked: Sequence[int]) -> int:
    """Numbers per column that the lists of `order_halves` hold together, without making them.

    Parameters
    ----------
    sizes : sequence of int
        Units of each block.
    marked : sequence of int
        Units marked in each block.

    Returns
    -------
    int

    Examples
    --------
    >>> length_of_halves([2] * 20, [1] * 20)
    2048
    """
    return _cut_in_halves(sizes, marked).length


def orders_by_weight(weights: Sequence[Sequence[int]], marked: Sequence[int]) -> Counter[int]:
    """Count the orders by the sum of whole-number weights of their marked units, unit by unit.

    Parameters
    ----------
    weights : sequence of sequence of int
        Weights of the units of each block.
    marked : sequence of int
        Units marked in each block.

    Returns
    -------
    Counter
        Exact number of orders for each sum that occurs.

    Examples
    --------
    >>> sorted(orders_by_weight([[-1, 1], [-1, 1]], [1, 1]).items())
    [(-2, 1), (0, 2), (2, 1)]
    """
    counts = Counter({0: 1})
    for block, count in zip(weights, marked, strict=True):
        by_members = [Counter({0: 1}), *(Counter[int]() for _ in range(count))]
        for weight in block:
            for members in range(count, 0, -1):
                for before, ways in by_members[members - 1].items():
                    by_members[members][before + weight] += ways
        longer: Counter[int] = Counter()
        for before, ways in counts.items():
            for added, more in by_members[count].items():
                longer[before + added] += ways * more
        counts = longer
    return counts


@dataclass(frozen=True, slots=True, kw_only=True)
class _Cut:
    """Which block is cut after how many units, which go whole to which side, and what it all adds up to."""

    largest: int
    cut: int
    whole: tuple[tuple[int, int], ...]
    length: int


def _cut_in_halves(sizes: Sequence[int], marked: Sequence[int]) -> _Cut:
    ways = [math.comb(size, count) for size, count in zip(sizes, marked, strict=True)]
    largest, *others = sorted(range(len(ways)), key=lambda at: -ways[at])
    sides, whole = [1, 1], []
    for at in others:
        side = int(sides[0] > sides[1])
        sides[side] *= ways[at]
        whole.append((at, side))
    size, count = sizes[largest], marked[largest]

    def length(cut: int) -> int:
        taken = range(max(0, count - size + cut), min(count, cut) + 1)
        left = sum(math.comb(cut, few) for few in taken)
        return sides[0] * left + sides[1] * sum(math.comb(size - cut, count - few) for few in taken)

    # Sides differ by less than the largest block's orders, so the best cut lies between its ends.
    cut = min(_places_to_cut(size), key=length)
    return _Cut(largest=largest, cut=cut, whole=tuple(whole), length=length(cut))


def _places_to_cut(size: int) -> Sequence[int]:
    """Every place in a block of usual size, and only the middle of one whose orders nobody will list."""
    return range(size + 1) if size <= LARGE_BLOCK else [size // 2]


@lru_cache(maxsize=256)
def _table(size: int, marked: int) -> FloatArray:
    """All ways to mark `marked` of `size` units, shape (size, ways)."""
    ways = list(combinations(range(size), marked))
    table = np.zeros((size, len(ways)))
    if marked:
        table[np.array(ways).T, np.arange(len(ways))] = 1.0
    table.flags.writeable = False
    return table


def outer_sum(left: FloatArray, right: FloatArray) -> FloatArray:
    """Sums of each entry of one list with each of another, shape (c, ways of both)."""
    return np.asarray((left[:, :, np.newaxis] + right[:, np.newaxis, :]).reshape(len(left), -1))


def subset_sums(columns: FloatArray, most: int) -> list[FloatArray]:
    """Sums over all subsets of the units with 0, 1, ... `most` members, each shape (c, ways)."""
    size = columns.shape[1]
    most = min(most, size)
    if size <= SMALL_BLOCK:
        return [columns @ _table(size, members) for members in range(most + 1)]
    first = subset_sums(columns[:, : size // 2], most)
    second = subset_sums(columns[:, size // 2 :], most)
    return [
        np.concatenate([outer_sum(left, right) for left, right in _matching(first, second, members)], axis=1)
        for members in range(most + 1)
    ]


def _matching(
    first: list[FloatArray], second: list[FloatArray], members: int
) -> list[tuple[FloatArray, FloatArray]]:
    """Pairs of lists, one of each half, whose members add up."""
    return [
        (left, second[members - taken])
        for taken, left in enumerate(first)
        if 0 <= members - taken < len(second)
    ]


def _complements(columns: FloatArray, sums: list[FloatArray]) -> list[FloatArray]:
    """Sums over the units that are not in each subset."""
    whole: FloatArray = columns.sum(axis=1, keepdims=True)
    return [whole - each for each in sums]


def block_sums(columns: FloatArray, marked: int) -> FloatArray:
    """Sums over the marked units of one block for all its orders, shape (c, ways)."""
    size: int = columns.shape[1]
    if 2 * marked <= size:
        return subset_sums(columns, marked)[marked]
    return _complements(columns, subset_sums(columns, size - marked))[size - marked]
