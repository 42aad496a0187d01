r"""Limits of the shifts that a randomisation test does not reject, as order statistics.

Notation. For order z with statistic :math:`T_z` and overlap :math:`k_z` (its coefficient when y is the
observed z), the values :math:`y - \delta z` give it :math:`T_z - \delta k_z` and the observed order
:math:`T - \delta`. It is as extreme as the observed one between :math:`(T - T_z)/(1 - k_z)` and
:math:`(T + T_z)/(1 + k_z)`. All these spans hold T, so the shifts at which more than a share `level` of R
orders count end at order statistics of the spans' ends, number
:math:`\lfloor \text{level} \cdot R \rfloor` counted without the observed order. With items
:math:`|k_z| > 1` can happen; z then counts outside the two, and the limits are the outermost shifts that
are not rejected.

Reference: Edgington & Onghena, Randomization Tests (2007), chapter 14.
"""

from __future__ import annotations

import math
from collections.abc import Iterable

import numpy as np

from evenglide.maths.order_sets import VANISHES
from evenglide.typing import BoolArray, FloatArray, Interval

ROWS = 2**17
"""Shifts looked at together."""


def orders_needed(level: float, orders: int) -> int:
    """Fewest orders that must count at a shift that is not rejected.

    Parameters
    ----------
    level : float
    orders : int

    Returns
    -------
    int

    Examples
    --------
    >>> orders_needed(0.05, 64), orders_needed(0.25, 8), orders_needed(0.05, 16)
    (4, 3, 1)
    """
    return math.floor(level * orders + 1e-9) + 1


class Spans:
    """Ends of the spans of shifts of many orders, filled chunk by chunk.

    Parameters
    ----------
    estimate : float
        Statistic of the observed order. [unit of y]
    tolerance : float
        Statistics this near are the same. [unit of y]
    most : int
        Orders that may come.
    """

    __slots__ = ("_filled", "_high", "_low", "_outside", "estimate", "tolerance")

    def __init__(self, *, estimate: float, tolerance: float, most: int) -> None:
        self.estimate, self.tolerance = estimate, tolerance
        self._low, self._high = np.empty(most), np.empty(most)
        self._outside = np.zeros(most, dtype=np.bool_)
        self._filled = 0

    def add(self, statistic: FloatArray, overlap: FloatArray) -> None:
        """Add orders by their statistic and overlap.

        Parameters
        ----------
        statistic : array of float, shape (k,)
            [unit of y]
        overlap : array of float, shape (k,)
            [1]
        """
        at = slice(self._filled, self._filled + len(statistic))
        self._filled = at.stop
        self._low[at], self._high[at] = ends_of_spans(
            statistic, overlap, estimate=self.estimate, tolerance=self.tolerance
        )
        np.greater(np.abs(overlap), 1.0 + VANISHES, out=self._outside[at])

    def interval(self, level: float) -> Interval | None:
        """Find the outermost shifts at which more than `level` of the orders count. Ends the filling.

        Parameters
        ----------
        level : float

        Returns
        -------
        tuple of (float or None, float or None), or None
            None for an end without bound; None as a whole where neither has one.
        """
        needed = orders_needed(level, self._filled)
        if needed == 1:
            return None
        low, high = self._low[: self._filled], self._high[: self._filled]
        outside = self._outside[: self._filled]
        if outside.any():
            return _as_interval(*_outermost(low, high, outside, needed=needed))
        low.partition(needed - 1)  # in place: a copy of ten million ends is 80 MB
        high.partition(len(high) - needed)
        return _as_interval(float(low[needed - 1]), float(high[-needed]))


def ends_of_spans(
    statistic: FloatArray, overlap: FloatArray, *, estimate: float, tolerance: float
) -> tuple[FloatArray, FloatArray]:
    """Shifts at which an order is exactly as extreme as the observed one, sorted.

    An order that is the observed one or its mirror image for the estimate counts at every shift. Where
    only the overlap is 1 or -1, one of the two shifts is infinite.

    Parameters
    ----------
    statistic, overlap : array of float, shape (k,)
    estimate, tolerance : float

    Returns
    -------
    tuple of array of float, shape (k,)
        Lower and upper ends.
    """
    same, mirror = shifts_of_ties(statistic, overlap, estimate=estimate, tolerance=tolerance)
    with np.errstate(invalid="ignore"):
        low, high = np.minimum(same, mirror), np.maximum(same, mirror)
    always = np.isnan(low)
    low[always], high[always] = -np.inf, np.inf
    return low, high


def shifts_of_ties(
    statistic: FloatArray, overlap: FloatArray, *, estimate: float, tolerance: float
) -> tuple[FloatArray, FloatArray]:
    """Shifts at which an order is as extreme as the observed one, to the same side and to the other.

    Parameters
    ----------
    statistic, overlap : array of float, shape (k,)
    estimate, tolerance : float

    Returns
    -------
    tuple of array of float, shape (k,)
        NaN where it is so at every shift.
    """
    with np.errstate(divide="ignore", invalid="ignore"):
        same = _ratio(estimate - statistic, 1.0 - overlap, tolerance)
        return same, _ratio(estimate + statistic, 1.0 + overlap, tolerance)


def _ratio(above: FloatArray, below: FloatArray, tolerance: float) -> FloatArray:
    """`above` / `below`; infinite where `below` vanishes, NaN where both do."""
    vanishes = np.abs(below) <= VANISHES
    if not vanishes.any():
        return above / below
    ends = np.where(np.abs(above) <= tolerance, np.nan, np.copysign(np.inf, above))
    return np.where(vanishes, ends, above / below)


def _as_interval(low: float, high: float) -> Interval | None:
    if math.isinf(low) and math.isinf(high):
        return None
    return (None if math.isinf(low) else low, None if math.isinf(high) else high)


def _outermost(low: FloatArray, high: FloatArray, outside: BoolArray, *, needed: int) -> tuple[float, float]:
    """Outermost shifts at which `needed` orders count, some of them outside their two shifts; in place."""
    always = int(np.count_nonzero(outside))
    low[outside], high[outside] = high[outside], low[outside]
    starts, ends = low, high  # an order counts from its start on, and no longer beyond its end
    starts.sort()
    ends.sort()
    first = _first_shift(starts, ends, always=always, needed=needed)
    np.negative(starts, out=starts)
    np.negative(ends, out=ends)
    return first, -_first_shift(ends[::-1], starts[::-1], always=always, needed=needed)


def _first_shift(starts: FloatArray, ends: FloatArray, *, always: int, needed: int) -> float:
    """Smallest shift at which at least `needed` orders count; both lists sorted."""
    far_left = np.searchsorted(starts, -np.inf, "right") - np.searchsorted(ends, -np.inf, "right")
    if always + far_left >= needed:
        return -math.inf
    for rows in _chunks(starts):
        count = always + np.searchsorted(starts, rows, "right") - np.searchsorted(ends, rows, "left")
        reached = count >= needed
        if reached.any():
            return float(rows[np.argmax(reached)])
    return math.inf


def _chunks(values: FloatArray) -> Iterable[FloatArray]:
    return (values[start : start + ROWS] for start in range(0, len(values), ROWS))
