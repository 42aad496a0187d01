r"""Points of Student's t for very many fractional degrees of freedom, and the claims they decide.

A p value is at or below a level exactly where the statistic is at or beyond a point of Student's t. Comparing
with points needs no tail of a distribution: the points are read from a table of cubics in :math:`1/\nu`, in
which they are smooth from one degree of freedom to infinity.

Holm's method from comparisons alone, for a family of m: let :math:`c_k` be how many p values are at or below
level/k. It makes :math:`r` claims, the largest r with :math:`c_{m-j+1} \ge j` for all :math:`j \le r`, and
they are the p values at or below level/(m - r + 1).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from evenglide.maths.distributions import t_upper
from evenglide.typing import BoolArray, FloatArray, IntArray

CELLS = 1024
"""Pieces of the table; the error of a point is below 1e-9 of it for tails down to 0.001."""
PLACES = np.arange(4.0) / 3.0


class TPoints:
    """Table of points of Student's t for some upper tails.

    Parameters
    ----------
    tails : sequence of float
        Upper tails, above 0 and below 1/2. [1]

    Examples
    --------
    >>> TPoints([0.025])(np.array([1.0, 10.5]))
    array([[12.70620474,  2.21384029]])
    """

    def __init__(self, tails: Sequence[float]) -> None:
        start = np.arange(CELLS)[:, np.newaxis]
        with np.errstate(divide="ignore"):
            df = CELLS / (start + PLACES)
        values = t_upper(np.array(tails)[:, np.newaxis, np.newaxis], df)
        powers = np.linalg.inv(np.vander(PLACES, 4))
        self._cubics = np.ascontiguousarray(np.moveaxis(values @ powers.T, -1, 0))

    def __call__(self, df: FloatArray) -> FloatArray:
        """Points, shape (tails, *df.shape), for degrees of freedom of 1 or more (infinite allowed)."""
        place = CELLS / df.ravel()
        cell = np.minimum(place.astype(np.int64), CELLS - 1)
        place -= cell
        points = np.take(self._cubics[0], cell, axis=1)
        for coefficients in self._cubics[1:]:
            points *= place
            points += np.take(coefficients, cell, axis=1)
        return points.reshape(-1, *df.shape)


@dataclass(frozen=True, slots=True, kw_only=True)
class Claimed:
    """Which claims are made, shape (m, S) each."""

    difference: BoolArray
    alike: BoolArray
    matters: BoolArray


class HolmByPoints:
    """Three claims about each of m comparisons that share a level by Holm's method.

    Parameters
    ----------
    m : int
        Comparisons of the family.
    level : float
        Level of each kind of claim. [1]
    """

    def __init__(self, m: int, *, level: float) -> None:
        divided = level / np.arange(m, 0, -1)
        tails = np.unique(np.append(divided, divided / 2.0))
        self._points = TPoints(tails.tolist())
        self._one_sided: IntArray = np.searchsorted(tails, divided)
        self._two_sided: IntArray = np.searchsorted(tails, divided / 2.0)

    def __call__(
        self, estimate: FloatArray, se: FloatArray, *, df: FloatArray, low: float, high: float
    ) -> Claimed:
        """Decide every claim of every study.

        Parameters
        ----------
        estimate, se, df : array of float, shape (m, S)
            Estimates with their standard errors; NaN claims nothing.
        low, high : float
            Edges of what does not matter.

        Returns
        -------
        Claimed
        """
        points = self._points(np.where(df >= 1.0, df, np.inf))
        points *= se
        beyond = np.maximum(estimate - high, low - estimate)
        inside = np.minimum(estimate - low, high - estimate)
        size = np.abs(estimate)
        return Claimed(
            difference=stepped_down([points[k] <= size for k in self._two_sided]),
            alike=stepped_down([points[k] <= inside for k in self._one_sided]),
            matters=stepped_down([points[k] <= beyond for k in self._two_sided]),
        )


def stepped_down(below: Sequence[BoolArray]) -> BoolArray:
    """Claims of Holm's method, from which p values are at or below level/m, ..., level/2, level.

    Parameters
    ----------
    below : sequence of m arrays of bool, shape (m, S)
        By rising level.

    Returns
    -------
    array of bool, shape (m, S)

    Examples
    --------
    Two p values of 0.02 and 0.04 at 5 %: the first passes 0.025, so the second is held to 0.05.

    >>> p = np.array([[0.02], [0.04]])
    >>> stepped_down([p <= 0.025, p <= 0.05])[:, 0]
    array([ True,  True])
    >>> stepped_down([p + 0.01 <= 0.025, p + 0.01 <= 0.05])[:, 0]
    array([False, False])
    """
    going = np.ones(below[0].shape[1], dtype=np.bool_)
    claims = np.zeros_like(below[0])
    for needed, passed in enumerate(below, start=1):
        going &= np.add.reduce(passed, axis=0, dtype=np.int8) >= needed
        claims |= passed & going
    return claims
