r"""Chances that a comparison's p values fall below each of several levels, for three claims at once.

Notation as in `maths.chance`: :math:`z \sim N(d, 1)` is the estimate in true standard errors, u the ratio of
estimated to true standard error, independent of it, with density f on :math:`\nu` degrees of freedom,
L the margin in standard errors, and for level :math:`\alpha_j` the points :math:`t_j` (tail
:math:`\alpha_j/2`) and :math:`s_j` (tail :math:`\alpha_j`) of Student's t. With
:math:`G(c) = P(|z| < c) = \Phi(c - d) - \Phi(-c - d)`,

.. math::

   P(p_\text{difference} \le \alpha_j) &= \int [1 - G(t_j u)] f(u)\,du \\
   P(p_\text{alike} \le \alpha_l) &= \int_0^{L/s_l} G(L - s_l u) f(u)\,du \\
   P(p_\text{matters} \le \alpha_j) &= \int [1 - G(L + t_j u)] f(u)\,du \\
   P(p_\text{difference} \le \alpha_j,\; p_\text{alike} \le \alpha_l)
     &= \int_0^{U_{jl}} [G(L - s_l u) - G(t_j u)] f(u)\,du, \qquad U_{jl} = L/(t_j + s_l)

All functions of one comparison share their nodes: Gauss-Legendre in :math:`u^{1/4}` on pieces that end at
the smallest and the largest :math:`U_{jl}`. Between those two the integrands are replaced by their Legendre
series, which are integrated up to every :math:`U_{jl}`. With fewer than three degrees of freedom, where t has
far-off points, pieces are cut up and series are longer. Absolute error below 1e-9 from one degree of freedom
on (tests/maths/test_claim_bins.py).

References: Owen (1965) Biometrika 52:437-446; Schuirmann (1987) J. Pharmacokin. Biopharm. 15:657-680.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.polynomial import legendre
from numpy.typing import ArrayLike
from scipy import special

from evenglide.maths.chance import INVERSES, log_density
from evenglide.maths.distributions import t_upper
from evenglide.typing import FloatArray

NEGLIGIBLE = 1e-13
"""Probability of u that is cut off at either end."""
SMALLEST_NODE = 1e-70
FAR = 8.5
"""Standard errors; a normal deviate lies beyond with chance 1e-17."""
CHUNK = 100
"""Comparisons worked out side by side: their nodes fit into a processor's cache."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ClaimBins:
    """Chances that p values fall below levels, for many comparisons.

    Parameters
    ----------
    difference, alike, matters : array of float, shape (levels, comparisons)
        Of each claim alone. [1]
    joint : array of float, shape (levels, levels, comparisons), or None
        Of a difference at the first and alike at the second level together. [1]
    """

    difference: FloatArray
    alike: FloatArray
    matters: FloatArray
    joint: FloatArray | None


