r"""Integrals over speed, from which every time and distance of a glide follows.

.. math::

   t = \int_{v}^{v_0} \frac{\mathrm{d}u}{a(u)}, \qquad x = \int_{v}^{v_0} \frac{u\,\mathrm{d}u}{a(u)}

Gauss-Legendre on panels. The integrands are smooth but for the two zeros of a(u) in the complex plane,
which are known; a panel is halved until no zero of any law lies inside the ellipse in which 16 nodes
still leave an error near 1e-13 (Trefethen 2008, SIAM Rev. 50:67-87, theorem 4.5: error ~ rho^(-2n)). There is
no branch on the discriminant and no 0/0 where c1 or c2 goes to zero: dry friction needs one panel.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from evenglide.glide.law import DecelerationLaw
from evenglide.typing import FloatArray

NODES = 16
POINTS, WEIGHTS = np.polynomial.legendre.leggauss(NODES)
LEAST_ELLIPSE = 2.6
"""2.6 to the power of -32 is 5e-14."""
SMALLEST_PANEL = 2.0**-60
"""Of the whole range; a zero nearer than that stands at the end of the range itself."""

ComplexArray = NDArray[np.complex128]


def speed_integral(
    law: DecelerationLaw, *, slow: ArrayLike, fast: ArrayLike, over_distance: bool
) -> FloatArray:
    """Integrate 1/a (time) or u/a (distance) over the speeds from `slow` to `fast`.

    Parameters
    ----------
    law : DecelerationLaw
        Slowing at every speed strictly between the ends; where it does not slow at rest (``c0 = 0``), time
        needs ``slow > 0``.
    slow, fast : float or array
        Ends, ``0 <= slow <= fast``. [m/s]
    over_distance : bool
        Distance rather than time.

    Returns
    -------
    array of float, broadcast shape
        [m] or [s]
    """
    arrays = np.broadcast_arrays(law.c0, law.c1, law.c2, slow, fast)
    c0, c1, c2, low, high = (np.asarray(array, dtype=np.float64)[..., None] for array in arrays)
    span = high - low
    zeros = _zeros(c0, c1, c2, skip_rest=over_distance)
    total = np.zeros(span.shape[:-1])
    for left, right in _panels(_places(zeros, low, span)):
        u = low + span * ((left + right) / 2.0 + (right - left) / 2.0 * POINTS)
        a = c0 + u * (c1 + u * c2)
        total += (right - left) / 2.0 * np.sum(WEIGHTS * (u if over_distance else 1.0) / a, axis=-1)
    return np.asarray(total * span[..., 0])


def _zeros(c0: FloatArray, c1: FloatArray, c2: FloatArray, *, skip_rest: bool) -> ComplexArray:
    """Both complex zeros of a(u), infinite where there is none; last axis of two.

    With `skip_rest` a zero at u = 0 does not count: the integrand u/a has none there.
    """
    root = np.sqrt((c1**2 - 4.0 * c0 * c2).astype(np.complex128))
    half = -(c1 + np.where(c1 < 0.0, -1.0, 1.0) * root) / 2.0
    far = np.full(half.shape, np.inf, dtype=np.complex128)
    with np.errstate(over="ignore", invalid="ignore", divide="ignore"):
        first = np.divide(half, c2, out=far.copy(), where=c2 != 0.0)
        second = np.divide(c0, half, out=np.zeros_like(far), where=half != 0.0)
    if skip_rest:
        second = np.where(c0 == 0.0, far, second)
    return np.concatenate([first, second], axis=-1)


def _places(zeros: ComplexArray, low: FloatArray, span: FloatArray) -> ComplexArray:
    """Zeros on the scale on which the range runs from 0 to 1, one long row without repeats."""
    with np.errstate(invalid="ignore", divide="ignore", over="ignore"):
        places = ((zeros - low) / span).ravel()
    return np.unique(places[np.isfinite(places)])


def _panels(zeros: ComplexArray) -> list[tuple[float, float]]:
    """Panels of the range from 0 to 1 on which the rule is exact to rounding for every zero."""
    waiting, ready = [(0.0, 1.0, zeros)], []
    while waiting:
        left, right, near = waiting.pop()
        z = (2.0 * near - (left + right)) / (right - left)
        near = near[np.abs(z + np.sqrt(z - 1.0) * np.sqrt(z + 1.0)) < LEAST_ELLIPSE]
        if near.size == 0 or right - left < SMALLEST_PANEL:
            ready.append((left, right))
        else:
            middle = (left + right) / 2.0
            waiting += [(left, middle, near), (middle, right, near)]
    return ready
