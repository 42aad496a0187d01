r"""Least squares on group labels: one factor swept out, the others as columns.

Model for unit values :math:`y` (n units, k data sets side by side):

.. math:: y = \beta_{g} + X b + e, \qquad e \sim N(0, \sigma^2 I)

:math:`g` is the swept factor (its groups are removed by centring, never as dense columns), and
:math:`X` holds indicator columns of the levels of further factors (the first level of each has no
column) and numeric columns. With :math:`M` the centring within groups,
:math:`G = X^\top M X`, :math:`\hat b = G^+ X^\top M y`, residual degrees of freedom
:math:`n - \text{groups} - \operatorname{rank} G`. A linear form :math:`c^\top b` can be estimated if
and only if :math:`c` lies in the row space of :math:`G`; then its variance is
:math:`\sigma^2 c^\top G^+ c`.

Precision: values are centred on a unit's value, then within groups, before anything is squared.
Memory: X is built in chunks of whole groups.

Reference: Searle, Linear Models (1971), chapters 5 and 7.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from evenglide.maths.blocks import centred, compact
from evenglide.typing import FloatArray, IntArray

RANK_TOLERANCE = 1e-9
"""Eigenvalues of the scaled G below this share of the largest count as zero: label designs of the
sizes met here have smallest eigenvalues near 1/n, rounding leaves about 1e-15 n."""
ROW_SPACE_TOLERANCE = 1e-7
ROUNDINGS = 4
"""Residuals below so many rounding errors of a value are noise of the arithmetic, not scatter."""
CHUNK = 2_000_000
"""Elements of X held at a time (16 MB)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Columns:
    """What the columns of X are made from, row by row when they are needed."""

    group: IntArray
    factors: tuple[IntArray, ...]
    levels: tuple[int, ...]
    numeric: FloatArray

    @property
    def width(self) -> int:
        """Number of columns."""
        return sum(count - 1 for count in self.levels) + int(self.numeric.shape[1])

    def of(self, rows: IntArray) -> FloatArray:
        """Columns of X for some rows."""
        blocks = [
            (codes[rows, np.newaxis] == np.arange(1, count)).astype(float)
            for codes, count in zip(self.factors, self.levels, strict=True)
        ]
        return np.concatenate([*blocks, self.numeric[rows]], axis=1)


@dataclass(frozen=True, slots=True, kw_only=True)
class SweptDesign:
    """A design with one factor swept out.

    Parameters
    ----------
    columns
        The swept factor, the factors that get columns, the numeric columns.
    scale : array of float, shape (p,)
        Length of each column of M X; 0 for a column that the groups absorb.
    inverse : array of float, shape (p, p)
        G^+ for the original columns.
    row_space : array of float, shape (p, p)
        Projection on the row space, columns scaled to unit length.
    rank : int
        Rank of G.
    df : int
        Residual degrees of freedom, may be 0.
    held : tuple of (rows, columns), or None
        M X in chunks, where it is small enough to be kept.
    """

    columns: _Columns
    scale: FloatArray
    inverse: FloatArray
    row_space: FloatArray
    rank: int
    df: int
    held: tuple[tuple[IntArray, FloatArray], ...] | None


@dataclass(frozen=True, slots=True, kw_only=True)
class LeastSquares:
    """Fit of one design to k data sets.

    Parameters
    ----------
    coefficients : array of float, shape (p, k)
    residuals : array of float, shape (n, k)
    residual_variance : array of float, shape (k,)
        NaN without degrees of freedom; exactly 0 where residuals are rounding noise only.
    """

    coefficients: FloatArray
    residuals: FloatArray
    residual_variance: FloatArray


def swept_design(
    group: IntArray, factors: Sequence[tuple[IntArray, int]], columns: FloatArray | None = None
) -> SweptDesign:
    """Prepare a design once for any number of data sets.

    Parameters
    ----------
    group : array of int, shape (n,)
        Codes of the factor to sweep out, any integers.
    factors : sequence of (codes, levels)
        Codes of shape (n,) in ``range(levels)``.
    columns : array of float, shape (n, q), optional

    Returns
    -------
    SweptDesign
    """
    _, dense = np.unique(group, return_inverse=True)
    n = len(dense)
    x = _Columns(
        group=dense,
        factors=tuple(codes for codes, _ in factors),
        levels=tuple(count for _, count in factors),
        numeric=np.empty((n, 0)) if columns is None else np.asarray(columns, dtype=float),
    )
    p = x.width
    gram = np.zeros((p, p))
    raw = np.zeros(p)
    held = tuple(_centred_chunks(x)) if n * p <= CHUNK else None
    for rows, chunk in _centred_chunks(x) if held is None else held:
        gram += chunk.T @ chunk
        raw += (x.of(rows) ** 2).sum(axis=0)
    diagonal = np.diag(gram)
    scale = np.sqrt(
        np.where(diagonal > RANK_TOLERANCE * np.maximum(raw, np.finfo(float).tiny), diagonal, 0.0)
    )
    unit = np.divide(1.0, scale, out=np.zeros(p), where=scale > 0)
    values, vectors = np.linalg.eigh(gram * np.outer(unit, unit))
    kept = values > RANK_TOLERANCE * max(1.0, values.max(initial=0.0))
    basis = vectors[:, kept]
    inverse = (basis / values[kept]) @ basis.T * np.outer(unit, unit)
    rank = int(kept.sum())
    groups = int(dense.max(initial=-1)) + 1
    return SweptDesign(
        columns=x,
        scale=scale,
        inverse=inverse,
        row_space=basis @ basis.T,
        rank=rank,
        df=n - groups - rank,
        held=held,
    )


