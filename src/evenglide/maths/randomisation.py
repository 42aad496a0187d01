r"""Exact randomisation test and interval for a label that was drawn within blocks.

Notation. Units i = 1..n with values :math:`y_i`, a block each, perhaps an item each; :math:`z_i` is 1 for
units that carry the label. Every order (way to give the labels out) with the same number of labels in
each block was equally likely. :math:`M` centres within blocks, :math:`Q` is an orthonormal basis of the
block-centred item columns, block b has :math:`n_1` units with and :math:`n_0` without the label and
:math:`w_b = n_1 n_0/(n_1 + n_0)`. The statistic is the least-squares coefficient of z beside block and
item columns,

.. math:: T_z = \frac{z^\top (I - QQ^\top) M y}{D_z}, \qquad D_z = \sum_b w_b - |Q^\top z|^2 .

Its numerator, its overlap with the observed order and :math:`Q^\top z` are sums over units, so all orders
are reached by adding every partial order of one half of the units to every one of the other half.
An order with :math:`D_z = 0` has no estimate; it could not have been drawn and is never counted.

Test: p is the share of orders with :math:`|T_z| \ge |T|`, T the observed one. Interval: all shifts
:math:`\delta` for which the same test of :math:`y - \delta z` has p above the level.

Reference: Edgington & Onghena, Randomization Tests (2007), chapters 3 to 5 and 14.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations
from typing import Literal

import numpy as np

from evenglide.maths.blocks import centred, centred_basis, compact, holds_both
from evenglide.maths.orders import number_of_orders, order_halves
from evenglide.typing import BoolArray, FloatArray, IntArray, Interval

ENUMERATION_LIMIT = 2**22
"""More orders than this are not enumerated: two numbers per order are kept, 64 MB here."""
TIE_TOLERANCE = 1e-9
"""Share of the largest centred value within which two statistics are the same: exact ties decide
discrete probabilities, and sums of decimals miss them by about 1e-16."""
ROUNDINGS = 4
"""Differences below so many rounding errors of a value are noise of the arithmetic."""
VANISHES = 1e-9
"""Share of the sum of block weights below which a denominator is zero."""
CHUNK = 2**17
"""Orders looked at together; three arrays of this length stay in the cache."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Restriction:
    r"""A rule under which orders were drawn: :math:`|o + \sum_i z_i s_i| \le L`.

    Parameters
    ----------
    weights : array of int, shape (n,)
        :math:`s_i` of each unit, such as twice its place in time less the block's middle.
    largest : int
        :math:`L`.
    offset : int
        :math:`o`, what units that are not there add; they are held as they were.
    """

    weights: IntArray
    largest: int
    offset: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class RandomisationTest:
    """Answer of a randomisation test.

    Parameters
    ----------
    estimate : float
        Least-squares coefficient of the label. [unit of y]
    assignments : int
        Orders that could have been drawn. [1]
    log10_assignments : float
        Its decimal logarithm. [1]
    smallest_p : float
        Least p that any data could give: two orders of the set where each has its mirror image in it,
        else one. [1]
    p : float or None
        Two-sided probability; None beyond the limit of enumeration. [1]
    interval : tuple of (float or None, float or None), or None
        Limits, None for an unbounded end; None as a whole when no end is bounded. [unit of y]
    method : "exact" or None
        How `p` was found.
    """

    estimate: float
    assignments: int
    log10_assignments: float
    smallest_p: float
    p: float | None
    interval: Interval | None
    method: Literal["exact"] | None


@dataclass(frozen=True, slots=True, kw_only=True)
class _Orders:
    """Everything that the sums over orders need.

    ``columns`` holds per unit, component-first: residual of y, residual of z, basis Q, and last the
    weights of the restriction if there is one.
    """

    columns: FloatArray
    blocks: tuple[IntArray, ...]
    marked: tuple[int, ...]
    weight: float
    estimate: float
    tolerance: float
    restriction: Restriction | None


