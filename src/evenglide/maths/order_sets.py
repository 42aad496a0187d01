r"""The set of orders that a randomisation test is over, with all that its sums need.

Notation. Units i = 1..n with values :math:`y_i`, a block each, perhaps an item each; :math:`z_i` is 1 for
units that carry the label. Every order (way to give the labels out) with the same number of labels in
each block was equally likely, as far as a restriction allows it. :math:`M` centres within blocks, :math:`Q`
is an orthonormal basis of the block-centred item columns, block b has :math:`n_1` units with and :math:`n_0`
without the label and :math:`w_b = n_1 n_0/(n_1 + n_0)`. The statistic is the least-squares coefficient of z
beside block and item columns,

.. math:: T_z = \frac{z^\top (I - QQ^\top) M y}{D_z}, \qquad D_z = \sum_b w_b - |Q^\top z|^2 .

Its numerator, its overlap with the observed order and :math:`Q^\top z` are sums over units.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from evenglide.maths.blocks import centred, centred_basis, compact, holds_both
from evenglide.maths.orders import number_of_orders, orders_by_weight
from evenglide.typing import BoolArray, FloatArray, IntArray

TIE_TOLERANCE = 1e-9
"""Share of the largest centred value within which two statistics are the same: exact ties decide
discrete probabilities, and sums of decimals miss them by about 1e-16."""
ROUNDINGS = 4
"""Differences below so many rounding errors of a value are noise of the arithmetic."""
VANISHES = 1e-9
"""Share of the sum of block weights below which a denominator is zero."""


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

    def where(self, kept: BoolArray, z: BoolArray) -> Restriction:
        """Return the rule for some of the units; the labels of the others are held as they are.

        Parameters
        ----------
        kept : array of bool, shape (n,)
        z : array of bool, shape (n,)

        Returns
        -------
        Restriction
        """
        return Restriction(
            weights=self.weights[kept],
            largest=self.largest,
            offset=self.offset + int(self.weights[~kept & z].sum()),
        )

    def allows(self, z: BoolArray) -> bool:
        """Whether an order keeps the rule.

        Parameters
        ----------
        z : array of bool, shape (n,)

        Returns
        -------
        bool
        """
        return abs(self.offset + int(self.weights[z].sum())) <= self.largest


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderSet:
    """Orders that could have been drawn, and what their statistics are made of.

    Parameters
    ----------
    columns : array of float, shape (2 + q, n)
        Per unit, component-first: residual of y, residual of z, basis Q.
    blocks : tuple of array of int
        Units of each block.
    marked : tuple of int
        Labels in each block.
    weight : float
        Sum of the block weights.
    estimate : float
        Statistic of the observed order. [unit of y]
    tolerance : float
        Statistics this near are the same. [unit of y]
    restriction : Restriction or None
    """

    columns: FloatArray
    blocks: tuple[IntArray, ...]
    marked: tuple[int, ...]
    weight: float
    estimate: float
    tolerance: float
    restriction: Restriction | None

    @property
    def sizes(self) -> tuple[int, ...]:
        """Units of each block."""
        return tuple(len(units) for units in self.blocks)

    @property
    def has_items(self) -> bool:
        """Whether item columns make the denominator differ from order to order."""
        return len(self.columns) > 2

    @property
    def has_mirror_images(self) -> bool:
        """Whether the reverse of every order is in the set too."""
        halved = all(2 * count == size for size, count in zip(self.sizes, self.marked, strict=True))
        return halved and (self.restriction is None or self.restriction.offset == 0)

    def unrestricted(self) -> int:
        """Return the number of orders before the restriction, those without an estimate among them."""
        return number_of_orders(self.sizes, self.marked)

    def number(self) -> int:
        """Return the number of orders that keep the restriction, those without an estimate among them."""
        rule = self.restriction
        if rule is None:
            return self.unrestricted()
        counts = orders_by_weight([rule.weights[units].tolist() for units in self.blocks], self.marked)
        return sum(ways for weight, ways in counts.items() if abs(rule.offset + weight) <= rule.largest)


def order_set(
    y: FloatArray,
    z: BoolArray,
    *,
    block: IntArray,
    item: IntArray | None = None,
    restriction: Restriction | None = None,
) -> OrderSet | None:
    """Prepare the set of orders that the observed one belongs to.

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
    restriction : Restriction or None
        Rule that every order of the set keeps; blocks that are left out are held as they were.

    Returns
    -------
    OrderSet or None
        None if no block holds both labels, or the observed order has no estimate or breaks the restriction.
    """
    z, block = np.asarray(z, dtype=np.bool_), np.asarray(block)
    used = holds_both(compact(block), z)
    if not used.any():
        return None
    restriction = None if restriction is None else restriction.where(used, z)
    y, z, block = np.asarray(y, dtype=np.float64)[used], z[used], compact(block[used])
    if restriction is not None and not restriction.allows(z):
        return None
    basis = centred_basis(None if item is None else np.asarray(item)[used], block)
    both = np.stack([centred(y, block), centred(z.astype(np.float64), block)])
    residual = both - (both @ basis) @ basis.T
    weight = float(both[1] @ both[1])
    spread = float(residual[1] @ residual[1])
    if spread <= VANISHES * weight:
        return None
    grouped = np.split(np.argsort(block, kind="stable"), np.cumsum(np.bincount(block))[:-1])
    return OrderSet(
        columns=np.concatenate([residual, basis.T]),
        blocks=tuple(grouped),
        marked=tuple(int(z[units].sum()) for units in grouped),
        weight=weight,
        estimate=float(z @ residual[0]) / spread,
        tolerance=float(tie_tolerance(y, both[0])),
        restriction=restriction,
    )


def tie_tolerance(y: FloatArray, within: FloatArray) -> FloatArray:
    """Difference within which two statistics of the same data are one, column by column.

    Parameters
    ----------
    y : array of float, shape (n, ...)
        Values.
    within : array of float, shape (n, ...)
        The same, centred within blocks.

    Returns
    -------
    array of float, shape (...)
    """
    rounding = ROUNDINGS * np.finfo(np.float64).eps * np.abs(y).max(axis=0)
    return np.asarray(np.maximum(TIE_TOLERANCE * np.abs(within).max(axis=0), rounding))
