r"""Simulated means made steadier by quantities that were simulated along with them and are known.

For values y and controls x of the same studies, with :math:`\mu` the true mean of x, the mean of
:math:`y - \beta^\top(x - \mu)` is that of y, with :math:`\beta` from least squares the least scattered
(Lavenberg & Welch 1981, Manage. Sci. 27:322-335). The bias from estimating :math:`\beta` is of the order of
the number of controls over the number of studies, times the standard error.
"""

from __future__ import annotations

import numpy as np

from evenglide.typing import FloatArray

FLAT = 1e-9
"""Controls that scatter less than this are left out."""


def controlled(values: FloatArray, controls: FloatArray, means: FloatArray) -> FloatArray:
    """Take off what the controls explain.

    Parameters
    ----------
    values : array of float, shape (values, studies)
    controls : array of float, shape (controls, studies)
    means : array of float, shape (controls,)
        True means of the controls.

    Returns
    -------
    array of float, shape (values, studies)

    Examples
    --------
    >>> x = np.array([[0.0, 1.0, 2.0, 3.0]])
    >>> controlled(2 * x + 1, x, np.array([1.0])).round(9)
    array([[3., 3., 3., 3.]])
    """
    varied = controls.std(axis=1) > FLAT
    if not varied.any():
        return values
    x = controls[varied]
    centred = x - x.mean(axis=1, keepdims=True)
    beta, *_ = np.linalg.lstsq(centred @ centred.T, centred @ values.T, rcond=1e-10)
    return np.asarray(values - beta.T @ (x - means[varied, np.newaxis]))
