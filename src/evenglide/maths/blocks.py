r"""Blocks of units with two labels: which count, centring within them, and columns of a second factor.

Notation: n units, each in one block; :math:`M` subtracts from every unit the mean of its block. Codes
of blocks are 0, 1, ... without gaps wherever a function says ``block``; :func:`compact` makes them so.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from evenglide.typing import BoolArray, FloatArray, IntArray

RANK_TOLERANCE = 1e-9
"""Directions shorter than this share of the longest count as zero: indicator columns of the sizes met
here have no true singular value near it, and rounding leaves about 1e-15."""


def compact(codes: ArrayLike) -> IntArray:
    """Replace codes by 0, 1, ... in increasing order of the code.

    Parameters
    ----------
    codes : array, shape (n,)
        Any codes that can be sorted.

    Returns
    -------
    array of int, shape (n,)
        Codes without gaps.

    Examples
    --------
    >>> compact([7, 3, 7])
    array([1, 0, 1])
    """
    return np.asarray(np.unique(np.asarray(codes), return_inverse=True)[1], dtype=np.int64).reshape(-1)


def holds_both(block: IntArray, z: BoolArray) -> BoolArray:
    """Whether the block of each unit holds both labels.

    Parameters
    ----------
    block : array of int, shape (n,)
        Block of each unit.
    z : array of bool, shape (n,)
        Label of each unit.

    Returns
    -------
    array of bool, shape (n,)
        True for the units of blocks that hold both.

    Examples
    --------
    >>> holds_both(np.array([0, 0, 1, 1]), np.array([True, False, True, True]))
    array([ True,  True, False, False])
    """
    size = np.bincount(block)
    marked = np.bincount(block, weights=z)
    return np.asarray(((marked > 0) & (marked < size))[block], dtype=np.bool_)


def centred(values: FloatArray, block: IntArray) -> FloatArray:
    """Subtract from each value the mean of its block.

    Parameters
    ----------
    values : array of float, shape (n,) or (n, c)
        Values, one row per unit.
    block : array of int, shape (n,)
        Block of each unit, codes without gaps.

    Returns
    -------
    array of float, shape as `values`
        What is left.

    Examples
    --------
    >>> centred(np.array([1.0, 3.0, 5.0]), np.array([0, 0, 1]))
    array([-1.,  1.,  0.])
    """
    size = np.bincount(block)
    if values.ndim == 1:
        # A value of the data is taken away first: a large common part would cost digits.
        near = values - values[0] if len(values) else values
        return np.asarray(near - (np.bincount(block, weights=near) / size)[block], dtype=np.float64)
    if not values.size:
        return values
    near = values - values[:1]
    return np.asarray(near - (group_sums(near, block) / size[:, np.newaxis])[block], dtype=np.float64)


def group_sums(values: FloatArray, group: IntArray, groups: int = 0) -> FloatArray:
    """Sum rows by group, any number of columns side by side.

    Parameters
    ----------
    values : array of float, shape (n, k)
        Values, one row per unit and one column per data set.
    group : array of int, shape (n,)
        Group of each unit, 0 upwards.
    groups : int, optional
        Least number of groups in the result; one without units has the sum 0.

    Returns
    -------
    array of float, shape (groups, k)
        Sums.

    Examples
    --------
    >>> group_sums(np.array([[1.0, 10.0], [2.0, 20.0], [4.0, 40.0]]), np.array([1, 0, 1]))
    array([[ 2., 20.],
           [ 5., 50.]])
    """
    size = np.bincount(group, minlength=groups)
    if values.shape[1] <= len(size):
        by_column = [np.bincount(group, weights=column, minlength=groups) for column in values.T]
        return np.array(by_column, dtype=np.float64).reshape(-1, len(size)).T
    out = np.zeros((len(size), values.shape[1]))
    order = np.argsort(group, kind="stable")
    ends = np.cumsum(size)
    rows = values if np.array_equal(order, np.arange(len(order))) else values[order]
    for place in np.flatnonzero(size):  # adding long rows is several times faster than any grouped sum
        np.add.reduce(rows[ends[place] - size[place] : ends[place]], axis=0, out=out[place])
    return out


def centred_basis(codes: IntArray | None, block: IntArray) -> FloatArray:
    """Orthonormal basis of the block-centred indicator columns of a second factor.

    Parameters
    ----------
    codes : array of int, shape (n,), or None
        Level of the second factor for each unit; None if there is none.
    block : array of int, shape (n,)
        Block of each unit, codes without gaps.

    Returns
    -------
    array of float, shape (n, q)
        Basis; q = 0 where the blocks absorb the factor.

    Examples
    --------
    Two items met in two pairs leave one direction; two items that never meet in a block leave none.

    >>> centred_basis(np.array([0, 1, 0, 1]), np.array([0, 0, 1, 1])).shape
    (4, 1)
    >>> centred_basis(np.array([0, 0, 1, 1]), np.array([0, 0, 1, 1])).shape
    (4, 0)
    """
    if codes is None or len(block) == 0:
        return np.zeros((len(block), 0))
    level = compact(codes)
    columns = centred(np.equal(level[:, np.newaxis], np.arange(1, level.max() + 1)).astype(np.float64), block)
    left, singular, _ = np.linalg.svd(columns, full_matrices=False)
    kept = singular > RANK_TOLERANCE * max(1.0, float(singular.max(initial=0.0)))
    return np.asarray(left[:, kept], dtype=np.float64)
