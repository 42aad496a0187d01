r"""Three questions about an effect, put to one estimate: is there any, is it small, is it large.

With estimate :math:`\hat\theta`, standard error s on :math:`\nu` degrees of freedom, a range of effects
too small to matter, :math:`l < 0 < u`, and :math:`\bar F` the upper tail of Student's t:

.. math::

    p_\text{difference} &= 2 \bar F(|\hat\theta|/s) \\
    p_\text{equivalence} &= \max\{\bar F((\hat\theta - l)/s),\; \bar F((u - \hat\theta)/s)\} \\
    p_\text{beyond} &= \min\{1,\; 2\min\{\bar F((\hat\theta - u)/s),\; \bar F((l - \hat\theta)/s)\}\}

All arrays broadcast, so that any number of estimates and of data sets go through at once. A NaN in the
standard error, the degrees of freedom or a margin gives NaN for the questions that need it.

Reference: Schuirmann (1987), J. Pharmacokinet. Biopharm. 15, 657-680 (two one-sided tests).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from evenglide.maths.distributions import t_survival
from evenglide.typing import FloatArray


def difference_p(estimate: ArrayLike, se: ArrayLike, df: ArrayLike) -> FloatArray:
    """Two-sided probability of an estimate as far from zero, were there no effect.

    Parameters
    ----------
    estimate, se : float or array
        Estimate and its standard error, in one unit.
    df : float or array
        Degrees of freedom of `se`. [1]

    Returns
    -------
    array of float, broadcast shape
        Probability. [1]

    Examples
    --------
    >>> float(difference_p(2.228138852, 1.0, 10))
    0.0500000
    """
    return np.asarray(2.0 * t_survival(np.abs(_ratio(estimate, se)), df))


def equivalence_p(
    estimate: ArrayLike, se: ArrayLike, *, df: ArrayLike, low: ArrayLike, high: ArrayLike
) -> FloatArray:
    """Larger probability of two one-sided tests that the effect lies between `low` and `high`.

    Parameters
    ----------
    estimate, se : float or array
        Estimate and its standard error, in one unit.
    df : float or array
        Degrees of freedom of `se`. [1]
    low, high : float or array
        Ends of the range, in the same unit.

    Returns
    -------
    array of float, broadcast shape
        Probability. [1]

    Examples
    --------
    >>> float(equivalence_p(0.0, 1.0, df=10, low=-1.812461123, high=3.0))
    0.0500000
    """
    theta = np.asarray(estimate, dtype=np.float64)
    nearer = np.minimum(theta - np.asarray(low), np.asarray(high) - theta)
    return t_survival(_ratio(nearer, se), df)


def beyond_p(
    estimate: ArrayLike, se: ArrayLike, *, df: ArrayLike, low: ArrayLike, high: ArrayLike
) -> FloatArray:
    """Two-sided probability that the effect lies outside the range from `low` to `high`.

    Parameters
    ----------
    estimate, se : float or array
        Estimate and its standard error, in one unit.
    df : float or array
        Degrees of freedom of `se`. [1]
    low, high : float or array
        Ends of the range, in the same unit.

    Returns
    -------
    array of float, broadcast shape
        Probability, at most 1. [1]

    Examples
    --------
    >>> float(beyond_p(3.228138852, 1.0, df=10, low=-1.0, high=1.0))
    0.0500000
    >>> float(beyond_p(0.5, 1.0, df=10, low=-1.0, high=1.0))
    1.0
    """
    theta = np.asarray(estimate, dtype=np.float64)
    farther = np.maximum(theta - np.asarray(high), np.asarray(low) - theta)
    return np.asarray(np.minimum(1.0, 2.0 * t_survival(_ratio(farther, se), df)))


def _ratio(numerator: ArrayLike, se: ArrayLike) -> FloatArray:
    return np.asarray(np.asarray(numerator, dtype=np.float64) / np.asarray(se, dtype=np.float64))
