r"""Several looks at one growing set of data: nominal levels for Student's t, repeated p values, intervals.

A level :math:`\alpha` is spent over the looks as `maths.spending` says, which gives normal bounds
:math:`c_k(\alpha)` and nominal levels :math:`\lambda_k(\alpha)` (:math:`2\Phi(-c_k)` for two sides). With few
degrees of freedom the statistics are no normal ones: at look k the t statistic with its own :math:`\nu_k` is
held against the t point of the nominal level. Taken so, the sequence still crosses a little more often than
promised, because its scatter is estimated anew at each look. Let :math:`G(\alpha)` be the chance that it ever
crosses. The level that is *kept* by the nominal levels :math:`\lambda_k(\alpha)` is :math:`G(\alpha)`, and
the repeated p value at look k is

.. math:: p_k = G(\lambda_k^{-1}(\text{nominal } p)),

so that under the hypothesis :math:`P(\min_k p_k \le \alpha) = \alpha` for every :math:`\alpha`.

**The sequence.** Least squares on growing data, in units of the residual deviation: the scores
:math:`S_k = t_k \hat\theta_k` grow by independent normal steps of variance :math:`t_k - t_{k-1}`, and the
residual squares by :math:`(\hat\theta_k - \hat\theta_{k-1})^2/(1/t_{k-1} - 1/t_k)`, the square of how far the
new data lie from the old, and by :math:`\nu_k - \nu_{k-1} - 1` squares that are independent of all else.

**The chance** is summed over the last look that crosses:
:math:`G = \sum_k \lambda_k\, P(\text{none later} \mid k \text{ crosses})`. The factor :math:`\lambda_k` is
exact; the conditional chance is simulated from a fixed seed with ``random.Random(seed).random()`` alone, so
the same plan has the same bounds on every machine and in ten years. Its error moves the level by well under
a hundredth of it.

References: Jennison and Turnbull (2000) Group Sequential Methods, chapters 9 and 11; Lan and DeMets (1983).
"""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike
from scipy import special

from evenglide.maths.crossing import checked_fractions, spending_bounds
from evenglide.maths.distributions import t_upper
from evenglide.maths.spending import Sides, Spending
from evenglide.typing import FloatArray

FEWEST_DF = 1
DRAWS = 4096
SEED = 20260117
LEAST_LEVEL, MOST_LEVEL = 1e-9, 1.0 - 1e-6
LEVELS = 200
"""Points of the table; between them the logarithms are joined by straight lines."""
SIMULATED = 40
"""Levels at which the chance is simulated."""
TAIL_POINTS = 4000
SMALLEST = 1e-290


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LookTable:
    """Nominal levels of a plan with several looks.

    Parameters
    ----------
    fractions : tuple of float
        Share of the information at each look, rising to 1. [1]
    df : tuple of float
        Degrees of freedom at each look; infinite for a normal statistic. [1]
    sides : {1, 2}
    log_level : array of float, shape (levels,)
        Logarithm of levels that are kept, rising; empty for a single look.
    log_nominal : array of float, shape (looks, levels)
        Logarithm of the nominal level at each look, not falling.
    """

    fractions: tuple[float, ...]
    df: tuple[float, ...]
    sides: Sides
    log_level: FloatArray
    log_nominal: FloatArray

    def nominal(self, level: ArrayLike, look: int) -> FloatArray:
        """Nominal level at a look, from 0, that keeps a level over all looks.

        Parameters
        ----------
        level : float or array
            Above 0. [1]
        look : int

        Returns
        -------
        array of float, shape as `level`
            What the p value of that look alone must reach. [1]
        """
        alpha = np.asarray(level, dtype=np.float64)
        if len(self.fractions) == 1:
            return alpha
        return np.exp(_joined(np.log(alpha), self.log_level, self.log_nominal[look]))

    def bound(self, level: ArrayLike, look: int) -> FloatArray:
        """Value that Student's t must reach at a look; parameters as for `nominal`."""
        return t_upper(self.nominal(level, look) / self.sides, self.df[look])

    def repeated(self, p: ArrayLike, look: int) -> FloatArray:
        """Repeated p values.

        Parameters
        ----------
        p : float or array
            p values of the data of that look alone; NaN stays NaN. [1]
        look : int
            From 0.

        Returns
        -------
        array of float, shape as `p`
            The smallest level at which the look would cross; never smaller than `p`. [1]
        """
        nominal = np.asarray(p, dtype=np.float64)
        if len(self.fractions) == 1:
            return nominal
        logs = np.log(np.maximum(nominal, SMALLEST))
        level = np.exp(_joined(logs, self.log_nominal[look], self.log_level))
        beyond = logs > self.log_nominal[look, -1]
        return np.asarray(np.where(beyond, 1.0, np.clip(level, nominal, 1.0)))


