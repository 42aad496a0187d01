r"""Randomisation test of one label over several responses of the same units.

Notation. Units 0..U-1, each with a block, perhaps an item, and a label z drawn once; S responses, some
without a value for some units (NaN). On response s the statistic is :math:`|t_s|`, least squares of the
values on z beside block and item columns, from the units that have a value there and stand in a block
(of that response) that holds both labels. With N, D the numerator and denominator of the coefficient and
:math:`R_0` the residual sum of squares without z,

.. math:: t_s^2 = \nu_s \frac{q}{1 - q}, \qquad q = \frac{N^2}{D R_0} .

The joint statistic is the largest :math:`|t_s|` over responses with :math:`\nu_s \ge 1`: one order of the
labels serves them all, so their dependence is in the test and no allowance for S is needed.

Orders: as many labels in each block as observed, and, because a unit without a value is blanked, also as
many among the units with a value on each response. Units of one block with values on the same responses
form a cell; an order is a number of labels per cell and a subset of each cell. Orders without an estimate
on some used response, and orders that break the rule under which they were drawn, are never counted.

Reference: Westfall & Young, Resampling-Based Multiple Testing (1993), chapter 2 (largest statistic).
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations, product
from typing import Literal

import numpy as np

from evenglide.maths.blocks import centred, centred_basis, compact, holds_both
from evenglide.maths.order_sets import Restriction
from evenglide.maths.orders import orders_by_weight
from evenglide.typing import BoolArray, FloatArray, IntArray

ENUMERATION_LIMIT = 2**16
DRAWS = 99_999
SEED = 20_260_117
"""Seed of the draws when the caller brings no generator: the same data give the same p."""
TIE_TOLERANCE = 1e-9
"""Relative difference of squared t within which two orders are equally extreme."""
PERFECT = 1e-5
"""Shares 1 - q below this are set to it: there squared t has fewer digits than the tie tolerance needs."""
VANISHES = 1e-9
ROUNDINGS = 4
CHUNK = 2**20
"""Labels (orders times units) held at a time, 8 MB."""
TABLE = 2**24
"""Labels kept in a table of orders at most, 128 MB; more are drawn."""
TRIES = 100
"""Draws per draw wanted before orders without estimate end the drawing."""


@dataclass(frozen=True, slots=True, kw_only=True)
class JointRandomisationTest:
    """Answer of a joint randomisation test.

    Parameters
    ----------
    statistic : float
        Largest observed :math:`|t|`. [1]
    p : float
        Share of orders at least as extreme; from draws (1 + hits) / (draws + 1). [1]
    assignments : int
        Orders that could have been drawn; beyond the limit of enumeration those without an estimate are
        not subtracted. [1]
    draws : int or None
        Orders drawn; None if all were enumerated. [1]
    standard_error : float or None
        Of `p` from the drawing; None if all orders were enumerated. [1]
    method : "exact" or "monte carlo"
        How `p` was found.
    """

    statistic: float
    p: float
    assignments: int
    draws: int | None
    standard_error: float | None
    method: Literal["exact", "monte carlo"]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Response:
    """One response ready for many orders; `columns` holds, per unit, the residual of y and the basis Q."""

    units: IntArray
    columns: FloatArray
    weight: float
    residual: float
    df: int


@dataclass(frozen=True, slots=True, kw_only=True)
class _Block:
    """Cells of one block, and every way to share its labels out over them."""

    cells: tuple[IntArray, ...]
    counts: tuple[tuple[int, ...], ...]

    def ways(self) -> tuple[int, ...]:
        """Number of orders for each way to share out."""
        sizes = [len(cell) for cell in self.cells]
        return tuple(math.prod(map(math.comb, sizes, counts)) for counts in self.counts)


def joint_randomisation_test(
    values: FloatArray,
    z: BoolArray,
    *,
    block: IntArray,
    item: IntArray | None = None,
    restriction: Restriction | None = None,
    rng: np.random.Generator | None = None,
    limit: int = ENUMERATION_LIMIT,
    draws: int = DRAWS,
) -> JointRandomisationTest | None:
    """Test whether the label matters on any response, by the orders that could have been drawn.

    Parameters
    ----------
    values : array of float, shape (S, U)
        Values of each response; NaN where a unit has none.
    z : array of bool, shape (U,)
        True for units that carry the label.
    block : array of int, shape (U,)
        Block of each unit.
    item : array of int, shape (U,), or None
        Item of each unit, if items get columns.
    restriction : Restriction or None
        Rule that every order keeps; units without any value are held as they were.
    rng : numpy.random.Generator or None
        Source of the draws beyond the limit; None for one of a fixed seed.
    limit : int
        Most orders to enumerate, before a restriction. [1]
    draws : int
        Orders to draw beyond the limit. [1]

    Returns
    -------
    JointRandomisationTest or None
        None if no response has an estimate of the label and a degree of freedom left, or the observed order
        breaks the restriction.

    Examples
    --------
    Four pairs of units, two responses: of 16 orders only the observed one and its mirror image are so
    extreme on either.

    >>> block, z = np.repeat(np.arange(4), 2), np.tile([False, True], 4)
    >>> values = np.array([[1, 2, 2, 3.5, 3, 4, 1, 2.5], [5, 7, 5, 8, 4, 6, 5, 6]])
    >>> found = joint_randomisation_test(values, z, block=block)
    >>> found.p, found.assignments, found.method
    (0.125, 16, 'exact')
    """
    z = np.asarray(z, dtype=np.bool_)
    values = np.atleast_2d(np.asarray(values, dtype=np.float64))
    met = np.asarray(~np.isnan(values).all(axis=0))
    rule = None if restriction is None else restriction.where(met, z)
    values, z, block = values[:, met], z[met], compact(np.asarray(block)[met])
    item = None if item is None else np.asarray(item)[met]
    responses = [ready for row in values if (ready := _response(row, z, block=block, item=item)) is not None]
    if not responses or (rule is not None and not rule.allows(z)):
        return None
    observed = float(_largest_squared_t(z[np.newaxis].astype(np.float64), responses)[0])
    blocks = [_cells(np.flatnonzero(block == b), ~np.isnan(values), z=z) for b in range(block.max() + 1)]
    total = math.prod(sum(each.ways()) for each in blocks)
    if total <= limit and total * len(z) <= TABLE:
        listed = _keeping(_all_orders(blocks, len(z)), rule)
        hits, counted = _count(listed, responses, observed=observed, wanted=total)
        return JointRandomisationTest(
            statistic=math.sqrt(observed),
            p=hits / counted,
            assignments=counted,
            draws=None,
            standard_error=None,
            method="exact",
        )
    source = rng or np.random.Generator(np.random.SFC64(SEED))
    tried = _keeping(_drawn_orders(blocks, len(z), rng=source, most=TRIES * draws), rule)
    hits, counted = _count(tried, responses, observed=observed, wanted=draws)
    p = (1 + hits) / (counted + 1)
    return JointRandomisationTest(
        statistic=math.sqrt(observed),
        p=p,
        assignments=total if rule is None else _number(blocks, rule),
        draws=counted,
        standard_error=math.sqrt(p * (1 - p) / (counted + 1)),
        method="monte carlo",
    )


# ------------------------------------------------------------------------------ statistic


def _response(row: FloatArray, z: BoolArray, *, block: IntArray, item: IntArray | None) -> _Response | None:
    """Prepare one response; None if it has no estimate of z or no degree of freedom."""
    valued = np.flatnonzero(~np.isnan(row))
    units = valued[holds_both(compact(block[valued]), z[valued])] if len(valued) else valued
    if len(units) == 0:
        return None
    group = compact(block[units])
    basis = centred_basis(None if item is None else item[units], group)
    df = len(units) - (int(group.max()) + 1) - basis.shape[1] - 1
    label = centred(z[units].astype(np.float64), group)
    weight = float(label @ label)
    if df < 1 or weight - float(np.sum((label @ basis) ** 2)) <= VANISHES * weight:
        return None
    y = centred(row[units], group)
    y = y - basis @ (basis.T @ y)
    noise = ROUNDINGS * np.finfo(np.float64).eps * float(np.abs(row[units]).max())
    return _Response(
        units=units,
        columns=np.column_stack([y, basis]),
        weight=weight,
        residual=float(y @ y) if np.abs(y).max() > noise else math.inf,
        df=df,
    )


def _largest_squared_t(orders: FloatArray, responses: Sequence[_Response]) -> FloatArray:
    """Largest squared t of each order, shape (orders,); NaN where a response has no estimate."""
    largest = np.zeros(len(orders))
    for response in responses:
        sums = orders[:, response.units] @ response.columns
        denominator = response.weight - np.einsum("ij,ij->i", sums[:, 1:], sums[:, 1:])
        denominator[denominator <= VANISHES * response.weight] = np.nan
        share = sums[:, 0] ** 2 / (denominator * response.residual)
        largest = np.maximum(largest, response.df * share / np.maximum(1.0 - share, PERFECT))
    return largest


def _count(
    batches: Iterator[FloatArray], responses: Sequence[_Response], *, observed: float, wanted: int
) -> tuple[int, int]:
    """Orders at least as extreme as the observed one, and orders counted, at most `wanted`."""
    hits = counted = 0
    for orders in batches:
        statistic = _largest_squared_t(orders, responses)
        statistic = statistic[~np.isnan(statistic)][: wanted - counted]
        hits += int(np.count_nonzero(statistic >= observed * (1.0 - TIE_TOLERANCE)))
        counted += len(statistic)
        if counted == wanted:
            break
    return hits, counted


# ------------------------------------------------------------------------------ orders


def _cells(units: IntArray, valued: BoolArray, *, z: BoolArray) -> _Block:
    """Cells of a block and the numbers of labels that its cells may carry."""
    patterns, cell = np.unique(valued[:, units].T, axis=0, return_inverse=True)
    cells = tuple(units[cell.reshape(-1) == at] for at in range(len(patterns)))
    # One more constraint than responses: the number of labels in the whole block.
    constraints = np.column_stack([patterns, np.ones(len(patterns), dtype=np.bool_)]).astype(np.int64)
    needed = constraints.T @ np.array([int(z[members].sum()) for members in cells])
    sizes = [len(members) for members in cells]
    return _Block(cells=cells, counts=tuple(_shared_out(sizes, constraints, needed=needed)))


def _shared_out(sizes: Sequence[int], constraints: IntArray, *, needed: IntArray) -> list[tuple[int, ...]]:
    """All numbers of labels per cell that meet every constraint exactly."""
    if len(sizes) == 1:
        count = int(needed[-1])
        fits = 0 <= count <= sizes[0] and np.array_equal(count * constraints[0], needed)
        return [(count,)] if fits else []
    if np.any(needed < 0) or np.any(np.array(sizes) @ constraints < needed):
        return []
    return [
        (count, *rest)
        for count in range(sizes[0] + 1)
        for rest in _shared_out(sizes[1:], constraints[1:], needed=needed - count * constraints[0])
    ]


def _all_orders(blocks: Sequence[_Block], size: int) -> Iterator[FloatArray]:
    """Every order once, in batches of shape (orders, units)."""
    tables = [_table(each) for each in blocks]
    units = [np.concatenate(each.cells) for each in blocks]
    total, rows = math.prod(len(table) for table in tables), max(1, CHUNK // size)
    for start in range(0, total, rows):
        number = np.arange(start, min(start + rows, total))
        orders = np.empty((len(number), size))
        for table, members in zip(tables, units, strict=True):
            number, digit = np.divmod(number, len(table))
            orders[:, members] = table[digit]
        yield orders


def _keeping(batches: Iterator[FloatArray], rule: Restriction | None) -> Iterator[FloatArray]:
    """Leave out the orders that break the rule."""
    if rule is None:
        yield from batches
        return
    for orders in batches:  # sums of whole numbers are exact in floating point
        yield orders[np.abs(rule.offset + orders @ rule.weights.astype(np.float64)) <= rule.largest]


def _number(blocks: Sequence[_Block], rule: Restriction) -> int:
    """Count the orders that keep the rule, those without an estimate among them."""
    counts = Counter({rule.offset: 1})
    for block in blocks:
        weights = [rule.weights[cell].tolist() for cell in block.cells]
        own: Counter[int] = Counter()
        for shared_out in block.counts:
            own.update(orders_by_weight(weights, shared_out))
        longer: Counter[int] = Counter()
        for before, ways in counts.items():
            for added, more in own.items():
                longer[before + added] += ways * more
        counts = longer
    return sum(ways for weight, ways in counts.items() if abs(weight) <= rule.largest)


def _table(block: _Block) -> FloatArray:
    """All orders of one block, shape (ways, units), units in the order of its cells."""
    rows = []
    ends = np.cumsum([0, *(len(cell) for cell in block.cells)])
    for counts in block.counts:
        parts = [
            combinations(range(start, stop), count)
            for start, stop, count in zip(ends[:-1], ends[1:], counts, strict=True)
        ]
        rows += [[at for part in chosen for at in part] for chosen in product(*parts)]
    table = np.zeros((len(rows), ends[-1]))
    table[np.arange(len(rows))[:, np.newaxis], np.array(rows, dtype=np.int64)] = 1.0
    return table


def _drawn_orders(
    blocks: Sequence[_Block], size: int, *, rng: np.random.Generator, most: int
) -> Iterator[FloatArray]:
    """Orders drawn with equal chances, in batches of shape (orders, units), `most` in all."""
    rows = max(1, CHUNK // size)
    for start in range(0, most, rows):
        orders = np.empty((min(rows, most - start), size))
        for each in blocks:
            ways = each.ways()
            # Exact integers first: the numbers of ways may lie beyond floating point.
            chances = np.array([way / sum(ways) for way in ways])
            counts = np.array(each.counts)[rng.choice(len(ways), size=len(orders), p=chances / chances.sum())]
            for cell, marked in zip(each.cells, counts.T, strict=True):
                rank = rng.random((len(orders), len(cell))).argsort(axis=1).argsort(axis=1)
                orders[:, cell] = rank < marked[:, np.newaxis]
        yield orders
