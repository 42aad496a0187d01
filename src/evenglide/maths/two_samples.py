r"""Two labels compared within blocks, each label with the scatter of its own units.

Notation: block b holds :math:`n_{b1}` marked and :math:`n_{b0}` other units and has the difference of
means :math:`d_b`; :math:`w_b = n_{b1} n_{b0}/(n_{b1} + n_{b0})`. Label i has the variance :math:`s_i^2` of
its units within blocks, on :math:`\nu_i = \sum_b (n_{bi} - 1)` degrees of freedom.

.. math::

    \hat\theta = \frac{\sum_b w_b d_b}{\sum_b w_b}, \qquad
    s^2 = \sum_i v_i, \quad v_i = s_i^2 \frac{\sum_b w_b^2/n_{bi}}{(\sum_b w_b)^2}, \qquad
    \nu = \frac{s^4}{\sum_i v_i^2/\nu_i}

With one block this is Welch's test. Where a label has one unit in every block its variance cannot be had
within blocks: then Student's t on the differences :math:`d_b`, each with equal weight.

References: Welch (1947), Biometrika 34, 28-35. Satterthwaite (1946), Biometrics Bulletin 2, 110-114.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from evenglide.maths.blocks import group_sums
from evenglide.typing import BoolArray, FloatArray, IntArray


@dataclass(frozen=True, slots=True, kw_only=True)
class TwoSampleTest:
    """Difference of two labels in k data sets.

    Parameters
    ----------
    estimate : array of float, shape (k,)
        Marked less the others.
    se : array of float, shape (k,)
        NaN without degrees of freedom or without scatter.
    df : array of float, shape (k,)
        0 where there are none; NaN where they depend on a scatter that is nought.
    """

    estimate: FloatArray
    se: FloatArray
    df: FloatArray


def difference_within_blocks(y: FloatArray, z: BoolArray, block: IntArray) -> TwoSampleTest:
    """Compare two labels within blocks that hold both.

    Parameters
    ----------
    y : array of float, shape (n, k)
        One column for each data set.
    z : array of bool, shape (n,)
        Which units are marked.
    block : array of int, shape (n,)
        Codes without gaps; every block holds both labels.

    Returns
    -------
    TwoSampleTest
    """
    count = np.stack([np.bincount(block[~z]), np.bincount(block[z])]).astype(np.float64)
    cell = block + count.shape[1] * z
    near = y - y[:1]
    mean = group_sums(near, cell) / count.reshape(-1, 1)
    difference = mean[count.shape[1] :] - mean[: count.shape[1]]
    if ((count - 1).sum(axis=1) == 0).any():
        return _of_differences(difference)
    squares = (near - mean[cell]) ** 2
    return _weighted(difference, count, np.stack([squares[~z].sum(axis=0), squares[z].sum(axis=0)]))


def _of_differences(difference: FloatArray) -> TwoSampleTest:
    """Student's t on the differences of the blocks."""
    blocks, columns = difference.shape
    estimate, df = difference.mean(axis=0), np.full(columns, blocks - 1.0)
    if blocks < 2:
        return TwoSampleTest(estimate=estimate, se=np.full(columns, np.nan), df=df)
    variance = difference.var(axis=0, ddof=1) / blocks
    return TwoSampleTest(estimate=estimate, se=_root(variance), df=df)


def _weighted(difference: FloatArray, count: FloatArray, squares: FloatArray) -> TwoSampleTest:
    weight = count[0] * count[1] / count.sum(axis=0)
    df = (count - 1).sum(axis=1)
    share = (weight**2 / count).sum(axis=1) / weight.sum() ** 2
    parts = squares * (share / df)[:, np.newaxis]
    variance = parts.sum(axis=0)
    known = np.where(variance > 0, variance, np.nan)
    return TwoSampleTest(
        estimate=weight @ difference / weight.sum(),
        se=_root(variance),
        df=1 / ((parts / known) ** 2 / df[:, np.newaxis]).sum(axis=0),
    )


def _root(variance: FloatArray) -> FloatArray:
    return np.sqrt(np.where(variance > 0, variance, np.nan))