def randomisation_test(
    y: FloatArray,
    z: BoolArray,
    *,
    block: IntArray,
    item: IntArray | None = None,
    level: float = 0.05,
    limit: int = ENUMERATION_LIMIT,
    restriction: Restriction | None = None,
) -> RandomisationTest | None:
    r"""Test by the orders that could have been drawn, and invert the test to an interval.

    Blocks without both labels say nothing and are left out.

    Parameters
    ----------
    y : array of float, shape (n,)
        Values.
    z : array of bool, shape (n,)
        True for units that carry the label.
    block : array of int, shape (n,)
        Block of each unit.
    item : array of int, shape (n,), or None
        Item of each unit, if items get columns.
    level : float
        The interval has confidence ``1 - level``. [1]
    limit : int
        Most orders to enumerate, before a restriction. [1]
    restriction : Restriction or None
        Rule that every order of the set keeps; blocks that are left out are held as they were.

    Returns
    -------
    RandomisationTest or None
        None if no block holds both labels, or the observed order has no estimate or breaks the
        restriction.

    Notes
    -----
    Beyond `limit`, `p` and `interval` are None and `assignments` is the product of the blocks' numbers of
    orders; with items, orders that have no estimate are not subtracted there.

    For order z with overlap :math:`k_z` (its coefficient when y is the observed z), the shift
    :math:`\delta` makes z as extreme as the observed order between
    :math:`(T - T_z)/(1 - k_z)` and :math:`(T + T_z)/(1 + k_z)`. All these spans hold T, so the limits are
    order statistics of their ends, number :math:`k = \lfloor \text{level} \cdot R \rfloor` of R orders
    counted without the observed one. With items :math:`|k_z| > 1` can happen; z then counts outside the
    two, and the limits are the outermost shifts that are not rejected.

    Examples
    --------
    Three pairs have 8 orders; the observed one and its mirror image are the most extreme.

    >>> y = np.array([1.0, 2.0, 3.0, 5.0, 4.0, 7.0])
    >>> z = np.array([False, True, False, True, False, True])
    >>> found = randomisation_test(y, z, block=np.array([0, 0, 1, 1, 2, 2]), level=0.25)
    >>> found.estimate, found.assignments, found.p, found.smallest_p
    (2.0, 8, 0.25, 0.25)
    >>> found.interval
    (1.0, 3.0)
    """
    z = np.asarray(z, dtype=np.bool_)
    block = np.asarray(block)
    orders = _prepare(np.asarray(y, dtype=np.float64), z, block=block, item=item, restriction=restriction)
    if orders is None:
        return None
    sizes = [len(units) for units in orders.blocks]
    total = number_of_orders(sizes, orders.marked)
    mirrored = all(2 * count == size for size, count in zip(sizes, orders.marked, strict=True))
    if orders.restriction is not None and orders.restriction.offset:
        mirrored = False
    enumerated = _enumerate(orders, total) if total <= limit else None
    counted = _number(orders, total) if enumerated is None else len(enumerated.low)
    return RandomisationTest(
        estimate=orders.estimate,
        assignments=counted,
        log10_assignments=math.log10(counted),
        smallest_p=(2 if mirrored else 1) / counted,
        p=None if enumerated is None else enumerated.hits / counted,
        interval=None if enumerated is None else _interval(enumerated, level),
        method=None if enumerated is None else "exact",
    )


def _prepare(
    y: FloatArray,
    z: BoolArray,
    *,
    block: IntArray,
    item: IntArray | None,
    restriction: Restriction | None,
) -> _Orders | None:
    used = holds_both(compact(block), z)
    if not used.any():
        return None
    if restriction is not None:
        held = int(restriction.weights[~used & z].sum())
        restriction = Restriction(
            weights=restriction.weights[used], largest=restriction.largest, offset=restriction.offset + held
        )
        if abs(restriction.offset + int(restriction.weights[z[used]].sum())) > restriction.largest:
            return None
    y, z, block = y[used], z[used], compact(block[used])
    basis = centred_basis(None if item is None else np.asarray(item)[used], block)
    both = np.stack([centred(y, block), centred(z.astype(np.float64), block)])
    residual = both - (both @ basis) @ basis.T
    weight = float(both[1] @ both[1])
    spread = float(residual[1] @ residual[1])
    if spread <= VANISHES * weight:
        return None
    grouped = np.split(np.argsort(block, kind="stable"), np.cumsum(np.bincount(block))[:-1])
    rounding = ROUNDINGS * np.finfo(np.float64).eps * float(np.abs(y).max())
    return _Orders(
        columns=np.concatenate(
            [residual, basis.T, *([] if restriction is None else [[restriction.weights]])]
        ),
        blocks=tuple(grouped),
        marked=tuple(int(z[units].sum()) for units in grouped),
        weight=weight,
        estimate=float(z @ residual[0]) / spread,
        tolerance=max(TIE_TOLERANCE * float(np.abs(both[0]).max()), rounding),
        restriction=restriction,
    )


def _number(orders: _Orders, total: int) -> int:
    """Count the orders of a set too large to enumerate: sums of weights, block by block."""
    rule = orders.restriction
    if rule is None:
        return total
    counts = Counter({rule.offset: 1})
    for units, marked in zip(orders.blocks, orders.marked, strict=True):
        own = Counter(sum(some) for some in combinations(rule.weights[units].tolist(), marked))
        longer: Counter[int] = Counter()
        for before, ways in counts.items():
            for added, more in own.items():
                longer[before + added] += ways * more
        counts = longer
    return sum(ways for weight, ways in counts.items() if abs(weight) <= rule.largest)