def least_squares(design: SweptDesign, y: FloatArray, *, rounding: float | FloatArray = 0.0) -> LeastSquares:
    """Fit a design to k data sets.

    Parameters
    ----------
    design : SweptDesign
    y : array of float, shape (n, k)
    rounding : float or array of float, shape (k,), optional
        Rounding error that the values carry from before a constant was taken off them.

    Returns
    -------
    LeastSquares
    """
    y = y - y[:1]
    centred_y = centred(y, design.columns.group)
    moment = np.zeros((len(design.scale), y.shape[1]))
    for rows, chunk in _chunks_of(design):
        moment += chunk.T @ centred_y[rows]
    coefficients = design.inverse @ moment
    residuals = centred_y - fitted(design, coefficients)
    squares = (residuals**2).sum(axis=0)
    per_value = np.maximum(rounding, np.finfo(float).eps * np.abs(y).max(axis=0, initial=0.0))
    squares = np.where(squares <= len(y) * (ROUNDINGS * per_value) ** 2, 0.0, squares)
    variance = squares / design.df if design.df > 0 else np.full(y.shape[1], np.nan)
    return LeastSquares(coefficients=coefficients, residuals=residuals, residual_variance=variance)


def fitted(design: SweptDesign, coefficients: FloatArray) -> FloatArray:
    """Return M X b, the fit within groups, shape (n, k)."""
    out = np.zeros((len(design.columns.group), coefficients.shape[1]))
    for rows, chunk in _chunks_of(design):
        out[rows] = chunk @ coefficients
    return out


def level_contrast(design: SweptDesign, level: int, *, factor: int = 0) -> FloatArray | None:
    """Return c for "level against the first level" of a factor, or None where it cannot be estimated.

    Parameters
    ----------
    design : SweptDesign
    level : int
        At least 1.
    factor : int, optional
        Position among the factors.

    Returns
    -------
    array of float, shape (p,), or None
    """
    c = np.zeros(len(design.scale))
    c[sum(count - 1 for count in design.columns.levels[:factor]) + level - 1] = 1.0
    if not design.scale[c > 0].all():
        return None
    missed = c - design.row_space @ c
    return c if np.abs(missed).max() < ROW_SPACE_TOLERANCE else None


def linear_form(design: SweptDesign, c: FloatArray) -> tuple[FloatArray, float]:
    """Return weights a with c'b = a'y, shape (n,), and the variance factor c'G^+c."""
    weights = fitted(design, (design.inverse @ c)[:, np.newaxis])[:, 0]
    return weights, float(c @ design.inverse @ c)


def estimate_of_form(design: SweptDesign, fit: LeastSquares, c: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return c'b and its standard error for every data set.

    Parameters
    ----------
    design : SweptDesign
    fit : LeastSquares
        Of this design.
    c : array of float, shape (p,)
        In the row space.

    Returns
    -------
    estimate : array of float, shape (k,)
    standard_error : array of float, shape (k,)
        On ``design.df`` degrees of freedom; NaN without any, or where there is no scatter.
    """
    estimate = np.asarray(c @ fit.coefficients, dtype=np.float64)
    variance = fit.residual_variance * float(c @ design.inverse @ c)
    return estimate, np.sqrt(np.where(variance > 0, variance, np.nan))


def explained_by_factor(design: SweptDesign, y: FloatArray, *, factor: int = 0) -> tuple[FloatArray, int]:
    """Sum of squares that a factor explains beyond all the rest, shape (k,), and its rank.

    Computed as the squared length of the difference of the two fits, so nothing cancels.
    """
    x = design.columns
    rest = [pair for i, pair in enumerate(zip(x.factors, x.levels, strict=True)) if i != factor]
    without = swept_design(x.group, rest, x.numeric)
    full, less = least_squares(design, y), least_squares(without, y)
    return ((less.residuals - full.residuals) ** 2).sum(axis=0), design.rank - without.rank


def _chunks_of(design: SweptDesign) -> Iterable[tuple[IntArray, FloatArray]]:
    return _centred_chunks(design.columns) if design.held is None else design.held


def _centred_chunks(x: _Columns) -> Iterator[tuple[IntArray, FloatArray]]:
    """Yield (rows, M X of those rows) in chunks of whole groups."""
    by_group = np.argsort(x.group, kind="stable")
    target = max(1, CHUNK // max(1, x.width))
    ends = np.append(np.flatnonzero(np.diff(x.group[by_group])) + 1, len(x.group))
    start = 0
    while start < len(x.group):
        fitting = ends[(ends > start) & (ends <= start + target)]
        stop = int(fitting[-1] if fitting.size else ends[ends > start][0])
        rows = by_group[start:stop]
        yield rows, centred(x.of(rows), compact(x.group[rows]))
        start = stop
