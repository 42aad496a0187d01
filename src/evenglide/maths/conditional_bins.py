r"""Bins of p values when the standard error has come out, and the estimate is still normal.

What has been drawn of a study fixes its standard errors; given that, the estimate of a comparison is
:math:`N(\delta + a, \omega^2)`, and a claim at a level is a normal probability, which is averaged over
studies instead of a yes or no (Rao-Blackwell). With t and s the points of Student's t as in
`maths.claim_bins`, margin M, and e the standard error that came out,

.. math::

   P(p_\text{difference} \le \alpha_j) &= P(|\hat\theta| \ge t_j e), \\
   P(p_\text{alike} \le \alpha_j) &= P(|\hat\theta| \le M - s_j e), \\
   P(p_\text{matters} \le \alpha_j) &= P(|\hat\theta| \ge M + t_j e).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import special

from evenglide.maths.distributions import t_upper
from evenglide.maths.family_chance import FamilyBins
from evenglide.typing import FloatArray, IntArray


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawnStudies:
    """What has been drawn of the comparisons of studies.

    Parameters
    ----------
    shift, spread : array of float, shape (comparisons, studies)
        a and omega.
    error : array of float, shape (comparisons, studies)
        Standard error that came out; infinite without a test.
    df : array of int, shape (comparisons, studies)
        Its degrees of freedom; 0 without a test.
    """

    shift: FloatArray
    spread: FloatArray
    error: FloatArray
    df: IntArray

    def of(self, comparisons: list[int]) -> DrawnStudies:
        """Return some of the comparisons."""
        return DrawnStudies(
            shift=self.shift[comparisons],
            spread=self.spread[comparisons],
            error=self.error[comparisons],
            df=self.df[comparisons],
        )


def conditional_bins(
    drawn: DrawnStudies, *, effect: FloatArray, margin: FloatArray, levels: FloatArray, joint: bool
) -> FamilyBins:
    """Bins of the comparisons of one family in every study.

    Parameters
    ----------
    drawn : DrawnStudies
    effect, margin : array of float, shape (comparisons,)
        True effect; largest effect that counts as alike, positive.
    levels : array of float, shape (levels,)
        Rising. [1]
    joint : bool
        Whether difference and alike are looked at together.

    Returns
    -------
    FamilyBins
        With studies in place of plans.
    """
    two, one = points(drawn.df, levels / 2.0), points(drawn.df, levels)
    error = drawn.error[:, np.newaxis]
    near = margin[:, np.newaxis, np.newaxis]
    middle = (drawn.shift + effect[:, np.newaxis])[:, np.newaxis]
    spread = drawn.spread[:, np.newaxis]

    def within(reach: FloatArray) -> FloatArray:
        """Chance that the estimate is nearer to nought than `reach`."""
        found = special.ndtr((reach - middle) / spread) - special.ndtr((-reach - middle) / spread)
        return np.asarray(np.where(reach > 0, found, 0.0))

    tested = (drawn.df > 0)[:, np.newaxis]
    small, room = within(two * error), within(near - one * error)
    together = None
    if joint:
        together = np.maximum(room[:, np.newaxis] - small[:, :, np.newaxis], 0.0)
    return FamilyBins(
        difference=np.where(tested, 1.0 - small, 0.0),
        alike=np.where(tested, room, 0.0),
        matters=np.where(tested, 1.0 - within(near + two * error), 0.0),
        joint=None if together is None else np.where(tested[:, np.newaxis], together, 0.0),
    )


def points(df: IntArray, tails: FloatArray) -> FloatArray:
    """Points of Student's t for whole degrees of freedom, by a table.

    Parameters
    ----------
    df : array of int, shape (comparisons, studies)
        Not negative; 0 gives the point for 1.
    tails : array of float, shape (levels,)
        Probability above the point. [1]

    Returns
    -------
    array of float, shape (comparisons, levels, studies)
    """
    known = np.arange(1, max(int(df.max(initial=1)), 1) + 1, dtype=np.float64)
    table = t_upper(tails[:, np.newaxis], known)
    return np.moveaxis(table[:, np.maximum(df, 1) - 1], 0, 1)
