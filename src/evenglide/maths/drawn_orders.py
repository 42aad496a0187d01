r"""Orders drawn at random from a set: the sums of each, without making the orders themselves.

Notation as in `evenglide.maths.order_sets`. Small blocks are joined to tables of the sums of all their
orders, so one drawn place in a table draws several blocks at once. A large block is cut into parts; how
many labels each gets is drawn from the multivariate hypergeometric distribution, and then a place among
the part's subsets of that size. Every order is equally likely. Orders that break the restriction or have no
estimate are drawn again.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np

from evenglide.maths.half_sums import coefficients
from evenglide.maths.order_sets import OrderSet
from evenglide.maths.orders import block_sums, outer_sum, subset_sums
from evenglide.typing import FloatArray, IntArray

SEED = 20_261_126
"""Seed of the draws: the same data give the same p."""
TABLE = 2**12
"""Sums in a table at most, unless one block needs more; a row of so many stays in the fast cache."""
PART = 14
"""Units of a part of a large block."""
SHARES = 2**12
"""Ways to share the labels of a large block out over its parts that are listed at most."""
SHARE_DRAWN = 7
"""Numbers that are added up while it is drawn how many labels one part gets (measured)."""
DRAWN = 2**15
"""Orders drawn together."""
TRIES = 400
"""Draws per draw wanted before orders that do not count end the drawing."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Table:
    """Sums of all orders of some blocks, shape (c, ways)."""

    sums: FloatArray

    def add_to(self, total: FloatArray, rng: np.random.Generator) -> None:
        place = rng.integers(self.sums.shape[1], size=total.shape[1])
        for at, sums in enumerate(self.sums):
            total[at] += sums[place]


@dataclass(frozen=True, slots=True, kw_only=True)
class _LargeBlock:
    """A block cut into parts: the subset sums of each, one number of members after the other.

    ``shares`` lists all ways to share the labels out over the parts, shape (ways, parts), with their
    chances; None where these are too many, and each order's share is drawn by itself.
    """

    sizes: tuple[int, ...]
    marked: int
    sums: tuple[FloatArray, ...]
    starts: tuple[IntArray, ...]
    shares: tuple[IntArray, FloatArray] | None
    shuffled: bool

    def add_to(self, total: FloatArray, rng: np.random.Generator) -> None:
        many = total.shape[1]
        members = self._members(many, rng)
        for sums, starts, count in zip(self.sums, self.starts, members, strict=True):
            first = starts[count]
            place = first + (rng.random(many) * (starts[count + 1] - first)).astype(np.int64)
            for at, values in enumerate(sums):
                total[at] += values[place]

    def _members(self, many: int, rng: np.random.Generator) -> IntArray:
        """Labels of each part in each order, shape (parts, many)."""
        if self.shares is None:
            drawn = rng.multivariate_hypergeometric(self.sizes, self.marked, size=many, method="marginals")
            return np.asarray(drawn.T)
        ways, chances = self.shares
        which = np.repeat(np.arange(len(ways)), rng.multinomial(many, chances))
        if self.shuffled:  # a second block in the same order as the first would go along with it
            rng.shuffle(which)
        return np.asarray(ways.T[:, which])


