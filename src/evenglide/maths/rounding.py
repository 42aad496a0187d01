r"""The step on which readings were taken: how coarse a list of numbers is.

Somebody who reads to the centimetre and writes two decimals, or to five centimetres, leaves a grid in the
numbers. Its step is the greatest common divisor of the readings counted in units of the last decimal.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from fractions import Fraction


def reading_step(values: Iterable[float], decimals: int) -> float | None:
    r"""Largest step of which every reading is a multiple.

    Parameters
    ----------
    values : iterable of float
        Readings, as written with at most `decimals` decimals.
    decimals : int
        Decimals of the finest reading; negative for readings in tens, hundreds, ... [1]

    Returns
    -------
    float or None
        :math:`g \cdot 10^{-\text{decimals}}` with g the greatest common divisor of the readings in that
        unit; None if there is no reading other than zero. [unit of the readings]

    Raises
    ------
    ValueError
        If a reading is not finite or has more decimals than said.

    Notes
    -----
    Whole numbers throughout, so 0.3 is three tenths whatever its binary form. Few readings can share a
    step by chance: readings of the step g all fall on 2 g with probability 1/2 each.

    Examples
    --------
    >>> reading_step([4.25, 3.10, 3.85], 2)
    0.05
    >>> reading_step([0.1, 0.2, 0.3], 1)
    0.1
    >>> reading_step([120.0, 80.0], 0)
    40.0
    """
    unit = Fraction(10) ** -decimals
    counts = [_whole(float(value), unit) for value in values]
    common = math.gcd(*counts)
    return float(common * unit) if common else None


def _whole(value: float, unit: Fraction) -> int:
    """How many units a reading has, exactly."""
    if not math.isfinite(value):
        msg = f"a reading is {value}; expected a number"
        raise ValueError(msg)
    count = round(Fraction(value) / unit)
    if float(count * unit) != value:
        msg = f"a reading is {value!r}; expected a multiple of {float(unit)!r}"
        raise ValueError(msg)
    return count
