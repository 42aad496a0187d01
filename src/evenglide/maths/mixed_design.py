r"""A design of fixed columns and one random grouping, taken apart once for any number of studies.

Model of n launches, component-first (one column of :math:`y` is one study):

.. math:: y = X b + Z u + e, \quad u \sim N(0, \sigma_a^2 I), \quad e \sim N(0, \sigma^2 I)

X has rank p, Z marks the group of each launch. With :math:`M` the projection that removes X, the thin
singular value decomposition of :math:`M Z` gives r directions T (n x r, orthonormal, orthogonal to X)
and their squared singular values :math:`d`; no basis of the whole residual space is ever made. Along T the
variance is :math:`\sigma^2 v`, :math:`v = 1 + \lambda d`, :math:`\lambda = \sigma_a^2/\sigma^2`; on the
:math:`m_0 = n - p - r` directions left it is :math:`\sigma^2`.

For a contrast c: :math:`a = X (X^\top X)^+ c`, so that :math:`a^\top y` is its least-squares estimate;
:math:`g = (Z^\top T)^\top Z^\top a`, :math:`h_0 = a^\top a`, :math:`h_1 = |Z^\top a|^2`. Then

.. math::

   \hat{c^\top b} &= a^\top y - \lambda \textstyle\sum_i g_i w_i / v_i, \qquad w = T^\top y \\
   \operatorname{Var} / \sigma^2 &= h_0 + \lambda \left(h_b + \textstyle\sum_i q_i / v_i \right),
   \qquad q_i = g_i^2 / d_i, \quad h_b = h_1 - \textstyle\sum_i q_i \ge 0

which is the textbook :math:`h_0 + \lambda h_1 - \lambda^2 \sum g_i^2/v_i` without its cancellation.

Reference: Searle, Casella & McCulloch, Variance Components (1992), chapters 6 and 8 (from memory).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from evenglide.maths.blocks import compact
from evenglide.typing import FloatArray, IntArray

RANK_TOLERANCE = 1e-9
"""Squared singular values below this share of the largest are rounding."""
EQUAL = 1e-12
"""Squared singular values closer than this share of the largest are one value met several times."""
ROW_SPACE_TOLERANCE = 1e-7


@dataclass(frozen=True, slots=True, kw_only=True)
class MixedDesign:
    """Everything that a fit of one variance component needs to know of its design.

    Parameters
    ----------
    rows : array of float, shape (p + r + k, n)
        Orthonormal basis of X, then T (transposed, by increasing d), then a of each contrast.
    rank : int
        p.
    eigenvalues, multiplicity : array of float, shape (m,)
        Distinct d, increasing, and how many directions of T have each.
    starts : array of int, shape (m,)
        First direction of T of each distinct d.
    residual_df : int
        m0.
    coupling : array of float, shape (r, k)
        g.
    level : array of float, shape (k,)
        Sum of a: what a constant adds to each contrast, exactly 0 for differences.
    within, between : array of float, shape (k,)
        h0 and h_b.
    shares : array of float, shape (k, m)
        q summed over the directions of each distinct d.
    largest_group : int
        Launches of the largest group.
    """

    rows: FloatArray
    rank: int
    eigenvalues: FloatArray
    multiplicity: FloatArray
    starts: IntArray
    residual_df: int
    coupling: FloatArray
    level: FloatArray
    within: FloatArray
    between: FloatArray
    shares: FloatArray
    largest_group: int

    @property
    def directions(self) -> int:
        """Number r of directions along which groups differ beyond the fixed columns."""
        return int(self.coupling.shape[0])

    @property
    def df(self) -> int:
        """Residual degrees of freedom n - p."""
        return self.residual_df + self.directions

    @property
    def can_be_split(self) -> bool:
        """Whether scatter between and within groups can be told apart."""
        return self.residual_df > 0 and self.directions > 0


def mixed_design(x: FloatArray, group: IntArray, *, contrasts: FloatArray) -> MixedDesign:
    """Take a design apart.

    Parameters
    ----------
    x : array of float, shape (n, columns)
        Fixed columns, of any rank.
    group : array of int, shape (n,)
        Group of each launch, any integers.
    contrasts : array of float, shape (columns, k)
        Linear forms of the coefficients of `x`.

    Returns
    -------
    MixedDesign

    Raises
    ------
    ValueError
        If a contrast cannot be estimated from `x`.

    Examples
    --------
    Three groups of two launches and a mean: one d, met twice, and one direction left in each group.

    >>> design = mixed_design(np.ones((6, 1)), np.array([0, 0, 1, 1, 2, 2]), contrasts=np.ones((1, 1)))
    >>> design.eigenvalues, design.multiplicity, design.residual_df
    (array([2.]), array([2.]), 3)
    """
    x = np.asarray(x, dtype=np.float64)
    basis, weights = fixed_basis(x, np.asarray(contrasts, dtype=np.float64))
    group = compact(group)
    z = np.equal(group[:, np.newaxis], np.arange(group.max(initial=-1) + 1)).astype(np.float64)
    left = z - basis @ (basis.T @ z)
    directions, singular, _ = np.linalg.svd(left, full_matrices=False)
    values = singular**2
    kept = np.flatnonzero(values > RANK_TOLERANCE * max(1.0, float(values.max(initial=0.0))))[::-1]
    directions, values = directions[:, kept], values[kept]
    starts = np.flatnonzero(np.diff(values, prepend=-np.inf) > EQUAL * values.max(initial=0.0))
    multiplicity = np.diff(np.append(starts, len(values))).astype(np.float64)
    distinct = np.add.reduceat(values, starts) / multiplicity if len(values) else values
    sums = z.T @ weights
    coupling = (z.T @ directions).T @ sums
    shares = coupling**2 / values[:, np.newaxis]
    between = np.maximum(0.0, (sums**2).sum(axis=0) - shares.sum(axis=0))
    return MixedDesign(
        rows=np.concatenate([basis.T, directions.T, weights.T]),
        rank=basis.shape[1],
        eigenvalues=distinct,
        multiplicity=multiplicity,
        starts=starts,
        residual_df=len(x) - basis.shape[1] - len(values),
        coupling=coupling,
        level=level_of(weights),
        within=(weights**2).sum(axis=0),
        between=between,
        shares=(np.add.reduceat(shares, starts, axis=0) if len(values) else shares).T,
        largest_group=int(np.bincount(group).max(initial=0)),
    )


def fixed_basis(x: FloatArray, contrasts: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Orthonormal basis of the columns, shape (n, p), and weights a of each contrast, shape (n, k).

    Parameters
    ----------
    x : array of float, shape (n, columns)
    contrasts : array of float, shape (columns, k)

    Returns
    -------
    tuple of array of float

    Raises
    ------
    ValueError
        If a contrast cannot be estimated.
    """
    length = np.sqrt((x**2).sum(axis=0))
    unit = np.divide(1.0, length, out=np.zeros_like(length), where=length > 0)
    basis, singular, rows = np.linalg.svd(x * unit, full_matrices=False)
    kept = singular**2 > RANK_TOLERANCE * max(1.0, float((singular**2).max(initial=0.0)))
    basis, singular, rows = basis[:, kept], singular[kept], rows[kept]
    scaled = contrasts * unit[:, np.newaxis]
    missed = scaled - rows.T @ (rows @ scaled)
    size = np.abs(scaled).max(axis=0, initial=0.0)
    if (np.abs(missed).max(axis=0, initial=0.0) > ROW_SPACE_TOLERANCE * size).any() or not size.all():
        msg = "a contrast cannot be estimated from the fixed columns; leave it out"
        raise ValueError(msg)
    return basis, basis @ ((rows @ scaled) / singular[:, np.newaxis])


def level_of(weights: FloatArray) -> FloatArray:
    """Sum of the weights of each contrast, shape (k,); 0 where only rounding is left.

    Parameters
    ----------
    weights : array of float, shape (n, k)

    Returns
    -------
    array of float, shape (k,)
    """
    total = weights.sum(axis=0)
    return np.where(np.abs(total) <= RANK_TOLERANCE * np.abs(weights).sum(axis=0), 0.0, total)
