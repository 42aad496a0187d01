r"""Chances of what Holm's method claims, for comparisons whose p values are independent of each other.

Holm's method on m p values at level :math:`\alpha` looks at a p value only through the bins cut at
:math:`c_j = \alpha/(m - j + 1)`, j = 1..m. With :math:`N_j` the number of p values at or below
:math:`c_j`, the number of claims is the largest K with :math:`N_j \ge j` for all :math:`j \le K`, and the
claims are the p values at or below :math:`c_{K+1}`: K of them. Hence for a set R of size r

.. math:: P(\text{claimed} = R) = V(R) \prod_{i \notin R} P(p_i > c_{r+1}),

V(R) the chance that :math:`N_j \ge j` inside R for all :math:`j \le r`. Splitting "all of R at or below
:math:`c_r`" by where the method would stop inside R gives

.. math:: V(R) = \prod_{i \in R} F_i(c_r)
    - \sum_{S \subsetneq R} V(S) \prod_{i \in R \setminus S} [F_i(c_r) - F_i(c_{s+1})].

Two kinds of claim (each with its own Holm) on the same comparisons: p values of one comparison go together,
those of different ones do not. Bins of half of the comparisons are multiplied out, the two halves are joined
by tables that say whether their bins together let the method stop after exactly k claims of one kind and l
of the other.

Reference: Holm (1979) Scand. J. Stat. 6:65-70.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import product

import numpy as np

from evenglide.typing import FloatArray

MOST_SINGLE = 10
"""Comparisons of a family for one kind of claim; the work grows as 3 to this power."""
MOST_JOINT = 6
"""The same for two kinds together."""


def holm_levels(level: float, count: int) -> FloatArray:
    """Levels that Holm's method compares p values with, rising, shape (count,).

    Parameters
    ----------
    level : float
    count : int
        Size of the family.

    Returns
    -------
    array of float, shape (count,)

    Examples
    --------
    >>> holm_levels(0.06, 3)
    array([0.02, 0.03, 0.06])
    """
    return level / np.arange(count, 0, -1)


@dataclass(frozen=True, slots=True, kw_only=True)
class SingleKind:
    """Chances of claims of one kind.

    Parameters
    ----------
    each : array of float, shape (comparisons, plans)
        Of a claim in each comparison. [1]
    all, any : array of float, shape (plans,)
        In all, in at least one. [1]
    """

    each: FloatArray
    all: FloatArray
    any: FloatArray


def single_kind(below: FloatArray) -> SingleKind:
    """Chances of what Holm's method claims, one kind of claim.

    Parameters
    ----------
    below : array of float, shape (comparisons, comparisons, plans)
        Chance of each comparison's p value (first axis) to be at or below each of Holm's levels (second).

    Returns
    -------
    SingleKind

    Raises
    ------
    ValueError
        With more than 10 comparisons.

    Examples
    --------
    Two null hypotheses at 5 %: both are claimed with chance 2 x 0.025 x 0.05 - 0.025 squared.

    >>> below = np.array([[[0.025], [0.05]], [[0.025], [0.05]]])
    >>> single_kind(below).all
    array([0.001875])
    """
    m = len(below)
    if m > MOST_SINGLE:
        msg = f"{m} comparisons; at most {MOST_SINGLE} can be worked out exactly"
        raise ValueError(msg)
    path = _paths(below)
    each = np.zeros((m, below.shape[-1]))
    for claimed in range(1, 1 << m):
        chance = path[claimed]
        for i in _members(((1 << m) - 1) & ~claimed):
            chance = chance * (1.0 - below[i, claimed.bit_count()])
        each[_members(claimed)] += chance
    return SingleKind(each=each, all=path[-1], any=1.0 - np.prod(1.0 - below[:, 0], axis=0))


@dataclass(frozen=True, slots=True, kw_only=True)
class TwoKinds:
    """Chances of claims of either of two kinds.

    Parameters
    ----------
    each : array of float, shape (comparisons, plans)
        Of a claim of either kind in each comparison. [1]
    all, any : array of float, shape (plans,)
        Of a claim of either kind in all comparisons, in at least one. [1]
    """

    each: FloatArray
    all: FloatArray
    any: FloatArray


def two_kinds(first: FloatArray, second: FloatArray, joint: FloatArray) -> TwoKinds:
    """Chances of a claim of either of two kinds, Holm's method within each kind.

    Parameters
    ----------
    first, second : array of float, shape (comparisons, comparisons, plans)
        Chance of each comparison's p value (first axis) to be at or below each of Holm's levels (second).
    joint : array of float, shape (comparisons, comparisons, comparisons, plans)
        Chance of each comparison (first axis) to be at or below a level for the first kind (second) and at
        or below one for the second kind (third).

    Returns
    -------
    TwoKinds

    Raises
    ------
    ValueError
        With more than 6 comparisons.
    """
    m = len(first)
    if m > MOST_JOINT:
        msg = f"{m} comparisons; at most {MOST_JOINT} can be worked out exactly"
        raise ValueError(msg)
    cells = [_cells(first[i], second[i], joint[i]) for i in range(m)]
    every = sum(
        _stops(cells, one, other, uncovered=False)
        for one, other in product(range(m + 1), repeat=2)
        if one + other >= m
    )
    each = np.empty((m, first.shape[-1]))
    for i in range(m):
        each[i] = _claimed_beside(cells[:i] + cells[i + 1 :], first[i], second[i], joint=joint[i])
    nothing = np.prod(1.0 - first[:, 0] - second[:, 0] + joint[:, 0, 0], axis=0)
    return TwoKinds(each=each, all=np.asarray(every), any=1.0 - nothing)


def _claimed_beside(
    others: Sequence[FloatArray], first: FloatArray, second: FloatArray, *, joint: FloatArray
) -> FloatArray:
    """Chance that one comparison is claimed beside others.

    With k claims among the others by the same levels, a comparison is claimed if and only if its p value
    is at or below level k + 1.
    """
    count = len(others) + 1
    total = np.zeros(first.shape[-1])
    for one, other in product(range(count), repeat=2):
        claimed = first[one] + second[other] - joint[one, other]
        total += _stops(others, one, other, uncovered=True) * claimed
    return total


# --------------------------------------------------------------------------------- one kind


def _paths(below: FloatArray) -> list[FloatArray]:
    """V(R) for every set R, a bit mask, shape (plans,) each."""
    path: list[FloatArray] = [np.ones(below.shape[-1])]
    for claimed in range(1, 1 << len(below)):
        size = claimed.bit_count()
        value = np.prod(below[_members(claimed), size - 1], axis=0)
        part = claimed
        while part:
            part = (part - 1) & claimed
            step = part.bit_count()
            if step < size - 1:  # else there is no room between the levels
                rest = _members(claimed & ~part)
                value = value - path[part] * np.prod(below[rest, size - 1] - below[rest, step], axis=0)
        path.append(value)
    return path


def _members(mask: int) -> list[int]:
    return [i for i in range(mask.bit_length()) if mask >> i & 1]


# -------------------------------------------------------------------------------- two kinds


def _cells(first: FloatArray, second: FloatArray, joint: FloatArray) -> FloatArray:
    """Chance of every pair of bins of a comparison, shape (levels + 1, levels + 1, plans)."""
    m = len(first)
    whole = np.zeros((m + 2, m + 2, first.shape[-1]))
    whole[1:-1, 1:-1] = joint
    whole[1:-1, -1], whole[-1, 1:-1], whole[-1, -1] = first, second, 1.0
    return np.diff(np.diff(whole, axis=0), axis=1)


def _stops(cells: Sequence[FloatArray], one: int, other: int, *, uncovered: bool) -> FloatArray:
    """Chance of exactly `one` claims of the first kind and `other` of the second.

    Unless `uncovered`, every comparison must have a claim.
    """
    half = len(cells) // 2
    left = _multiplied([_merged(cell, one, other, uncovered=uncovered) for cell in cells[:half]], cells)
    right = _multiplied([_merged(cell, one, other, uncovered=uncovered) for cell in cells[half:]], cells)
    bins = len(cells[0]) if cells else 1
    table, table_other = (
        _stopping(half, len(cells) - half, claims=claims, beyond=claims < bins - 1) for claims in (one, other)
    )
    joined = np.tensordot(table, right, axes=1)
    joined = np.matmul(table_other, joined)
    return np.asarray(np.einsum("abp,abp->p", left, joined))


def _merged(cell: FloatArray, one: int, other: int, *, uncovered: bool) -> FloatArray:
    """Bins up to the number of claims, then everything beyond the next level, for both kinds."""
    last = len(cell) - 1
    rows = [*cell[:one], cell[one + 1 :].sum(axis=0)] if one < last else list(cell[:one])
    lines = np.stack(rows)
    columns = [lines[:, :other]]
    if other < last:
        columns.append(lines[:, other + 1 :].sum(axis=1, keepdims=True))
    merged = np.concatenate(columns, axis=1)
    if not uncovered and one < last and other < last:
        merged[-1, -1] = 0.0
    return merged


def _multiplied(cells: Sequence[FloatArray], like: Sequence[FloatArray]) -> FloatArray:
    """Chance of every combination of bins of independent comparisons, flattened for each kind."""
    plans = like[0].shape[-1] if like else 1
    whole = np.ones((1, 1, plans))
    for cell in cells:
        product_of = whole[:, np.newaxis, :, np.newaxis] * cell[np.newaxis, :, np.newaxis]
        whole = product_of.reshape(whole.shape[0] * cell.shape[0], -1, plans)
    return whole


@lru_cache(maxsize=512)
def _stopping(left: int, right: int, *, claims: int, beyond: bool) -> FloatArray:
    """Whether bins of two halves together make Holm's method stop after exactly so many claims.

    Bins 0 to claims - 1 are those below the levels; with `beyond`, one more stands for all that is left.
    """
    bins = range(claims + int(beyond))
    halves = [list(product(bins, repeat=count)) for count in (left, right)]
    return np.array([[_stops_after(a + b, claims) for b in halves[1]] for a in halves[0]], dtype=np.float64)


def _stops_after(bins: tuple[int, ...], claims: int) -> bool:
    claimed = sorted(one for one in bins if one < claims)
    return len(claimed) == claims and all(one <= at for at, one in enumerate(claimed))
