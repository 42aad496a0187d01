r"""Probabilities adjusted for the number of questions asked at once.

Notation: :math:`p_{(1)} \le \dots \le p_{(m)}` are the sorted probabilities of one family, which lies
along the last axis unless another is named; any number of families may stand side by side. An adjusted
probability at or below a level rejects its hypothesis so that the chance of any false rejection in the
family is at most that level, whatever the dependence.

A NaN stands for a question that was asked and could not be answered: it counts as 1 in the family, and
stays NaN in the answer.

References: Holm (1979) Scand. J. Stat. 6:65-70; Bonferroni's inequality.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from evenglide.typing import FloatArray, IntArray


def bonferroni(p: ArrayLike, *, axis: int = -1) -> FloatArray:
    r"""Multiply by the size of the family: :math:`\min(1, m p)`.

    Parameters
    ----------
    p : array of float, shape (..., m)
        Probabilities of one family along the last axis; NaN counts as 1. [1]
    axis : int, optional
        Another axis along which the families lie.

    Returns
    -------
    array of float, shape as `p`
        Adjusted probabilities. [1]

    Examples
    --------
    >>> bonferroni([0.01, 0.04, 0.03, 0.005])
    array([0.04, 0.16, 0.12, 0.02])
    """
    p = np.asarray(p, dtype=np.float64)
    return np.asarray(np.minimum(1.0, p.shape[axis] * p), dtype=np.float64)


def holm(p: ArrayLike, *, axis: int = -1) -> FloatArray:
    r"""Step down from the smallest: :math:`\tilde p_{(i)} = \max_{j \le i} \min(1, (m - j + 1) p_{(j)})`.

    Never larger than :func:`bonferroni`. Equal probabilities are adjusted equally.

    Parameters
    ----------
    p : array of float, shape (..., m)
        Probabilities of one family along the last axis; NaN counts as 1. [1]
    axis : int, optional
        Another axis along which the families lie.

    Returns
    -------
    array of float, shape as `p`
        Adjusted probabilities. [1]

    Examples
    --------
    >>> holm([0.01, 0.04, 0.03, 0.005])
    array([0.03, 0.06, 0.06, 0.02])
    >>> holm([0.02, np.nan])
    array([0.04,  nan])
    """
    p = np.moveaxis(np.asarray(p, dtype=np.float64), axis, -1)
    counted = np.where(np.isnan(p), 1.0, p)
    order = np.argsort(counted, axis=-1, kind="stable")
    left = np.arange(p.shape[-1], 0, -1)
    stepped = np.minimum(1.0, left * np.take_along_axis(counted, order, axis=-1))
    adjusted = np.empty_like(counted)
    np.put_along_axis(adjusted, order, np.maximum.accumulate(stepped, axis=-1), axis=-1)
    return np.moveaxis(np.where(np.isnan(p), np.nan, adjusted), -1, axis)


def rank_from_smallest(p: ArrayLike) -> IntArray:
    """Rank of each probability in its family, 1 for the smallest; ties share the lowest rank.

    Parameters
    ----------
    p : array of float, shape (..., m)
        Probabilities of one family along the last axis; NaN counts as 1. [1]

    Returns
    -------
    array of int, shape (..., m)
        One more than the number of smaller probabilities. [1]

    Examples
    --------
    >>> rank_from_smallest([0.03, 0.01, 0.03, np.nan])
    array([2, 1, 2, 4])
    """
    p = np.asarray(p, dtype=np.float64)
    counted = np.where(np.isnan(p), 1.0, p)
    smaller = counted[..., np.newaxis, :] < counted[..., :, np.newaxis]
    return np.asarray(smaller.sum(axis=-1) + 1, dtype=np.int64)
