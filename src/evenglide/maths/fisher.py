r"""Fisher's exact test of a two by two table of counts.

Given the margins of the table

.. math:: \begin{array}{c|cc} & \text{yes} & \text{no} \\ \hline 1 & a & b \\ 2 & c & d \end{array}

the chance of a is :math:`\binom{a+b}{a}\binom{c+d}{c} / \binom{n}{a+c}` when yes comes as often in both
rows. p adds the chances of all tables with these margins that are no more likely than the observed one.

Reference: Fisher (1935) J. R. Stat. Soc. 98:39-82; two-sided by the likelihood of tables.
"""

from __future__ import annotations

import math
from fractions import Fraction

EXACT_LIMIT = 10_000
"""Counts up to this sum are added as whole numbers; larger tables go through logarithms."""
TIE_TOLERANCE = 1e-9
"""Relative difference of two chances, both from logarithms, within which they are equal."""


def fisher_exact_p(first: tuple[int, int], second: tuple[int, int]) -> float:
    """Two-sided probability that the share of yes differs so much between two rows.

    Parameters
    ----------
    first, second : tuple of (int, int)
        Counts of yes and of no in each row. [1]

    Returns
    -------
    float
        Probability; 1 for a table with an empty row or column. [1]

    Raises
    ------
    ValueError
        If a count is negative.

    Examples
    --------
    The lady tasting tea who names three of four cups right (Fisher 1935): 34 of 70 orders.

    >>> fisher_exact_p((3, 1), (1, 3))
    0.4857142857
    """
    if min(*first, *second) < 0:
        msg = f"counts are {first} and {second}; expected none below zero"
        raise ValueError(msg)
    rows, yes = (sum(first), sum(second)), first[0] + second[0]
    possible = range(max(0, yes - rows[1]), min(rows[0], yes) + 1)
    if sum(rows) <= EXACT_LIMIT:
        return _exact(rows, yes, observed=first[0], possible=possible)
    return _logarithmic(rows, yes, observed=first[0], possible=possible)


def _exact(rows: tuple[int, int], yes: int, *, observed: int, possible: range) -> float:
    """Whole numbers of orders: ties are ties."""
    # Each from its neighbour: the binomials of a large table are long, their ratio is short.
    ways = math.comb(rows[0], possible.start) * math.comb(rows[1], yes - possible.start)
    orders = []
    for a in possible:
        orders.append(ways)
        ways = ways * (rows[0] - a) * (yes - a) // ((a + 1) * (rows[1] - yes + a + 1))
    most = orders[observed - possible.start]
    return float(Fraction(sum(count for count in orders if count <= most), sum(orders)))


def _logarithmic(rows: tuple[int, int], yes: int, *, observed: int, possible: range) -> float:
    """Log-gamma sums, for tables whose whole numbers would be too long."""

    def log_ways(a: int) -> float:
        return -sum(math.lgamma(count + 1.0) for count in (a, rows[0] - a, yes - a, rows[1] - yes + a))

    logs = [log_ways(a) for a in possible]
    largest = max(logs)
    chances = [math.exp(value - largest) for value in logs]
    limit = chances[observed - possible.start] * (1.0 + TIE_TOLERANCE)
    return min(1.0, math.fsum(chance for chance in chances if chance <= limit) / math.fsum(chances))
