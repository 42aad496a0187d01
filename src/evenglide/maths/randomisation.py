r"""Randomisation test and interval for a label that was drawn within blocks.

Notation as in `evenglide.maths.order_sets`: :math:`T_z` is the least-squares coefficient of order z beside
block and item columns, T that of the observed order. An order with :math:`D_z = 0` has no estimate; it could
not have been drawn and is never counted.

Test: p is the share of orders with :math:`|T_z| \ge |T|`. Interval: all shifts :math:`\delta` for which the
same test of :math:`y - \delta z` has p above the level.

Without items :math:`T_z` is a sum over units, and p is counted from two halves of the units without listing
the orders. With items it is a ratio: the orders are listed, or drawn at random where they are too many. The
observed order then counts as one of the draws, which keeps the level exactly: p = (1 + hits)/(draws + 1), and
the interval inverts that same test with the same draws.

References: Edgington & Onghena, Randomization Tests (2007), chapters 3 to 5 and 14; Phipson & Smyth (2010),
Stat. Appl. Genet. Mol. Biol. 9, 39 (the observed order among the draws).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np

from evenglide.maths.drawn_orders import SEED, draw_statistics, work_of
from evenglide.maths.half_sums import count_beyond, half_sums, statistics
from evenglide.maths.order_sets import OrderSet, Restriction, order_set
from evenglide.maths.orders import length_of_halves
from evenglide.maths.shift_limits import Spans
from evenglide.maths.shift_search import interval_by_search
from evenglide.typing import BoolArray, FloatArray, IntArray, Interval

COUNTED = 10**12
"""Without items, orders are counted up to this number."""
HALVES = 2**22
"""Partial sums in the two halves at most, 32 MB a column."""
LISTED = 10**7
"""With items, orders are listed up to this number; two ends of each are kept, 160 MB here."""
LISTED_FOR_INTERVAL = 2**16
"""Without items, more orders than this are not listed for the interval but searched."""
DRAWS = 999_999
"""Orders drawn where they cannot be counted: the standard error of p is at most 0.0005."""
FEWEST_DRAWS = 9_999
WORK = 2**27
"""Numbers added up by drawing at most; of many large blocks fewer orders are drawn."""


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
    p : float
        Two-sided probability. [1]
    interval : tuple of (float or None, float or None), or None
        Limits, None for an unbounded end; None as a whole when no end is bounded. [unit of y]
    method : "exact" or "monte carlo"
        Whether every order was counted, or orders were drawn.
    draws : int or None
        Orders drawn; None if every order was counted. [1]
    standard_error : float or None
        Of `p` from the drawing; None if every order was counted. [1]
    """

    estimate: float
    assignments: int
    log10_assignments: float
    smallest_p: float
    p: float
    interval: Interval | None
    method: Literal["exact", "monte carlo"]
    draws: int | None = None
    standard_error: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PossibleOrders:
    """How many orders could have been drawn, and the least p that they allow.

    Parameters
    ----------
    assignments : int
    smallest_p : float
        [1]
    """

    assignments: int
    smallest_p: float


