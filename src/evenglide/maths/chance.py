r"""Chances that a t test will claim a difference, or that two one-sided t tests will claim likeness.

Notation. The estimate is normal around the true :math:`\delta` with standard error :math:`\sigma_e`; the
standard error that will be computed is :math:`\sigma_e u`, independent of the estimate, with
:math:`u^2 = \chi^2_\nu / \nu` and density f. Write :math:`d = \delta/\sigma_e`, :math:`L` = margin
:math:`/\sigma_e`, and :math:`t` for the point of Student's t on :math:`\nu` degrees of freedom with upper
tail level/2 for the two-sided test of a difference, level for a one-sided test. Given u, each claim is a
normal probability:

.. math::

   P(\text{difference}) &= \int \bigl[\Phi(d - t u) + \Phi(-d - t u)\bigr] f(u)\,du \\
   P(\text{alike}) &= \int_0^{L/t} \bigl[\Phi(L - t u - d) - \Phi(-L + t u - d)\bigr] f(u)\,du

Where the bracket is 1 to rounding, the integral is a probability of chi-square; elsewhere it is a
Gauss-Legendre sum over pieces that end where the bracket turns, at its kink :math:`L/t`, and at u = 1.
Nodes are placed in :math:`u^{1/4}`, which removes the endpoint power of f at fractional degrees of freedom.
Absolute error below 1e-11 for :math:`\nu \ge 0.5` (tests/maths/test_chance.py).

The test is symmetric: margins are -margin and +margin, and the sign of the true value does not matter.

References: Owen (1965) Biometrika 52:437-446; Schuirmann (1987) J. Pharmacokin. Biopharm. 15:657-680;
Phillips (1990) J. Pharmacokin. Biopharm. 18:137-144.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy import special

from evenglide.maths.distributions import t_upper
from evenglide.typing import BoolArray, FloatArray, IntArray

NODES = 40
"""Per piece; 12 or fewer fail without a sign of it."""
POINTS, WEIGHTS = np.polynomial.legendre.leggauss(NODES)
REACH = 9.0
"""Standard deviations beyond which a normal probability is 0 or 1 to 1e-19."""
NEGLIGIBLE = 1e-17
"""Probability of u that is cut off at either end."""
INVERSES = (special.gammaincinv, special.gammainccinv)
POWER = 4
"""Nodes are spread evenly in u to the power 1/4."""
SMALLEST_NODE = 1e-70
"""Its fourth power still has a logarithm."""
STIRLING = 50.0
"""Half the degrees of freedom from which three terms of Stirling's series leave an error below 1e-15."""
MOST_BLOCKS = 9_999
CANDIDATES = 33
"""Numbers of blocks tried at once; three rounds find one among 9,999."""


def difference_chance(*, df: ArrayLike, se: ArrayLike, effect: ArrayLike, level: ArrayLike) -> FloatArray:
    """Chance that the two-sided t test of "no difference" rejects, on either side.

    Parameters
    ----------
    df : float or array
        Degrees of freedom of the standard error. [1]
    se : float or array
        True standard error of the estimate, positive. [unit of the effect]
    effect : float or array
        True value.
    level : float or array
        Two-sided level. [1]

    Returns
    -------
    array of float, broadcast shape
        Chance; NaN where `df` or `se` is not positive. [1]

    Examples
    --------
    Ten pairs with a difference of one standard deviation of the pair differences:

    >>> float(difference_chance(df=9, se=10**-0.5, effect=1.0, level=0.05))
    0.8030969
    """
    case = _Case.of(df, se, level=np.asarray(level, dtype=np.float64) / 2.0, lengths=(effect,))
    away, t = np.abs(case.lengths[0]), case.t

    def bracket(u: FloatArray) -> FloatArray:
        return np.asarray(special.ndtr(away - t * u) + special.ndtr(-away - t * u))

    return case.expected(bracket, turns=[(away - REACH) / t, away / t, (away + REACH) / t])