def claim_bins(
    *,
    df: ArrayLike,
    se: ArrayLike,
    effect: ArrayLike,
    margin: ArrayLike,
    levels: ArrayLike,
    joint: bool = True,
) -> ClaimBins:
    """Chances that the p values of three claims fall below each of several levels.

    Parameters
    ----------
    df : array of float, shape (comparisons,)
        Degrees of freedom; where not positive, nothing is ever claimed. [1]
    se : array of float, shape (comparisons,)
        True standard error, positive; where infinite, nothing is ever claimed. [unit of the effect]
    effect, margin : array of float, shape (comparisons,)
        True effect; largest effect that counts as alike, positive.
    levels : array of float, shape (levels,) or (levels, comparisons)
        Rising along the first axis, two-sided for a difference. [1]
    joint : bool
        Whether the joint chances are worked out too.

    Returns
    -------
    ClaimBins

    Raises
    ------
    ValueError
        If a level does not lie between 0 and one half.

    Examples
    --------
    Five pairs; a difference of two standard errors, a margin of four, at half the level and at all of it:

    >>> bins = claim_bins(df=[4], se=[1.0], effect=[2.0], margin=[4.0], levels=[0.025, 0.05])
    >>> bins.difference[:, 0]
    array([0.20769145, 0.3359651 ])
    """
    given = (np.atleast_1d(np.asarray(value, dtype=np.float64)) for value in (df, se, effect, margin))
    nu, scale, away, half = np.broadcast_arrays(*given)
    alpha = np.asarray(levels, dtype=np.float64)
    alpha = np.broadcast_to(alpha if alpha.ndim == 2 else alpha[:, np.newaxis], (len(alpha), len(nu)))
    if not np.all((alpha > 0) & (alpha < 0.5)):
        msg = "a level is out of range; expected above 0 and below 1/2"
        raise ValueError(msg)
    m, count = alpha.shape
    kinds = np.zeros((3, m, count))
    both = np.zeros((m, m, count)) if joint else None
    possible = (nu > 0) & (scale > 0) & np.isfinite(scale)
    t, s = _points(np.where(possible, nu, 1.0), alpha)
    distance = np.abs(away) / np.where(possible, scale, 1.0)
    for least, most, grid in _GRIDS:
        rows = np.flatnonzero(possible & (nu >= least) & (nu < most))
        rows = rows[np.argsort(distance[rows], kind="stable")]  # batches of a kind take a shorter way
        for start in range(0, len(rows), CHUNK):
            at = rows[start : start + CHUNK]
            low, high = (np.sqrt(2.0 * inverse(nu[at] / 2.0, NEGLIGIBLE) / nu[at]) for inverse in INVERSES)
            batch = _Batch(
                nu=nu[at],
                away=distance[at],
                half=half[at] / scale[at],
                t=t[:, at],
                s=s[:, at],
                low=low**0.25,
                high=high**0.25,
                grid=grid,
            )
            kinds[:, :, at], found = batch.bins(joint=joint)
            if both is not None and found is not None:
                both[:, :, at] = np.clip(found, 0.0, 1.0)
    kinds = np.clip(kinds, 0.0, 1.0)
    return ClaimBins(difference=kinds[0], alike=kinds[1], matters=kinds[2], joint=both)


# --------------------------------------------------------------------------------------- nodes


class _Grid:
    """Gauss-Legendre nodes for a piece, and for the series between the kinks."""

    def __init__(self, nodes: int, *, terms: int, pieces: int) -> None:
        self.points, self.weights = legendre.leggauss(nodes)
        self.pieces = pieces
        self.terms = terms
        self.inner, weights = legendre.leggauss(terms)
        # Legendre coefficients of a function from its values at the inner nodes.
        self.to_series: FloatArray = (
            legendre.legvander(self.inner, terms - 1) * weights[:, np.newaxis] * (np.arange(terms) + 0.5)
        )

    def integrals(self, x: FloatArray) -> FloatArray:
        """Integrals of the Legendre polynomials from -1 to x, terms along a new last axis."""
        values = legendre.legvander(x, self.terms)
        degree = np.arange(1, self.terms)
        higher = (values[..., 2:] - values[..., :-2]) / (2 * degree + 1)
        return np.concatenate([(x + 1.0)[..., np.newaxis], higher], axis=-1)