def _statistics(orders: _Orders) -> Iterator[tuple[FloatArray, FloatArray]]:
    """Coefficient and overlap of every order that has an estimate, in chunks."""
    rule = orders.restriction
    last = None if rule is None else -1
    for left, right in order_halves(orders.columns, orders.blocks, marked=orders.marked):
        rows = max(1, CHUNK // right.shape[1])
        basis = right[2:last]
        square = np.einsum("ij,ij->j", basis, basis)
        for start in range(0, left.shape[1], rows):
            part = left[:, start : start + rows]
            top = part[0][:, np.newaxis] + right[0]
            overlap = part[1][:, np.newaxis] + right[1]
            if rule is None and len(part) == 2:
                yield (top / orders.weight).ravel(), (overlap / orders.weight).ravel()
                continue
            here = part[2:last]
            own = np.einsum("ij,ij->j", here, here)
            denominator = orders.weight - own[:, np.newaxis] - square - 2.0 * (here.T @ basis)
            exists = denominator > VANISHES * orders.weight
            if rule is not None:  # sums of whole numbers are exact in floating point
                exists &= np.abs(rule.offset + part[-1][:, np.newaxis] + right[-1]) <= rule.largest
            yield top[exists] / denominator[exists], overlap[exists] / denominator[exists]


# ------------------------------------------------------------------------------ test and interval


@dataclass(frozen=True, slots=True, kw_only=True)
class _Enumerated:
    """Hits of the test, and the two shifts between which each order counts, or beyond which (`outside`)."""

    hits: int
    low: FloatArray
    high: FloatArray
    outside: BoolArray | None


def _enumerate(orders: _Orders, total: int) -> _Enumerated:
    low, high = np.empty(total), np.empty(total)
    outside = np.zeros(total, dtype=np.bool_)
    hits = filled = 0
    for statistic, overlap in _statistics(orders):
        at = slice(filled, filled + len(statistic))
        filled = at.stop
        hits += int(np.count_nonzero(np.abs(statistic) >= abs(orders.estimate) - orders.tolerance))
        low[at], high[at] = _spans(statistic, overlap, orders=orders)
        np.greater(np.abs(overlap), 1.0 + VANISHES, out=outside[at])
    outside = outside[:filled]
    return _Enumerated(
        hits=hits, low=low[:filled], high=high[:filled], outside=outside if outside.any() else None
    )


def _spans(statistic: FloatArray, overlap: FloatArray, *, orders: _Orders) -> tuple[FloatArray, FloatArray]:
    """Shifts at which an order is exactly as extreme as the observed one, sorted.

    An order that is the observed one or its mirror image for the estimate counts at every shift. Where
    only the overlap is 1 or -1, one of the two shifts is infinite.
    """
    with np.errstate(divide="ignore", invalid="ignore"):
        same = _ratio(orders.estimate - statistic, 1.0 - overlap, orders.tolerance)
        mirror = _ratio(orders.estimate + statistic, 1.0 + overlap, orders.tolerance)
        low, high = np.minimum(same, mirror), np.maximum(same, mirror)
    always = np.isnan(low)
    low[always], high[always] = -np.inf, np.inf
    return low, high


def _ratio(above: FloatArray, below: FloatArray, tolerance: float) -> FloatArray:
    """`above` / `below`; infinite where `below` vanishes, NaN where both do."""
    vanishes = np.abs(below) <= VANISHES
    if not vanishes.any():
        return above / below
    ends = np.where(np.abs(above) <= tolerance, np.nan, np.copysign(np.inf, above))
    return np.where(vanishes, ends, above / below)


def _interval(enumerated: _Enumerated, level: float) -> Interval | None:
    """Outermost shifts at which more than `level` of the orders count."""
    needed = math.floor(level * len(enumerated.low) + 1e-9) + 1
    if needed == 1:
        return None
    if enumerated.outside is None:
        low = float(np.partition(enumerated.low, needed - 1)[needed - 1])
        high = float(np.partition(enumerated.high, -needed)[-needed])
    else:
        low = _first_shift(enumerated.low, enumerated.high, enumerated.outside, needed=needed)
        high = -_first_shift(-enumerated.high, -enumerated.low, enumerated.outside, needed=needed)
    if math.isinf(low) and math.isinf(high):
        return None
    return (None if math.isinf(low) else low, None if math.isinf(high) else high)


def _first_shift(low: FloatArray, high: FloatArray, outside: BoolArray, *, needed: int) -> float:
    """Smallest shift at which at least `needed` orders count, when some count outside their two shifts."""
    starts = np.sort(np.where(outside, high, low))
    ends = np.sort(np.where(outside, low, high))
    always = int(np.count_nonzero(outside))
    count = always + np.searchsorted(starts, starts, "right") - np.searchsorted(ends, starts, "left")
    if always + np.count_nonzero(np.isneginf(starts)) - np.count_nonzero(np.isneginf(ends)) >= needed:
        return -math.inf
    return float(starts[np.argmax(count >= needed)])
