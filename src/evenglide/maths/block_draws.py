r"""Least squares in rounds of several treatments, for many drawn studies at once.

Model for the value of treatment t in round r: :math:`y_{rt} = \beta_r + X_{rt} b + e`, X with a column for
each treatment but the first, and for pieces of gear. Values that are missing have weight nought; columns and
values are centred inside rounds over what is there, then :math:`G b = X^\top y` is solved study by study.
"""

from __future__ import annotations

import numpy as np

from evenglide.typing import BoolArray, FloatArray, IntArray

SINGULAR = 1e-9
"""A determinant below this share of the product of the diagonal has no inverse."""


def block_draws(
    y: FloatArray, columns: FloatArray, there: BoolArray, *, contrasts: int
) -> tuple[FloatArray, FloatArray, IntArray]:
    """Estimates of the first columns with their standard errors, pooled over treatments.

    Parameters
    ----------
    y : array of float, shape (rounds, treatments, studies)
    columns : array of float, shape (columns, rounds, treatments, studies or 1)
    there : array of bool, shape (rounds, treatments, studies or 1)
    contrasts : int
        How many of the first columns are asked about.

    Returns
    -------
    estimate, error : array of float, shape (contrasts, studies)
        Error infinite where the columns cannot be told apart or no degree of freedom is left.
    df : array of int, shape (contrasts, studies)
        0 there.
    """
    weight = there.astype(np.float64)
    number = np.maximum(weight.sum(axis=1, keepdims=True), 1.0)

    def centred(values: FloatArray) -> FloatArray:
        mean = (values * weight).sum(axis=-2, keepdims=True) / number
        return np.asarray((values - mean) * weight)

    x, rest = centred(columns), centred(y)
    studies, count = y.shape[-1], len(columns)
    gram = np.einsum("artn,brtn->nab", x, x)
    moment = np.einsum("artn,rtn->na", np.broadcast_to(x, (count, *y.shape)), rest)
    scale = np.prod(np.maximum(np.einsum("naa->na", gram), np.finfo(float).tiny), axis=1)
    sound = np.linalg.det(gram) > SINGULAR * scale
    inverse = np.linalg.inv(np.where(sound[:, np.newaxis, np.newaxis], gram, np.eye(count)))
    solved = np.einsum("nab,nb->na", np.broadcast_to(inverse, (studies, count, count)), moment)
    squares = (rest**2).sum(axis=(0, 1)) - np.einsum("na,na->n", solved, moment)
    blocks = (weight.sum(axis=1) > 0).sum(axis=0)
    df = np.broadcast_to(weight.sum(axis=(0, 1)) - blocks - count, (studies,)).astype(np.int64)
    tested = np.broadcast_to(sound, (studies,)) & (df > 0)
    variance = np.maximum(squares, 0.0) / np.maximum(df, 1)
    factor = np.broadcast_to(np.einsum("naa->an", inverse), (count, studies))[:contrasts]
    error = np.where(tested, np.sqrt(variance * factor), np.inf)
    shape = (contrasts, studies)
    return solved.T[:contrasts], error, np.broadcast_to(np.where(tested, df, 0), shape)
