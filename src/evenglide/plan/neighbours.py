"""Sequences in which everything follows everything else equally often.

What a surface leaves on a coat meets the surface that comes next. In the rows below, each of n things stands
in each place equally often and follows each other one equally often: once over the n rows for even n, twice
over the 2 n rows for odd n.

Source: Williams (1949), Australian Journal of Scientific Research A 2, 149-168.
"""

from __future__ import annotations


def williams_row(count: int, turn: int) -> tuple[int, ...]:
    """Row of the Williams design of n things.

    Parameters
    ----------
    count : int
        Number of things n, at least 1.
    turn : int
        Number of the row, from 0; after the last row the first comes again. Row r begins with r in the first
        n rows.

    Returns
    -------
    tuple of int
        The numbers 0 to n - 1.

    Examples
    --------
    >>> [williams_row(4, turn) for turn in range(4)]
    [(0, 1, 3, 2), (1, 2, 0, 3), (2, 3, 1, 0), (3, 0, 2, 1)]
    >>> [williams_row(3, turn) for turn in (0, 3)]
    [(0, 1, 2), (2, 1, 0)]
    """
    zigzag = [(place + 1) // 2 if place % 2 else -(place // 2) for place in range(count)]
    row = tuple((step + turn) % count for step in zigzag)
    mirrored = count % 2 == 1 and (turn // count) % 2 == 1
    return row[::-1] if mirrored else row
