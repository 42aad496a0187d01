r"""Randomisation p of many data sets over one design, by matrix products.

Notation as in `evenglide.maths.order_sets`. The coefficient of order z is a fixed row of weights times the
block-centred values, so with the rows of all orders in a matrix (orders, units) and one data set in each
column of another (units, studies) one product gives every statistic of every study. Where every order has its
reverse in the set, half of the rows serve: the reverse has the same size of statistic.
"""

from __future__ import annotations

import numpy as np

from evenglide.maths.blocks import centred, centred_basis, compact, holds_both
from evenglide.maths.order_sets import VANISHES, OrderSet, Restriction, order_set, tie_tolerance
from evenglide.maths.orders import block_sums, outer_sum
from evenglide.maths.randomisation import randomisation_test
from evenglide.typing import BoolArray, FloatArray, IntArray

LISTED = 2**16
"""Orders listed at most; sets of more are gone through study by study."""
WEIGHTS = 2**22
"""Weights (orders times units) listed at most, 32 MB."""
CHUNK = 2**20
"""Statistics (orders times studies) made at a time, 8 MB."""


def randomisation_chances(
    y: FloatArray,
    z: BoolArray,
    *,
    block: IntArray,
    item: IntArray | None = None,
    restriction: Restriction | None = None,
) -> FloatArray:
    """Two-sided randomisation p of each study, the same as `randomisation_test` gives it, study by study.

    Parameters
    ----------
    y : array of float, shape (n, studies)
        Values, one column for each study.
    z : array of bool, shape (n,) or (n, studies)
        True for units that carry the label: one order that all studies have in common, or each study's own
        (a fresh draw for each). Every order must have the same number of labels in each block.
    block : array of int, shape (n,)
        Block of each unit, in every study.
    item : array of int, shape (n,), or None
        Item of each unit, if items get columns.
    restriction : Restriction or None
        Rule that every order of the set keeps.

    Returns
    -------
    array of float, shape (studies,)
        p; NaN where the study's own order has no estimate or breaks the restriction.

    Raises
    ------
    ValueError
        If two studies differ in the number of labels in a block.

    Examples
    --------
    Two studies of three pairs; in the second one the label was given out otherwise.

    >>> y = np.array([[1, 2, 3, 5, 4, 7], [2, 1, 3, 5, 4, 7]], dtype=float).T
    >>> z = np.array([[False, True] * 3, [True, False, False, True, False, True]]).T
    >>> randomisation_chances(y, z, block=np.repeat(np.arange(3), 2))
    array([0.25, 0.25])
    """
    y, z, block = np.asarray(y, dtype=np.float64), np.asarray(z, dtype=np.bool_), compact(block)
    own = z if z.ndim > 1 else np.broadcast_to(z[:, np.newaxis], y.shape)
    _check_labels(own, block)
    used = holds_both(block, own[:, 0]) if own.size else np.zeros(len(block), dtype=np.bool_)
    if not used.any():
        return np.full(y.shape[1], np.nan)
    if restriction is not None:
        kept = np.abs(restriction.offset + restriction.weights @ own.astype(np.int64)) <= restriction.largest
    else:
        kept = np.ones(y.shape[1], dtype=np.bool_)
    rows = None
    if kept.any():
        rows = _rows(own[:, int(np.argmax(kept))], used, block=block, item=item, restriction=restriction)
    if rows is None:
        return _one_by_one(y, own, block=block, item=item, restriction=restriction)
    gear = None if item is None else np.asarray(item)[used]
    p = _by_products(y[used], own[used], rows, block=compact(block[used]), item=gear)
    return np.where(kept, p, np.nan)


def _check_labels(own: BoolArray, block: IntArray) -> None:
    """Every study must have as many labels in each block as the first."""
    indicators = np.equal(np.arange(int(block.max(initial=-1)) + 1)[:, np.newaxis], block).astype(np.int64)
    labels = indicators @ own.astype(np.int64)
    if (labels != labels[:, :1]).any():
        raise ValueError("every study must have the same number of labels in each block")


def _rows(
    z: BoolArray, used: BoolArray, *, block: IntArray, item: IntArray | None, restriction: Restriction | None
) -> FloatArray | None:
    """Weights of the set that one order belongs to, shape (orders, n), or of half of it; None if too many."""
    # An order without an estimate still names the set: items are looked at row by row below.
    rule = None if restriction is None else restriction.where(used, z)
    orders = order_set(np.zeros(int(used.sum())), z[used], block=block[used], restriction=rule)
    if orders is None or orders.unrestricted() > min(LISTED, WEIGHTS // int(used.sum())):
        return None
    listed = _all_orders(orders)
    if rule is not None:
        listed = listed[np.abs(rule.offset + listed @ rule.weights.astype(np.float64)) <= rule.largest]
    if orders.has_mirror_images:
        listed = listed[listed[:, orders.blocks[0][0]] == 1.0]
    basis = centred_basis(None if item is None else np.asarray(item)[used], compact(block[used]))
    left = orders.weight - np.einsum("ij,ij->i", listed @ basis, listed @ basis)
    exists = left > VANISHES * orders.weight
    return np.asarray(listed[exists] / left[exists, np.newaxis])


def _all_orders(orders: OrderSet) -> FloatArray:
    """Every order before the restriction, shape (orders, n)."""
    every = np.eye(orders.columns.shape[1])
    sums = np.zeros((len(every), 1))
    for units, count in zip(orders.blocks, orders.marked, strict=True):
        sums = outer_sum(sums, block_sums(every[:, units], count))
    return np.asarray(sums.T.round())


def _by_products(
    y: FloatArray, own: BoolArray, rows: FloatArray, *, block: IntArray, item: IntArray | None
) -> FloatArray:
    within = centred(y, block)
    basis = centred_basis(item, block)
    residual = within - basis @ (basis.T @ within)
    label = centred(own.astype(np.float64), block)
    spread = np.einsum("ij,ij->j", label, label)
    across = basis.T @ label
    left = spread - np.einsum("ij,ij->j", across, across)
    exists = left > VANISHES * spread
    with np.errstate(divide="ignore", invalid="ignore"):
        estimate = np.einsum("ij,ij->j", label, residual) / left
    least = np.abs(estimate) - tie_tolerance(y, within)
    hits = np.zeros(y.shape[1], dtype=np.int64)
    step = max(1, CHUNK // max(1, len(rows)))
    for start in range(0, y.shape[1], step):
        at = slice(start, start + step)
        statistic = rows @ residual[:, at]
        np.abs(statistic, out=statistic)
        hits[at] = np.count_nonzero(statistic >= least[at], axis=0)
    return np.where(exists, hits / max(1, len(rows)), np.nan)


def _one_by_one(
    y: FloatArray,
    own: BoolArray,
    *,
    block: IntArray,
    item: IntArray | None,
    restriction: Restriction | None,
) -> FloatArray:
    tests = (
        randomisation_test(values, z, block=block, item=item, level=None, restriction=restriction)
        for values, z in zip(y.T, own.T, strict=True)
    )
    return np.array([np.nan if test is None else test.p for test in tests])
