r"""Drawn studies of one treatment against another in pairs, reduced to what their tests look at.

The difference of pair r is :math:`d_r = a g_r + h_r`, g common to several comparisons,
:math:`h_r \sim N(0, v_r)` their own; least squares fits :math:`d_r = \theta + \beta x_r` (x = -1 or 1 says
which piece of gear is treated; or no x). Given g and the residuals of h, the estimate is normal: with
:math:`\tilde\theta` the estimate from h weighted by :math:`1/v_r`, which does not depend on the residuals,

.. math:: \hat\theta = a \hat g + (\hat h - \tilde h) + \tilde h, \qquad \tilde h \sim N(0, \omega^2),

:math:`\omega^2` the variance of the weighted estimate. Pairs that were lost have weight nought.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from evenglide.maths.conditional_bins import DrawnStudies
from evenglide.typing import BoolArray, FloatArray

FLAT = 1e-9
"""A column of signs with less left than this share is constant."""


def paired_draws(
    common: FloatArray, own: FloatArray, variance: FloatArray, *, kept: BoolArray, sign: FloatArray | None
) -> DrawnStudies:
    """Reduce drawn pair differences to estimates and standard errors.

    Parameters
    ----------
    common : array of float, shape (pairs, studies)
        a g of each pair; the same for every comparison.
    own : array of float, shape (comparisons, pairs, studies)
        h of each pair.
    variance : array of float, shape (comparisons, pairs, studies)
        v of each pair, positive.
    kept : array of bool, shape (comparisons, pairs, studies)
        Pairs that were met and not lost.
    sign : array of float, shape (comparisons, pairs, studies), or None
        x; None where it takes no column.

    Returns
    -------
    DrawnStudies
    """
    plain = _Fit.of(kept.astype(np.float64), sign)
    weighted = _Fit.of(np.where(kept, 1.0 / variance, 0.0), sign)
    whole = common + own
    fitted, rest = plain.estimate(whole)
    count = kept.sum(axis=1)
    df = np.maximum(count - (1 if sign is None else 2), 0)
    df = np.where(plain.possible & (df > 0), df, 0)
    squares = np.einsum("crn,crn->cn", plain.weight, rest**2)
    error = np.sqrt(squares / np.maximum(df, 1) * plain.factor)
    loose = weighted.estimate(own)[0]
    tested = df > 0
    return DrawnStudies(
        shift=np.where(tested, fitted - loose, 0.0),
        spread=np.where(tested, np.sqrt(weighted.factor), 1.0),
        error=np.where(tested, error, np.inf),
        df=df.astype(np.int64),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Fit:
    """Weighted least squares on a constant and, maybe, a sign; `factor` is the variance of the constant."""

    weight: FloatArray
    sign: FloatArray | None
    total: FloatArray
    lean: FloatArray
    left: FloatArray
    factor: FloatArray
    possible: BoolArray

    @classmethod
    def of(cls, weight: FloatArray, sign: FloatArray | None) -> _Fit:
        total = weight.sum(axis=1)
        safe = np.where(total > 0, total, 1.0)
        lean = np.zeros_like(total) if sign is None else np.einsum("crn,crn->cn", weight, sign)
        left = 1.0 - (lean / safe) ** 2
        possible = (total > 0) & (left > FLAT)
        left = np.where(possible, left, 1.0)
        return cls(
            weight=weight,
            sign=sign,
            total=safe,
            lean=lean / safe,
            left=left,
            factor=1.0 / (safe * left),
            possible=possible,
        )

    def estimate(self, y: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Constant of the fit, shape (comparisons, studies), and residuals."""
        mean = np.einsum("crn,crn->cn", self.weight, y) / self.total
        if self.sign is None:
            return mean, y - mean[:, np.newaxis]
        along = np.einsum("crn,crn,crn->cn", self.weight, self.sign, y) / self.total
        slope = (along - self.lean * mean) / self.left
        constant = mean - slope * self.lean
        return constant, y - constant[:, np.newaxis] - slope[:, np.newaxis] * self.sign
