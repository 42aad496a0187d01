r"""Chances that a test statistic, looked at several times, crosses its bounds: the sub-density recursion.

At information shares :math:`t_1 < \dots < t_K` the statistics :math:`Z_k` are normal with
:math:`\operatorname{cov}(Z_j, Z_k) = \sqrt{t_j/t_k}`, so that :math:`Z_k` given :math:`Z_{k-1} = z` is
:math:`N(\rho z, 1 - \rho^2)` with :math:`\rho = \sqrt{t_{k-1}/t_k}`. The density of those that have not
crossed is carried from look to look on Gauss-Legendre nodes of the range where one goes on. Every function
takes many sets of bounds side by side.

References: Armitage, McPherson and Rowe (1969) J. R. Stat. Soc. A 132:235-244; Jennison and Turnbull (2000)
Group Sequential Methods, chapter 19.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike
from scipy import optimize, special

from evenglide.maths.spending import Sides, Spending, spent
from evenglide.typing import FloatArray

FEWEST_NODES, MOST_NODES = 64, 512
NODES_PER_STEP = 2.5
"""Nodes for each standard deviation of what one look adds."""
REACH = 8.5
"""Beyond it a standard normal variable lies with a probability of 1e-17."""
STEPS = 60
"""Of bisected Newton steps; fewer than ten are needed."""
SMALLEST = 1e-300


@dataclass(frozen=True, slots=True, kw_only=True)
class _Going:
    """Those that have not crossed: nodes, and the density times the weight at each, shape (sets, nodes)."""

    at: FloatArray
    mass: FloatArray


def checked_fractions(fractions: Sequence[float]) -> tuple[float, ...]:
    """Return shares of the information as a tuple.

    Parameters
    ----------
    fractions : sequence of float
        [1]

    Returns
    -------
    tuple of float

    Raises
    ------
    ValueError
        If they do not rise, do not lie above 0, or do not end at 1.
    """
    found = tuple(float(fraction) for fraction in fractions)
    rising = all(early < late for early, late in pairwise((0.0, *found)))
    if not found or not rising or found[-1] != 1.0:
        msg = f"looks at {found}; expected shares of the information that rise from above 0 to 1"
        raise ValueError(msg)
    return found


def crossing_chances(bounds: ArrayLike, fractions: Sequence[float], *, sides: Sides) -> FloatArray:
    """Chance of crossing for the first time at each look, where there is no effect.

    Parameters
    ----------
    bounds : array of float, shape (looks,) or (sets, looks)
        Of the standardised statistic; infinite where nothing can be claimed. [1]
    fractions : sequence of float, length looks
        Share of the information at each look. [1]
    sides : {1, 2}
        Whether only the upper bound or also its mirror image is one.

    Returns
    -------
    array of float, shape as `bounds`
        Their sum is the chance of ever crossing. [1]

    Raises
    ------
    ValueError
        If the fractions do not rise to 1.

    Examples
    --------
    Three looks at the fixed 5 % point:

    >>> round(float(crossing_chances([1.959964] * 3, [1 / 3, 2 / 3, 1], sides=2).sum()), 4)
    0.1073
    """
    given = np.asarray(bounds, dtype=np.float64)
    sets = np.atleast_2d(given)
    run = _Recursion(checked_fractions(fractions), sides)
    out = np.empty_like(sets)
    going: _Going | None = None
    for look in range(sets.shape[1]):
        out[:, look] = run.exit(going, look, sets[:, look])
        going = run.carry(going, look, sets[:, look])
    return out.reshape(given.shape)


def spending_bounds(
    levels: ArrayLike,
    fractions: Sequence[float],
    *,
    sides: Sides,
    kind: Spending = "obrien-fleming",
    information: Sequence[float] | None = None,
) -> FloatArray:
    """Bounds that spend an error rate as a spending function says.

    Parameters
    ----------
    levels : float or array of float, shape (sets,)
        Whole error rate, above 0 and at most 1. [1]
    fractions : sequence of float, length looks
        By which of them the level is spent, rising to 1. [1]
    sides : {1, 2}
    kind : {"obrien-fleming", "pocock"}, optional
    information : sequence of float, length looks, optional
        Information at each look, in any unit, where the data ended earlier than planned and the last look
        spends what is left; `fractions` if not given.

    Returns
    -------
    array of float, shape (looks,) or (sets, looks)
        Bounds of the standardised statistic. [1]

    Raises
    ------
    ValueError
        If the fractions do not rise to 1.

    Examples
    --------
    >>> spending_bounds(0.05, [0.5, 1.0], sides=2)
    array([2.96258804, 1.96859564])
    """
    shares = checked_fractions(fractions)
    alpha = np.atleast_1d(np.asarray(levels, dtype=np.float64))
    total = spent(alpha[:, np.newaxis], np.array(shares), sides=sides, kind=kind)
    step = np.diff(total, axis=1, prepend=0.0)
    run = _Recursion(shares if information is None else tuple(information), sides)
    bounds = np.empty_like(step)
    going: _Going | None = None
    for look in range(len(shares)):
        bounds[:, look] = run.bound(going, look, step[:, look])
        going = run.carry(going, look, bounds[:, look])
    return bounds if np.ndim(levels) else bounds[0]


def classical_constant(level: float, looks: int, *, kind: Spending) -> float:
    r"""Constant of the classical two-sided bounds at equally spaced looks.

    Pocock: :math:`|Z_k| \ge C`. O'Brien-Fleming: :math:`|Z_k| \ge C \sqrt{K/k}`.

    Parameters
    ----------
    level : float
        Two-sided error rate. [1]
    looks : int
    kind : {"obrien-fleming", "pocock"}

    Returns
    -------
    float
        The constant. [1]

    Examples
    --------
    >>> round(classical_constant(0.05, 5, kind="pocock"), 5)
    2.41318
    """
    fractions = [look / looks for look in range(1, looks + 1)]
    shape = np.ones(looks) if kind == "pocock" else 1.0 / np.sqrt(fractions)

    def excess(constant: float) -> float:
        return float(crossing_chances(constant * shape, fractions, sides=2).sum()) - level

    return float(optimize.brentq(excess, 0.1, REACH, xtol=1e-12))


class _Recursion:
    """Exit chances and densities, look by look."""

    def __init__(self, fractions: tuple[float, ...], sides: Sides) -> None:
        self.sides = sides
        ratio = np.array(fractions[:-1]) / np.array(fractions[1:])
        self.slope = np.sqrt(ratio)
        self.spread = np.sqrt(1.0 - ratio)
        finest = float(self.spread.min(initial=1.0))
        nodes = max(FEWEST_NODES, math.ceil(NODES_PER_STEP * 2 * REACH / finest))
        self.points, self.weights = _nodes(min(MOST_NODES, nodes))

    def exit(self, going: _Going | None, look: int, bound: FloatArray) -> FloatArray:
        """Chance of crossing at a look without having crossed before, shape (sets,)."""
        upper = bound[:, np.newaxis]
        if going is None:
            return np.asarray(self.sides * special.ndtr(-bound))
        middle, spread = self.slope[look - 1] * going.at, self.spread[look - 1]
        beyond = special.ndtr((middle - upper) / spread)
        if self.sides == 2:
            beyond = beyond + special.ndtr((-middle - upper) / spread)
        return np.asarray((going.mass * beyond).sum(axis=1))

    def density(self, going: _Going | None, look: int, at: FloatArray) -> FloatArray:
        """Density of those that have not crossed before a look, shape (sets, places)."""
        if going is None:
            return _normal(at)
        middle, spread = self.slope[look - 1] * going.at, self.spread[look - 1]
        steps = (at[:, :, np.newaxis] - middle[:, np.newaxis, :]) / spread
        return np.asarray(np.einsum("spn,sn->sp", _normal(steps), going.mass) / spread)

    def carry(self, going: _Going | None, look: int, bound: FloatArray) -> _Going:
        """Take those along that do not cross at a look."""
        high = np.clip(bound, -REACH, REACH)
        low = -high if self.sides == 2 else np.full_like(high, -REACH)
        half = np.maximum((high - low) / 2.0, 0.0)[:, np.newaxis]
        at = ((high + low) / 2.0)[:, np.newaxis] + half * self.points
        return _Going(at=at, mass=self.density(going, look, at) * half * self.weights)

    def bound(self, going: _Going | None, look: int, wanted: FloatArray) -> FloatArray:
        """Find the bound that is crossed with a given chance, shape (sets,)."""
        if going is None:
            return np.asarray(-special.ndtri(wanted / self.sides))
        low, high = np.full_like(wanted, -REACH), np.full_like(wanted, 5 * REACH)
        if self.sides == 2:
            low = np.zeros_like(wanted)
        target = np.log(np.maximum(wanted, SMALLEST))
        at = np.clip(-special.ndtri(np.clip(wanted / self.sides, SMALLEST, 0.5)), low, high)
        for _ in range(STEPS):
            chance = np.maximum(self.exit(going, look, at), SMALLEST)
            away = np.log(chance) - target
            low, high = np.where(away > 0, at, low), np.where(away > 0, high, at)
            fall = self.sides * self.density(going, look, at[:, np.newaxis])[:, 0]
            with np.errstate(divide="ignore", invalid="ignore"):
                tried = at + away * chance / fall
            fits = (tried > low) & (tried < high)
            moved = np.where(fits, tried, (low + high) / 2.0)
            done = np.abs(moved - at) < 1e-14 * (1.0 + np.abs(at))
            at = moved
            if done.all():
                break
        return np.where(wanted > 0, at, np.inf)


def _normal(z: FloatArray) -> FloatArray:
    return np.asarray(np.exp(-0.5 * z * z) / math.sqrt(2.0 * math.pi))


@lru_cache(maxsize=8)
def _nodes(number: int) -> tuple[FloatArray, FloatArray]:
    points, weights = np.polynomial.legendre.leggauss(number)
    return points, weights