def look_table(
    fractions: Sequence[float],
    df: Sequence[float],
    *,
    sides: Sides,
    kind: Spending = "obrien-fleming",
    information: Sequence[float] | None = None,
) -> LookTable:
    """Calibrate the nominal levels of a plan with several looks.

    Parameters
    ----------
    fractions : sequence of float, length looks
        Share of the information at each look, rising to 1. [1]
    df : sequence of float, length looks
        Degrees of freedom at each look, not falling. [1]
    sides : {1, 2}
    kind : {"obrien-fleming", "pocock"}, optional
    information : sequence of float, length looks, optional
        As in `evenglide.maths.crossing.spending_bounds`.

    Returns
    -------
    LookTable

    Raises
    ------
    ValueError
        If the fractions do not rise to 1, or the degrees of freedom fall or lie below 1.

    Examples
    --------
    Two looks with 4 and 9 degrees of freedom: what t must reach, beside plain t points.

    >>> table = look_table([0.5, 1.0], [4, 9], sides=2)
    >>> [round(float(table.bound(0.05, look)), 2) for look in (0, 1)]
    [6.47, 2.29]
    """
    shares, known = checked_fractions(fractions), tuple(float(one) for one in df)
    if len(known) != len(shares) or known[0] < FEWEST_DF or list(known) != sorted(known):
        msg = f"degrees of freedom {known}; expected one for each look, from {FEWEST_DF}, not falling"
        raise ValueError(msg)
    held = shares if information is None else tuple(float(one) for one in information)
    return _table(shares, known, sides, kind, held)


@lru_cache(maxsize=256)
def _table(  # noqa: PLR0917 - by position, so that equal plans share one table
    shares: tuple[float, ...],
    df: tuple[float, ...],
    sides: Sides,
    kind: Spending,
    information: tuple[float, ...],
) -> LookTable:
    if len(shares) == 1:
        none = np.empty(0)
        return LookTable(fractions=shares, df=df, sides=sides, log_level=none, log_nominal=none[np.newaxis])
    spent_level = np.geomspace(LEAST_LEVEL, MOST_LEVEL, LEVELS)
    bounds = spending_bounds(spent_level, shares, sides=sides, kind=kind, information=information)
    nominal = np.clip(sides * special.ndtr(-bounds), SMALLEST, 1.0).T
    nominal = np.maximum.accumulate(nominal, axis=1)
    kept = spent_level
    if np.isfinite(df).any():
        some = np.unique(np.linspace(0, LEVELS - 1, SIMULATED).astype(np.int64))
        chance = _Sequence(information, df, sides).crossing(nominal[:, some])
        excess = np.log(chance / spent_level[some])
        kept = spent_level * np.exp(np.interp(np.log(spent_level), np.log(spent_level[some]), excess))
    log_level = np.log(np.minimum(np.maximum.accumulate(kept), 1.0))
    return LookTable(fractions=shares, df=df, sides=sides, log_level=log_level, log_nominal=np.log(nominal))