def draw_statistics(
    orders: OrderSet, *, draws: int, overlap: bool, rng: np.random.Generator
) -> Iterator[tuple[FloatArray, FloatArray]]:
    """Coefficient and overlap of orders drawn with equal chances, in chunks.

    Parameters
    ----------
    orders : OrderSet
    draws : int
        Orders wanted; fewer come where nearly none that is drawn counts.
    overlap : bool
        Whether the overlap is wanted; without, the second of each pair is the first.
    rng : numpy.random.Generator

    Yields
    ------
    tuple of array of float, shape (k,)
        Coefficient [unit of y] and overlap with the observed order. [1]
    """
    rule = orders.restriction
    rows = [orders.columns[:1], *([orders.columns[1:2]] if overlap else []), orders.columns[2:]]
    rows += [] if rule is None else [rule.weights[np.newaxis].astype(np.float64)]
    parts = _parts(np.concatenate(rows), orders.blocks, orders.marked)
    second, missing = int(overlap), draws
    for _ in range(TRIES * math.ceil(draws / DRAWN)):
        sums = np.zeros((sum(len(row) for row in rows), min(DRAWN, missing) if rule is None else DRAWN))
        for part in parts:
            part.add_to(sums, rng)
        if rule is not None:  # sums of whole numbers are exact in floating point
            sums = sums[:-1, np.abs(rule.offset + sums[-1]) <= rule.largest]
        if orders.has_items:
            square = np.einsum("ij,ij->j", sums[second + 1 :], sums[second + 1 :])
            found = coefficients(orders, sums[0], sums[second], square=square)
        else:
            found = sums[0] / orders.weight, sums[second] / orders.weight
        if len(found[0]) > missing:  # orders do not come in random order: any of them may be left out
            kept = rng.permutation(len(found[0]))[:missing]
            found = found[0][kept], found[1][kept]
        yield found
        missing -= len(found[0])
        if missing <= 0:
            return


def work_of(orders: OrderSet) -> int:
    """Numbers added up for one order that is drawn, or what costs as much.

    Parameters
    ----------
    orders : OrderSet

    Returns
    -------
    int
    """
    ways = [math.comb(size, count) for size, count in zip(orders.sizes, orders.marked, strict=True)]
    small = sum(math.log(way) for way in ways if way <= TABLE)
    large = [math.ceil(size / PART) for size, way in zip(orders.sizes, ways, strict=True) if way > TABLE]
    unlisted = sum(parts for parts in large if (PART + 1) ** (parts - 1) > SHARES)
    places = math.ceil(small / math.log(TABLE)) + sum(large)
    return places * len(orders.columns) + SHARE_DRAWN * unlisted


def _parts(
    columns: FloatArray, blocks: Sequence[IntArray], marked: Sequence[int]
) -> list[_Table | _LargeBlock]:
    parts: list[_Table | _LargeBlock] = []
    table = np.zeros((len(columns), 1))
    for units, count in zip(blocks, marked, strict=True):
        ways = math.comb(len(units), count)
        if ways > TABLE:
            shuffled = any(isinstance(part, _LargeBlock) for part in parts)
            parts.append(_large_block(columns[:, units], count, shuffled=shuffled))
            continue
        if table.shape[1] * ways > TABLE:
            parts.append(_Table(sums=table))
            table = np.zeros((len(columns), 1))
        table = outer_sum(table, block_sums(columns[:, units], count))
    return [*parts, _Table(sums=table)] if table.shape[1] > 1 else parts


def _large_block(columns: FloatArray, marked: int, *, shuffled: bool) -> _LargeBlock:
    pieces = np.array_split(columns, math.ceil(columns.shape[1] / PART), axis=1)
    by_count = [subset_sums(piece, piece.shape[1]) for piece in pieces]
    sizes = tuple(piece.shape[1] for piece in pieces)
    return _LargeBlock(
        sizes=sizes,
        marked=marked,
        sums=tuple(np.concatenate(lists, axis=1) for lists in by_count),
        starts=tuple(np.cumsum([0, *(part.shape[1] for part in lists)]) for lists in by_count),
        shares=_shares(sizes, marked) if math.prod(size + 1 for size in sizes[1:]) <= SHARES else None,
        shuffled=shuffled,
    )


def _shares(sizes: Sequence[int], marked: int) -> tuple[IntArray, FloatArray]:
    """All ways to share labels out over parts, and the chance of each."""
    ways = [
        (marked - sum(rest), *rest)
        for rest in product(*(range(size + 1) for size in sizes[1:]))
        if 0 <= marked - sum(rest) <= sizes[0]
    ]
    orders = [math.prod(map(math.comb, sizes, way)) for way in ways]
    chances = np.array([number / sum(orders) for number in orders])  # exact integers first
    return np.array(ways, dtype=np.int64), chances / chances.sum()