def randomisation_test(
    y: FloatArray,
    z: BoolArray,
    *,
    block: IntArray,
    item: IntArray | None = None,
    level: float | None = 0.05,
    limit: int | None = None,
    restriction: Restriction | None = None,
    draws: int = DRAWS,
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
    level : float or None
        The interval has confidence ``1 - level``; None for no interval. [1]
    limit : int or None
        Most orders, before a restriction, for an exact answer; None for 10^12 without items, whose p is
        counted from two halves, and 10^7 with items, which are listed.
    restriction : Restriction or None
        Rule that every order of the set keeps; blocks that are left out are held as they were.
    draws : int
        Orders to draw beyond the limit, with a fixed seed so that the same data give the same p; fewer of
        many large blocks.

    Returns
    -------
    RandomisationTest or None
        None if no block holds both labels, or the observed order has no estimate or breaks the
        restriction.

    Notes
    -----
    Beyond the limit, with items, orders that have no estimate are not subtracted from `assignments`; they
    are never among those that are drawn.

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

    Twenty of forty units carry the label; all 137,846,528,820 orders are counted.

    >>> y, z = np.arange(40.0) ** 2, np.arange(40) % 2 == 0
    >>> found = randomisation_test(y, z, block=np.zeros(40, int), level=None)
    >>> found.method, found.assignments, round(found.p, 6)
    ('exact', 137846528820, 0.796666)
    """
    orders = order_set(y, z, block=block, item=item, restriction=restriction)
    if orders is None:
        return None
    if not _countable(orders, limit):
        return _by_draws(orders, level, draws=draws)
    return _by_listing(orders, level) if orders.has_items else _by_counting(orders, level)


def possible_orders(
    z: BoolArray,
    *,
    block: IntArray,
    item: IntArray | None = None,
    restriction: Restriction | None = None,
    limit: int = LISTED,
) -> PossibleOrders | None:
    """Count the orders that could be drawn, before there are values.

    Parameters
    ----------
    z : array of bool, shape (n,)
        One of the orders.
    block : array of int, shape (n,)
    item : array of int, shape (n,), or None
    restriction : Restriction or None
    limit : int
        With items, orders without an estimate are taken off up to so many orders before a restriction.

    Returns
    -------
    PossibleOrders or None
        None where `randomisation_test` gives None.

    Examples
    --------
    Six pairs of two items: in two of 64 orders the label would stay on one item.

    >>> block, item = np.repeat(np.arange(6), 2), np.tile([0, 1], 6)
    >>> z = (item == 1) ^ (block % 2 == 0)
    >>> possible_orders(z, block=block, item=item).assignments
    62
    """
    orders = order_set(np.zeros(len(z)), z, block=block, item=item, restriction=restriction)
    if orders is None:
        return None
    number = orders.number()
    if orders.has_items and orders.unrestricted() <= limit:
        number = sum(len(statistic) for statistic, _ in statistics(orders, half_sums(orders)))
    return PossibleOrders(assignments=number, smallest_p=_smallest_p(orders, number))


def _countable(orders: OrderSet, limit: int | None) -> bool:
    most = (LISTED if orders.has_items else COUNTED) if limit is None else limit
    return orders.unrestricted() <= most and length_of_halves(orders.sizes, orders.marked) <= HALVES


def _smallest_p(orders: OrderSet, number: int) -> float:
    return (2 if orders.has_mirror_images else 1) / number


def _by_counting(orders: OrderSet, level: float | None) -> RandomisationTest:
    """Count orders from two halves, without items."""
    halves = half_sums(orders)
    number = halves.number()
    hits = count_beyond(halves, (abs(orders.estimate) - orders.tolerance) * orders.weight)
    interval = None
    if level is not None and number <= LISTED_FOR_INTERVAL:
        spans = Spans(estimate=orders.estimate, tolerance=orders.tolerance, most=number)
        for statistic, overlap in statistics(orders, halves):
            spans.add(statistic, overlap)
        interval = spans.interval(level)
    elif level is not None:
        interval = interval_by_search(orders, halves, level=level)
    return _exact(orders, number, hits=hits, interval=interval)


def _by_listing(orders: OrderSet, level: float | None) -> RandomisationTest:
    """List the orders one chunk after the other, with items."""
    halves = half_sums(orders)
    keep = 0 if level is None else halves.number()
    spans = Spans(estimate=orders.estimate, tolerance=orders.tolerance, most=keep)
    hits = number = 0
    for statistic, overlap in statistics(orders, halves):
        number += len(statistic)
        hits += _hits(orders, statistic)
        if level is not None:
            spans.add(statistic, overlap)
    return _exact(orders, number, hits=hits, interval=None if level is None else spans.interval(level))


def _exact(orders: OrderSet, number: int, *, hits: int, interval: Interval | None) -> RandomisationTest:
    return RandomisationTest(
        estimate=orders.estimate,
        assignments=number,
        log10_assignments=math.log10(number),
        smallest_p=_smallest_p(orders, number),
        p=hits / number,
        interval=interval,
        method="exact",
    )


def _by_draws(orders: OrderSet, level: float | None, *, draws: int) -> RandomisationTest:
    """Draw orders; the observed one counts as one of them."""
    wanted = min(draws, max(FEWEST_DRAWS, WORK // work_of(orders)))
    source = np.random.Generator(np.random.SFC64(SEED))
    spans = Spans(
        estimate=orders.estimate, tolerance=orders.tolerance, most=0 if level is None else wanted + 1
    )
    hits = drawn = 0
    for statistic, overlap in draw_statistics(orders, draws=wanted, overlap=level is not None, rng=source):
        drawn += len(statistic)
        hits += _hits(orders, statistic)
        if level is not None:
            spans.add(statistic, overlap)
    if level is not None:
        spans.add(np.array([orders.estimate]), np.ones(1))
    p, number = (1 + hits) / (drawn + 1), orders.number()
    return RandomisationTest(
        estimate=orders.estimate,
        assignments=number,
        log10_assignments=math.log10(number),
        smallest_p=_smallest_p(orders, number),
        p=p,
        interval=None if level is None else spans.interval(level),
        method="monte carlo",
        draws=drawn,
        standard_error=math.sqrt(p * (1 - p) / (drawn + 1)),
    )


def _hits(orders: OrderSet, statistic: FloatArray) -> int:
    return int(np.count_nonzero(np.abs(statistic) >= abs(orders.estimate) - orders.tolerance))
