r"""Generalised extreme studentised deviates: how many of the most extreme values are outliers.

Notation: from n values the one farthest from their mean is taken away, then the one farthest from the
mean of the rest, and so on. Step i = 1, 2, ... gives

.. math:: R_i = \frac{\max |x - \bar x|}{s}, \qquad
   \lambda_i = \frac{(n - i)\, t}{\sqrt{(n - i - 1 + t^2)(n - i + 1)}},

with mean and standard deviation of the values still there and t the point that Student's t on n - i - 1
degrees of freedom exceeds with probability level / (2 (n - i + 1)). The outliers are the values taken
away up to the last i with :math:`R_i > \lambda_i`: two that hide each other are found together. One step
alone is the two-sided test of Grubbs.

Reference: Rosner (1983) Technometrics 25:165-172. Holds its level from about 25 values on.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from evenglide.maths.distributions import t_upper
from evenglide.typing import FloatArray, IntArray

ROUNDINGS = 4
"""A deviation below so many rounding errors of the largest value is noise of the arithmetic."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ExtremeDeviates:
    r"""What was taken away, and how far out it was.

    Parameters
    ----------
    positions : array of int, shape (steps,)
        Where the value of each step stands in the data.
    deviates : array of float, shape (steps,)
        :math:`R_i`. [1]
    critical : array of float, shape (steps,)
        :math:`\lambda_i`. [1]
    outliers : array of int, shape (k,)
        The first k of `positions`: the outliers.
    """

    positions: IntArray
    deviates: FloatArray
    critical: FloatArray
    outliers: IntArray


def extreme_deviates(values: FloatArray, *, level: float, most: int) -> ExtremeDeviates:
    """Look for up to `most` outliers.

    Parameters
    ----------
    values : array of float, shape (n,)
        Values of one spread, such as residuals divided by their standard deviations' factors.
    level : float
        Chance of finding any outlier where there is none. [1]
    most : int
        Largest number of outliers; never more than (n - 1) / 2 are looked for. [1]

    Returns
    -------
    ExtremeDeviates
        Empty where n < 3, `most` is 0 or all values are equal.

    Notes
    -----
    An extreme value is always the smallest or the largest of those left, so one sort suffices. Sums are
    built from the median outwards: a wild value cannot spoil the sums of the values inside it.

    Examples
    --------
    >>> found = extreme_deviates(np.array([1.0, 2.0, 3.0, 2.5, 40.0, 1.5, 2.2]), level=0.05, most=2)
    >>> found.outliers
    array([4])
    """
    n = len(values)
    steps = max(0, min(most, (n - 1) // 2))
    order = np.argsort(values, kind="stable")
    ranked = values[order] - (values[order[n // 2]] if n else 0.0)
    sums = _Outward(ranked)
    noise = ROUNDINGS * np.finfo(np.float64).eps * float(np.abs(values).max(initial=0.0))
    low, high = 0, n
    positions, deviates = [], []
    for _ in range(steps):
        mean, deviation = sums.mean_and_deviation(low, high)
        if deviation <= noise:
            break
        below, above = mean - ranked[low], ranked[high - 1] - mean
        positions.append(order[low] if below > above else order[high - 1])
        deviates.append(max(below, above) / deviation)
        low, high = (low + 1, high) if below > above else (low, high - 1)
    critical = critical_deviates(n, level=level, steps=len(positions))
    beyond = np.flatnonzero(np.array(deviates) > critical)
    taken = np.array(positions, dtype=np.int64)
    return ExtremeDeviates(
        positions=taken,
        deviates=np.array(deviates, dtype=np.float64),
        critical=critical,
        outliers=taken[: beyond[-1] + 1] if len(beyond) else taken[:0],
    )


def critical_deviates(n: int, *, level: float, steps: int) -> FloatArray:
    r"""Critical deviates :math:`\lambda_1, \dots` for n values.

    Parameters
    ----------
    n : int
        Number of values. [1]
    level : float
        Chance of finding any outlier where there is none. [1]
    steps : int
        How many, at most n - 2. [1]

    Returns
    -------
    array of float, shape (steps,)
        The deviates. [1]

    Examples
    --------
    >>> critical_deviates(54, level=0.05, steps=2)
    array([3.15879394, 3.15143002])
    """
    left = n - np.arange(1, steps + 1)
    t = t_upper(level / (2.0 * (left + 1)), left - 1)
    return np.asarray(left * t / np.sqrt((left - 1 + t**2) * (left + 1)), dtype=np.float64)


class _Outward:
    """Mean and standard deviation of any run of sorted values around the middle, without cancellation."""

    def __init__(self, ranked: FloatArray) -> None:
        self.middle = len(ranked) // 2
        below, above = ranked[: self.middle][::-1], ranked[self.middle :]
        self.below = np.cumsum(np.stack([np.append(0.0, below), np.append(0.0, below) ** 2]), axis=1)
        self.above = np.cumsum(np.stack([np.append(0.0, above), np.append(0.0, above) ** 2]), axis=1)

    def mean_and_deviation(self, low: int, high: int) -> tuple[float, float]:
        """Of the values at ranks `low` to `high` - 1; deviation with the divisor of a sample."""
        count = high - low
        total, square = self.below[:, self.middle - low] + self.above[:, high - self.middle]
        return total / count, float(np.sqrt(max(0.0, square - total**2 / count) / (count - 1)))
