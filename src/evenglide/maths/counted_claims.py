"""Claims of whole studies, counted: estimates and standard errors in, yes or no out, Holm's method included.

Every p value is compared with levels by its point of Student's t, so that no tail has to be worked out: m
comparisons of a family take m points. For many comparisons whose estimates go together this is what is left.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from evenglide.maths.conditional_bins import points
from evenglide.typing import BoolArray, FloatArray, IntArray


@dataclass(frozen=True, slots=True, kw_only=True)
class CountedClaims:
    """Which claims are made, shape (comparisons, studies) each."""

    difference: BoolArray
    alike: BoolArray
    matters: BoolArray


def counted_claims(
    estimate: FloatArray, error: FloatArray, df: IntArray, *, margin: FloatArray, levels: FloatArray
) -> CountedClaims:
    """Decide the claims of one family in every study.

    Parameters
    ----------
    estimate, error : array of float, shape (comparisons, studies)
        Estimates with their standard errors.
    df : array of int, shape (comparisons, studies)
        0 without a test: nothing is claimed.
    margin : array of float, shape (comparisons,)
        Largest effect that counts as alike.
    levels : array of float, shape (levels,)
        Rising; as many as comparisons for Holm's method, one where every comparison gets the same.

    Returns
    -------
    CountedClaims

    Examples
    --------
    Two comparisons at 5 %: the first holds at 2.5 %, so the second may use 5 %.

    >>> claims = counted_claims(
    ...     np.array([[3.0], [2.4]]),
    ...     np.ones((2, 1)),
    ...     np.full((2, 1), 8),
    ...     margin=np.ones(2),
    ...     levels=np.array([0.025, 0.05]),
    ... )
    >>> claims.difference[:, 0]
    array([ True,  True])
    """
    two, one = points(df, levels / 2.0), points(df, levels)
    size, spread = np.abs(estimate)[:, np.newaxis], error[:, np.newaxis]
    near = margin[:, np.newaxis, np.newaxis]
    tested = (df > 0)[:, np.newaxis]
    return CountedClaims(
        difference=_stepped_down(tested & (size >= two * spread)),
        alike=_stepped_down(tested & (size <= near - one * spread)),
        matters=_stepped_down(tested & (size - near >= two * spread)),
    )


def _stepped_down(below: BoolArray) -> BoolArray:
    """Claims from whether each p value is at or below each level, shape (comparisons, levels, studies)."""
    levels = below.shape[1]
    if levels == 1:
        return below[:, 0]
    enough = below.sum(axis=0) >= np.arange(1, levels + 1)[:, np.newaxis]
    claims = np.logical_and.accumulate(enough, axis=0).sum(axis=0)
    # The claims are the p values at or below the level at which the method stopped.
    at = np.minimum(claims, levels - 1)
    return np.asarray(np.take_along_axis(below, at[np.newaxis, np.newaxis], axis=1)[:, 0])
