r"""How much of an error rate may be spent by the time a share t of the information is in.

A spending function rises from 0 at t = 0 to the whole level at t = 1; what is spent between two looks is the
chance of a false claim at the later one. Two forms of the O'Brien-Fleming type are easily mixed up: with
:math:`\Phi` the normal distribution and :math:`z_q` its upper q point,

.. math::

   \text{one-sided at level } \alpha: &\quad 2\,[1 - \Phi(z_{\alpha/2}/\sqrt t)] \\
   \text{two-sided at level } \alpha: &\quad 4\,[1 - \Phi(z_{\alpha/4}/\sqrt t)]

The two-sided form is the one-sided one at half the level, on either side. The Pocock type is
:math:`\alpha \ln(1 + (e - 1) t)` for both.

References: Lan and DeMets (1983) Biometrika 70:659-663; Jennison and Turnbull (2000) Group Sequential
Methods, chapter 7.
"""

from __future__ import annotations

from typing import Literal

import numpy as np
from numpy.typing import ArrayLike
from scipy import special

from evenglide.typing import FloatArray

Sides = Literal[1, 2]
Spending = Literal["obrien-fleming", "pocock"]


def spent(
    level: ArrayLike, fraction: ArrayLike, *, sides: Sides, kind: Spending = "obrien-fleming"
) -> FloatArray:
    """Error rate that may be spent by a share of the information.

    Parameters
    ----------
    level : float or array
        Whole error rate, above 0 and at most 1. [1]
    fraction : float or array
        Share of the information, above 0 and at most 1. [1]
    sides : {1, 2}
        Whether claims are made on one side or on both.
    kind : {"obrien-fleming", "pocock"}, optional

    Returns
    -------
    array of float, broadcast shape
        At most `level`. [1]

    Examples
    --------
    >>> spent(0.05, [0.2, 0.6, 1.0], sides=2)
    array([1.07774253e-06, 7.61612662e-03, 5.00000000e-02])
    """
    alpha, t = np.asarray(level, dtype=np.float64), np.asarray(fraction, dtype=np.float64)
    if kind == "pocock":
        return np.asarray(alpha * np.log1p((np.e - 1.0) * t))
    each = alpha / sides
    early = 2.0 * sides * special.ndtr(special.ndtri(each / 2.0) / np.sqrt(t))
    return np.asarray(np.where(t >= 1.0, alpha, np.minimum(early, alpha)))
