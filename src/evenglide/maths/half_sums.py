r"""Sums of all orders of a set, kept as two halves: counting and picking among them without listing them.

Notation as in `evenglide.maths.order_sets`. A sum over marked units is the sum of its parts over two
halves of the units. With one list of partial sums for each half, both sorted, the orders whose sum lies
beyond a threshold are counted by looking up, for each entry of one list, how many of the other reach what
is missing (meeting in the middle; Horowitz & Sahni 1974): about :math:`\sqrt R` steps for R orders.

A restriction :math:`|L| \le L_{max}` couples the halves. Entries are grouped by their part of L, and only
groups whose parts add up to no more than the limit are joined, so every combination of entries that is
counted is an order of the set.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from evenglide.maths.order_sets import VANISHES, OrderSet, Restriction
from evenglide.maths.orders import order_halves
from evenglide.typing import FloatArray, IntArray

CHUNK = 2**17
"""Orders looked at together; three arrays of this length stay in the cache."""


@dataclass(frozen=True, slots=True, kw_only=True)
class HalfSums:
    """Two halves of all orders.

    Parameters
    ----------
    left, right : tuple of array of float, shape (c, entries)
        Lists of partial sums, component-first.
    joins : array of int, shape (joins, 2)
        Which list of the left belongs to which of the right: each entry of one with each of the other is
        one order.
    mirrored : bool
        For every order the set holds its reverse, whose first two sums have the other sign.
    """

    left: tuple[FloatArray, ...]
    right: tuple[FloatArray, ...]
    joins: IntArray
    mirrored: bool

    def lengths(self) -> IntArray:
        """Return the number of orders of each join."""
        ways = [self.left[i].shape[1] * self.right[j].shape[1] for i, j in self.joins]
        return np.array(ways, dtype=np.int64)

    def number(self) -> int:
        """Return the number of orders."""
        return int(self.lengths().sum())


def half_sums(orders: OrderSet, *, rows: int | None = None) -> HalfSums:
    """List the partial sums of a set of orders.

    Parameters
    ----------
    orders : OrderSet
    rows : int or None
        Only the first so many columns of the set.

    Returns
    -------
    HalfSums
    """
    columns, rule = orders.columns[:rows], orders.restriction
    if rule is None:
        pairs = order_halves(columns, orders.blocks, marked=orders.marked)
        joins = np.repeat(np.arange(len(pairs)), 2).reshape(-1, 2)
        return HalfSums(
            left=tuple(left for left, _ in pairs),
            right=tuple(right for _, right in pairs),
            joins=joins,
            mirrored=orders.has_mirror_images,
        )
    weighted = np.concatenate([columns, [rule.weights]])
    left: list[FloatArray] = []
    right: list[FloatArray] = []
    joined: list[tuple[int, int]] = []
    for pair in order_halves(weighted, orders.blocks, marked=orders.marked):
        first, second = (_by_weight(part) for part in pair)
        for i, one in enumerate(first):
            fits = (len(right) + j for j, other in enumerate(second) if _keeps(rule, one[0] + other[0]))
            joined += [(len(left) + i, place) for place in fits]
        left += [part for _, part in first]
        right += [part for _, part in second]
    return HalfSums(
        left=tuple(left),
        right=tuple(right),
        joins=np.array(joined, dtype=np.int64).reshape(-1, 2),
        mirrored=orders.has_mirror_images,
    )


def _by_weight(sums: FloatArray) -> list[tuple[int, FloatArray]]:
    """Split a list by the last of its sums, a whole number and exact in floating point."""
    order = np.argsort(sums[-1], kind="stable")
    weights, first = np.unique(sums[-1][order], return_index=True)
    parts = np.split(sums[:-1, order], first[1:], axis=1)
    return [(round(weight), part) for weight, part in zip(weights.tolist(), parts, strict=True)]


def _keeps(rule: Restriction, weight: int) -> bool:
    return abs(rule.offset + weight) <= rule.largest


def count_beyond(halves: HalfSums, threshold: float, *, shift: float = 0.0) -> int:
    r"""Count the orders whose first sum, less `shift` times the second, is at least a threshold in size.

    Parameters
    ----------
    halves : HalfSums
        With two sums per entry, or one if `shift` is nought.
    threshold : float
    shift : float

    Returns
    -------
    int
        Exact.
    """
    if threshold <= 0.0:
        return halves.number()
    left, right = _sorted(halves.left, shift), _sorted(halves.right, shift)
    upper = lower = 0
    for i, j in halves.joins:
        upper += len(left[i]) * len(right[j])
        upper -= int(np.searchsorted(right[j], threshold - left[i], "left").sum())
        if not halves.mirrored:
            lower += int(np.searchsorted(right[j], -threshold - left[i], "right").sum())
    return 2 * upper if halves.mirrored else upper + lower


def _sorted(lists: tuple[FloatArray, ...], shift: float) -> list[FloatArray]:
    # Both sides sorted: neighbours in one list meet neighbours in the other, which the cache holds.
    return [np.sort(part[0] - shift * part[1] if shift else part[0]) for part in lists]


def statistics(orders: OrderSet, halves: HalfSums) -> Iterator[tuple[FloatArray, FloatArray]]:
    """Coefficient and overlap of every order that has an estimate, in chunks.

    Parameters
    ----------
    orders : OrderSet
    halves : HalfSums
        Of all its columns.

    Yields
    ------
    tuple of array of float, shape (orders of the chunk,)
        Coefficient [unit of y] and overlap with the observed order. [1]
    """
    for i, j in halves.joins:
        left, right = halves.left[i], halves.right[j]
        rows = max(1, CHUNK // right.shape[1])
        for start in range(0, left.shape[1], rows):
            part = left[:, start : start + rows]
            top = part[0][:, np.newaxis] + right[0]
            overlap = part[1][:, np.newaxis] + right[1]
            if not orders.has_items:
                yield (top / orders.weight).ravel(), (overlap / orders.weight).ravel()
                continue
            square = sum(np.add.outer(a, b) ** 2 for a, b in zip(part[2:], right[2:], strict=True))
            yield coefficients(orders, top.ravel(), overlap.ravel(), square=np.asarray(square).ravel())


def coefficients(
    orders: OrderSet, top: FloatArray, overlap: FloatArray, *, square: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Divide by what items leave of the label; orders without an estimate are left out.

    Parameters
    ----------
    orders : OrderSet
    top, overlap : array of float, shape (k,)
        First two sums of each order.
    square : array of float, shape (k,)
        Squared length of its sums over Q.

    Returns
    -------
    tuple of array of float
        Coefficient and overlap.
    """
    denominator = orders.weight - square
    exists = denominator > VANISHES * orders.weight
    if exists.all():
        return top / denominator, overlap / denominator
    return top[exists] / denominator[exists], overlap[exists] / denominator[exists]


def pick(halves: HalfSums, size: int, *, rng: np.random.Generator) -> FloatArray:
    """Draw orders with equal chances and give their sums.

    Parameters
    ----------
    halves : HalfSums
    size : int
    rng : numpy.random.Generator

    Returns
    -------
    array of float, shape (c, size)
        In no random order.
    """
    lengths = halves.lengths()
    sums = np.empty((len(halves.left[0]), size))
    start = 0
    for (i, j), many in zip(halves.joins, rng.multinomial(size, lengths / lengths.sum()), strict=True):
        at = slice(start, start + int(many))
        left = rng.integers(halves.left[i].shape[1], size=many)
        right = rng.integers(halves.right[j].shape[1], size=many)
        for row, a, b in zip(sums, halves.left[i], halves.right[j], strict=True):
            np.add(a[left], b[right], out=row[at])
        start = at.stop
    return sums
