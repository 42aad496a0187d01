r"""Sums over units for every order in which a label could have been given out within blocks.

Notation: c numbers per unit, component-first, shape (c, n); block b holds given units of which a given
number is marked. An order marks that many units in each block. A sum over marked units adds up over any
two parts of the units, so the sums of all orders are the outer sums of two short lists, each about as
long as the square root of the number of orders.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import lru_cache
from itertools import combinations

import numpy as np

from evenglide.typing import FloatArray, IntArray

SMALL_BLOCK = 8
"""Partial orders of so many units come from a kept table, those of more units from two halves."""


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

    The largest block is cut in two, which gives a pair of lists for each way to share out its marks. The
    other blocks go whole to the side that has fewer partial orders.

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
    sizes = [math.comb(len(units), count) for units, count in zip(blocks, marked, strict=True)]
    largest, *others = sorted(range(len(sizes)), key=lambda at: -sizes[at])
    none = np.zeros((len(columns), 1))
    sides = [none, none]
    for at in others:
        side = int(sides[0].shape[1] > sides[1].shape[1])
        sides[side] = _outer_sum(sides[side], _block_sums(columns[:, blocks[at]], marked[at]))
    cut, count = columns[:, blocks[largest]], marked[largest]
    half, few = cut.shape[1] // 2, min(count, cut.shape[1] - count)
    first, second = (
        _complements(part, _subset_sums(part, few)) if few < count else _subset_sums(part, few)
        for part in (cut[:, :half], cut[:, half:])
    )
    return [
        (_outer_sum(sides[0], left), _outer_sum(sides[1], right))
        for left, right in _matching(first, second, few)
    ]


@lru_cache(maxsize=256)
def _table(size: int, marked: int) -> FloatArray:
    """All ways to mark `marked` of `size` units, shape (size, ways)."""
    ways = list(combinations(range(size), marked))
    table = np.zeros((size, len(ways)))
    if marked:
        table[np.array(ways).T, np.arange(len(ways))] = 1.0
    table.flags.writeable = False
    return table


def _outer_sum(left: FloatArray, right: FloatArray) -> FloatArray:
    return np.asarray((left[:, :, np.newaxis] + right[:, np.newaxis, :]).reshape(len(left), -1))


def _subset_sums(columns: FloatArray, most: int) -> list[FloatArray]:
    """Sums over all subsets of the units with 0, 1, ... `most` members, each shape (c, ways)."""
    size = columns.shape[1]
    most = min(most, size)
    if size <= SMALL_BLOCK:
        return [columns @ _table(size, members) for members in range(most + 1)]
    first = _subset_sums(columns[:, : size // 2], most)
    second = _subset_sums(columns[:, size // 2 :], most)
    return [
        np.concatenate([_outer_sum(left, right) for left, right in _matching(first, second, members)], axis=1)
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


def _block_sums(columns: FloatArray, marked: int) -> FloatArray:
    """Sums over the marked units of one block for all its orders, shape (c, ways)."""
    size: int = columns.shape[1]
    if 2 * marked <= size:
        return _subset_sums(columns, marked)[marked]
    return _complements(columns, _subset_sums(columns, size - marked))[size - marked]