_GRIDS = (
    (0.0, 2.0, _Grid(40, terms=120, pieces=6)),
    (2.0, 4.0, _Grid(32, terms=64, pieces=4)),
    (4.0, 8.0, _Grid(36, terms=24, pieces=1)),
    (8.0, 60.0, _Grid(28, terms=20, pieces=1)),
    (60.0, np.inf, _Grid(32, terms=32, pieces=1)),
)
"""Fewest and most degrees of freedom for each; chosen by comparison with adaptive integration."""
Integrand = Callable[[FloatArray, FloatArray], FloatArray]
"""From u and its weight, shape (..., comparisons, nodes), to values at every level."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Batch:
    """Comparisons worked out together, by true effect; lengths in standard errors, places as u^(1/4)."""

    nu: FloatArray
    away: FloatArray
    half: FloatArray
    t: FloatArray
    s: FloatArray
    low: FloatArray
    high: FloatArray
    grid: _Grid

    def bins(self, *, joint: bool) -> tuple[FloatArray, FloatArray | None]:
        """Chances of the three kinds, shape (3, levels, comparisons), and of the first two together."""
        first, last = (self.place(self.half / (self.t[at] + self.s[at])) for at in (0, -1))
        small, room = self.summed(self.small, self.low, first), self.summed(self.room, self.low, first)
        u, weight = self.nodes(first, last, self.grid.inner)
        small_series = self.small(u, weight) @ self.grid.to_series
        room_series = self.room(u, weight) @ self.grid.to_series
        rest = self.summed(self.small, last, self.high)
        length = np.where(last > first, last - first, np.inf)

        def upto(place: FloatArray) -> FloatArray:
            return self.grid.integrals(np.clip(2.0 * (place - first) / length - 1.0, -1.0, 1.0))

        stop = self.place(self.half / self.s)
        inner = np.einsum("lcb,lcb->lc", upto(stop), room_series)
        tail = self.summed(self.room, np.broadcast_to(last, stop.shape), np.maximum(stop, last))
        difference = 1.0 - (small + 2.0 * small_series[..., 0] + rest)
        turn = self.place(np.maximum((self.away - self.half) / self.t[-1], 1.0))
        beyond = self.summed(self.within_beyond, self.low, turn)
        beyond = beyond + self.summed(self.within_beyond, turn, self.high)
        kinds = np.stack([difference, room + inner + tail, 1.0 - beyond])
        if not joint:
            return kinds, None
        kinks = upto(self.place(self.half / (self.t[:, np.newaxis] + self.s[np.newaxis])))
        both = room[np.newaxis] - small[:, np.newaxis]
        both = both + np.einsum("jlcb,lcb->jlc", kinks, room_series)
        return kinds, both - np.einsum("jlcb,jcb->jlc", kinks, small_series)

    def place(self, u: FloatArray) -> FloatArray:
        """Fourth root of u, brought into the range that counts."""
        return np.asarray(np.clip(np.maximum(u, 0.0) ** 0.25, self.low, self.high))

    def small(self, u: FloatArray, weight: FloatArray) -> FloatArray:
        """Integrand of "no difference is claimed"."""
        return self.inside(self.t[..., np.newaxis] * u) * weight

    def room(self, u: FloatArray, weight: FloatArray) -> FloatArray:
        """Integrand of "alike is claimed", smoothly continued to where there is no room left."""
        return self.inside(self.half[:, np.newaxis] - self.s[..., np.newaxis] * u) * weight

    def within_beyond(self, u: FloatArray, weight: FloatArray) -> FloatArray:
        """Integrand of "a difference that matters is not claimed"."""
        return self.inside(self.half[:, np.newaxis] + self.t[..., np.newaxis] * u) * weight

    def inside(self, c: FloatArray) -> FloatArray:
        """Chance that the estimate is nearer to nought than c standard errors."""
        if self.away[-1] == 0.0:
            return np.asarray(2.0 * special.ndtr(c) - 1.0)
        away = self.away[:, np.newaxis]
        if self.away[0] > FAR:  # the other side adds nothing
            return np.asarray(special.ndtr(c - away))
        return np.asarray(special.ndtr(c - away) - special.ndtr(-c - away))

    def summed(self, integrand: Integrand, left: FloatArray, right: FloatArray) -> FloatArray:
        """Integral from left to right, shape (levels, comparisons)."""
        step = (right - left) / self.grid.pieces
        total = np.zeros(self.t.shape)
        for at in range(self.grid.pieces):
            u, weight = self.nodes(left + at * step, left + (at + 1) * step, self.grid.points)
            total = total + integrand(u, weight) @ self.grid.weights
        return total

    def nodes(self, left: FloatArray, right: FloatArray, points: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Values of u, and its density by the fourth root times half the length, shape (..., nodes)."""
        reach = ((right - left) / 2.0)[..., np.newaxis]
        place = np.maximum(((left + right) / 2.0)[..., np.newaxis] + reach * points, SMALLEST_NODE)
        u = place**4
        return u, np.exp(log_density(u, self.nu[:, np.newaxis])) * (4.0 * place**3 * reach)


def _points(nu: FloatArray, levels: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Points of Student's t, two- and one-sided, each pair of df and levels worked out once."""
    pairs, back = np.unique(np.vstack([nu, levels]), axis=1, return_inverse=True)
    back = back.reshape(-1)
    df, tails = pairs[0], pairs[1:]
    return t_upper(tails / 2.0, df)[:, back], t_upper(tails, df)[:, back]