def one_sided_chance(*, df: ArrayLike, se: ArrayLike, effect: ArrayLike, level: ArrayLike) -> FloatArray:
    """Chance that the one-sided t test of "not above zero" rejects.

    Parameters
    ----------
    df : float or array
        Degrees of freedom of the standard error. [1]
    se : float or array
        True standard error of the estimate, positive. [unit of the effect]
    effect : float or array
        True value, counted from the limit that is tested.
    level : float or array
        One-sided level, below one half. [1]

    Returns
    -------
    array of float, broadcast shape
        Chance; NaN where `df` or `se` is not positive. [1]

    Examples
    --------
    >>> float(one_sided_chance(df=9, se=1.0, effect=0.0, level=0.05))
    0.0500000
    """
    case = _Case.of(df, se, level=level, lengths=(effect,))
    away, t = case.lengths[0], case.t

    def bracket(u: FloatArray) -> FloatArray:
        return np.asarray(special.ndtr(away - t * u))

    return case.expected(bracket, turns=[(away - REACH) / t, away / t, (away + REACH) / t])


def alike_chance(
    *, df: ArrayLike, se: ArrayLike, effect: ArrayLike, margin: ArrayLike, level: ArrayLike
) -> FloatArray:
    """Chance that both one-sided t tests reject, so that the effect is claimed to lie within the margin.

    Parameters
    ----------
    df : float or array
        Degrees of freedom of the standard error. [1]
    se : float or array
        True standard error of the estimate, positive. [unit of the effect]
    effect : float or array
        True value.
    margin : float or array
        Largest effect of either sign that counts as alike, positive. [unit of the effect]
    level : float or array
        Level of each one-sided test, below one half. [1]

    Returns
    -------
    array of float, broadcast shape
        Chance; NaN where `df` or `se` is not positive. [1]

    Examples
    --------
    Crossover trial of 40 subjects, coefficient of variation 0.3, true ratio 0.95, limits 0.8 and 1.25:
    the documentation of the R library PowerTOST prints 0.815845.

    >>> se = np.sqrt(np.log(1 + 0.3**2) * 2 / 40)
    >>> float(alike_chance(df=38, se=se, effect=np.log(0.95), margin=np.log(1.25), level=0.05))
    0.8158453
    """
    case = _Case.of(df, se, level=level, lengths=(effect, margin))
    away, half, t = np.abs(case.lengths[0]), np.maximum(case.lengths[1], 0.0), case.t

    def bracket(u: FloatArray) -> FloatArray:
        room = np.maximum(half - t * u, 0.0)
        return np.asarray(special.ndtr(room - away) - special.ndtr(-room - away))

    turns = [half - away - REACH, half - away, np.minimum(half - away + REACH, half), half]
    return case.expected(bracket, turns=[turn / t for turn in turns], last=half / t)


def smallest_blocks(
    design: Callable[[IntArray], tuple[FloatArray, FloatArray]],
    chance: Callable[[FloatArray, FloatArray], FloatArray],
    *,
    wanted: float,
    least: int = 1,
    most: int = MOST_BLOCKS,
) -> int | None:
    """Smallest number of blocks with at least the chance wanted, for a chance that grows with the number.

    Parameters
    ----------
    design : callable
        From an array of numbers of blocks, shape (k,), the degrees of freedom and the standard error of
        each, both shape (k,).
    chance : callable
        From degrees of freedom and standard errors, both shape (k,), the chance, shape (k,); NaN (no
        degree of freedom) counts as none.
    wanted : float
        Chance to reach. [1]
    least, most : int
        Range to search, `least` not above `most`. [1]

    Returns
    -------
    int or None
        The number; None if even `most` blocks fall short.

    Notes
    -----
    Numbers spread over the range are tried together and the range is narrowed to the first that reaches
    the chance. The last range is tried number by number, so the one below the answer is known to fall
    short.

    Examples
    --------
    Two groups, difference of one standard deviation, 90 %: the documentation of R prints 22.02 per group.

    >>> smallest_blocks(
    ...     lambda n: (2.0 * n - 2, np.sqrt(2 / n)),
    ...     lambda df, se: difference_chance(df=df, se=se, effect=1.0, level=0.05),
    ...     wanted=0.9,
    ... )
    23
    """

    def reached(blocks: IntArray) -> BoolArray:
        return np.asarray(np.nan_to_num(chance(*design(blocks))) >= wanted)

    low, high = least, most
    while True:
        tried = np.unique(np.linspace(low, high, CANDIDATES).round().astype(np.int64))
        enough = np.flatnonzero(reached(tried))
        if len(enough) == 0:
            return None
        first = int(enough[0])
        if first == 0 or tried[first] - tried[first - 1] == 1:
            return int(tried[first])
        low, high = int(tried[first - 1]), int(tried[first])