class _Sequence:
    """t statistics of growing data, from uniform numbers that are drawn once."""

    def __init__(self, information: tuple[float, ...], df: tuple[float, ...], sides: Sides) -> None:
        self.df, self.sides, self.looks = df, sides, len(information)
        chance = random.Random(SEED)
        self.shares = information
        self.tail = [_layered(chance) for _ in range(self.looks - 1)]
        self.size = [_chi_square(_layered(chance), one + 1.0) for one in df[:-1]]
        self.step = [special.ndtri(_layered(chance)) for _ in range(self.looks - 1)]
        rest = [late - early - 1.0 if np.isfinite(late) else 0.0 for early, late in pairwise(df)]
        self.rest = [_chi_square(_layered(chance), one) for one in rest]

    def crossing(self, nominal: FloatArray) -> FloatArray:
        """Chance that any look crosses its nominal level, levels along the second axis."""
        limits = [t_upper(level / self.sides, one) for level, one in zip(nominal, self.df, strict=True)]
        chance: FloatArray = np.array(nominal[-1])
        for look in range(self.looks - 1):
            start = _tail_points(self.tail[look], nominal[look] / self.sides, self.df[look])
            for at, t in enumerate(start):
                chance[at] += nominal[look, at] * self.none_later(look, t, [one[at] for one in limits])
        return np.asarray(np.minimum(chance, 1.0))

    def none_later(self, look: int, t: FloatArray, limits: list[np.float64]) -> float:
        """Share of sequences with t at a look that cross at none of the later ones."""
        df = self.df[look]
        if np.isinf(df):
            score, squares = t * np.sqrt(self.shares[look]), np.zeros_like(t)
        else:
            total = self.size[look] / (df + t * t)
            score, squares = t * np.sqrt(total * self.shares[look]), total * df
        left = np.ones(len(t), dtype=bool)
        for later in range(look + 1, self.looks):
            before, now = self.shares[later - 1], self.shares[later]
            grown = score + np.sqrt(now - before) * self.step[later - 1]
            if self.df[later] > self.df[later - 1]:
                moved = (grown / now - score / before) ** 2 / (1.0 / before - 1.0 / now)
                squares = squares + moved + self.rest[later - 1]
            score = grown
            scatter = 1.0 if np.isinf(self.df[later]) else np.sqrt(squares / self.df[later])
            reached = score / (np.sqrt(now) * scatter)
            left &= (np.abs(reached) if self.sides == 2 else reached) < limits[later]
        return float(left.mean())


def _layered(chance: random.Random) -> FloatArray:
    """One number from each of many equal layers of the range from 0 to 1, in a drawn order."""
    layers = np.argsort([chance.random() for _ in range(DRAWS)], kind="stable")
    inside = np.array([chance.random() for _ in range(DRAWS)])
    return np.asarray(np.clip((layers + inside) / DRAWS, 1e-12, 1.0 - 1e-12))


def _chi_square(share: FloatArray, df: float) -> FloatArray:
    if not 0 < df < np.inf:
        return np.zeros_like(share)
    return np.asarray(2.0 * special.gammaincinv(df / 2.0, share))


def _tail_points(share: FloatArray, tail: FloatArray, df: float) -> FloatArray:
    """Values of t in the tail, shape (tails, draws): through a fine table of tail probabilities."""
    logs = np.linspace(np.log(max(tail.min() * 1e-5, SMALLEST)), np.log(0.5), TAIL_POINTS)
    points = t_upper(np.exp(logs), df)
    wanted = tail[:, np.newaxis] * share
    folded = np.log(np.maximum(np.minimum(wanted, 1.0 - wanted), SMALLEST))
    return np.asarray(np.where(wanted > 0.5, -1.0, 1.0) * np.interp(folded, logs, points))


def _joined(at: FloatArray, x: FloatArray, y: FloatArray) -> FloatArray:
    """Straight lines between points, the first of them carried on to the left."""
    inside = np.interp(at, x, y)
    rise = np.flatnonzero(np.diff(x) > 0)[0]
    slope = (y[rise + 1] - y[rise]) / (x[rise + 1] - x[rise])
    return np.asarray(np.where(at < x[0], y[0] + slope * (at - x[0]), inside))
