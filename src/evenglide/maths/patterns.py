"""Data sets that lack the same values, brought together so that each kind is reckoned once."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from evenglide.typing import BoolArray, IntArray


def columns_by_pattern(present: BoolArray) -> Iterator[tuple[BoolArray, IntArray]]:
    """Group columns by which of their rows are present.

    Parameters
    ----------
    present : array of bool, shape (n, k)
        One column for each data set.

    Yields
    ------
    pattern : array of bool, shape (n,)
        Rows that these columns have.
    columns : array of int
        Positions of the columns, increasing. Together they are 0 to k - 1, each once.

    Examples
    --------
    >>> present = np.array([[True, False, True], [True, True, True]])
    >>> [(pattern.tolist(), columns.tolist()) for pattern, columns in columns_by_pattern(present)]
    [([False, True], [1]), ([True, True], [0, 2])]
    """
    if not present.shape[1]:
        return
    if present.all():
        yield present[:, 0], np.arange(present.shape[1])
        return
    packed = np.ascontiguousarray(np.packbits(present, axis=0).T)
    keys = packed.view(np.dtype((np.void, packed.shape[1]))).ravel()
    _, inverse, sizes = np.unique(keys, return_inverse=True, return_counts=True)
    by_pattern = np.argsort(inverse, kind="stable")
    for columns in np.split(by_pattern, np.cumsum(sizes)[:-1]):
        yield present[:, columns[0]], columns