@dataclass(frozen=True, slots=True, kw_only=True)
class _Case:
    """A batch of designs, one row each, lengths in standard errors."""

    shape: tuple[int, ...]
    valid: BoolArray
    df: FloatArray
    t: FloatArray
    lengths: tuple[FloatArray, ...]

    @classmethod
    def of(cls, df: ArrayLike, se: ArrayLike, *, level: ArrayLike, lengths: tuple[ArrayLike, ...]) -> _Case:
        """Broadcast and scale; levels are one-sided."""
        given = [np.asarray(value, dtype=np.float64) for value in (df, se, level, *lengths)]
        nu, scale, tail, *rest = np.broadcast_arrays(*given)
        if not np.all((tail > 0) & (tail < 0.5)):
            msg = "a level is out of range; expected above 0, below 1 two-sided, below 1/2 one-sided"
            raise ValueError(msg)
        valid = (nu > 0) & (scale > 0) & np.isfinite(nu) & np.isfinite(np.sum(rest, axis=0))
        nu, scale = np.where(valid, nu, 1.0), np.where(valid, scale, 1.0)
        columns = [np.where(valid, length, 0.0) / scale for length in rest]
        return cls(
            shape=nu.shape,
            valid=valid,
            df=nu.reshape(-1, 1),
            t=t_upper(tail, nu).reshape(-1, 1),
            lengths=tuple(column.reshape(-1, 1) for column in columns),
        )

    def expected(
        self,
        bracket: Callable[[FloatArray], FloatArray],
        *,
        turns: list[FloatArray],
        last: FloatArray | float = np.inf,
    ) -> FloatArray:
        """Mean of `bracket` over u: 1 below the first turn, turning at the others, 0 beyond the last."""
        nu = self.df
        ends = [np.sqrt(2.0 * inverse(nu / 2.0, NEGLIGIBLE) / nu) for inverse in INVERSES]
        certain = np.maximum(turns[0], 0.0)
        start, stop = np.clip(certain, *ends), np.clip(np.minimum(turns[-1], last), *ends)
        edges = np.sort(np.clip(np.hstack([start, stop, np.ones_like(nu), *turns[1:]]), start, stop), axis=1)
        total = special.gammainc(nu / 2.0, nu * certain**2 / 2.0)[:, 0]
        for left, right in zip(edges.T[:-1], edges.T[1:], strict=True):
            total = total + _piece(bracket, nu, left=left[:, np.newaxis], right=right[:, np.newaxis])
        return np.asarray(np.where(self.valid, np.clip(total, 0.0, 1.0).reshape(self.shape), np.nan))


def _piece(
    bracket: Callable[[FloatArray], FloatArray], nu: FloatArray, *, left: FloatArray, right: FloatArray
) -> FloatArray:
    """Gauss-Legendre sum over one piece of each row, shape (rows,)."""
    low, high = left ** (1.0 / POWER), right ** (1.0 / POWER)
    w = (low + high) / 2.0 + (high - low) / 2.0 * POINTS
    # A piece of no length at u = 0 has no logarithm; its weight is zero.
    w = np.maximum(w, SMALLEST_NODE)
    density = np.exp(log_density(w**POWER, nu) + np.log(POWER) + (POWER - 1) * np.log(w))
    return np.asarray((high - low)[:, 0] / 2.0 * ((bracket(w**POWER) * density) @ WEIGHTS))


def log_density(u: FloatArray, nu: FloatArray) -> FloatArray:
    r"""Logarithm of the density of :math:`u = \sqrt{\chi^2_\nu/\nu}`, written around u = 1.

    Parameters
    ----------
    u : array of float
        Positive. [1]
    nu : array of float
        Degrees of freedom. [1]

    Returns
    -------
    array of float, broadcast shape
    """
    a = nu / 2.0
    # The terms of size nu cancel; for large nu they are cancelled by hand (Stirling's series).
    near = np.minimum(a, STIRLING)
    direct = np.log(2.0) + near * np.log(near) - near - special.gammaln(near)
    far = np.maximum(a, STIRLING)
    series = (
        0.5 * np.log(2.0 * far / np.pi)
        - 1.0 / (12.0 * far)
        + 1.0 / (360.0 * far**3)
        - 1.0 / (1260.0 * far**5)
    )
    constant = np.where(a < STIRLING, direct, series)
    return np.asarray(constant + (nu - 1.0) * np.log(u) - a * (u - 1.0) * (u + 1.0))
