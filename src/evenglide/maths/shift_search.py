r"""Limits of the shifts that a randomisation test does not reject, over sets too large to list.

Notation as in `evenglide.maths.shift_limits`, without items: every :math:`|k_z| \le 1`, so the number of
orders that count at a shift falls on both sides away from T, and the lower limit is the order statistic
number `needed` of the lower ends

.. math:: a_z = \min\left(\frac{T - T_z}{1 - k_z}, \frac{T + T_z}{1 + k_z}\right).

How many :math:`a_z \le \delta` there are is counted from two halves. The order statistic is found as Floyd &
Rivest (1975, Commun. ACM 18, 165) select from a list: a sample says between which two shifts it must lie,
counting there proves it, and the orders between the two are sampled again, until so few are left that all
are listed. Where many orders share an end, as with rounded readings, no list gets short: then the limit is
held between two shifts that differ by `NEAR` of the largest value.

The upper limit is the lower one of the negated values.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from evenglide.maths.half_sums import HalfSums, count_beyond, pick
from evenglide.maths.order_sets import OrderSet
from evenglide.maths.shift_limits import orders_needed, shifts_of_ties
from evenglide.typing import FloatArray, IntArray, Interval

SAMPLE = 2**16
"""Orders in a sample."""
LISTED = 2**19
"""So many orders are listed rather than sampled."""
DEVIATIONS = 4.0
"""Width of the bracket around a sample quantile, in its standard deviations."""
NEAR = 1e-12
"""Shifts that differ by this share of the largest value are the same."""
ROUNDING = 0.05
"""Share of `NEAR` that sums may miss each other by: the observed order must count at every shift."""
SEED = 20_261_125
"""A sample only says where to count; the limit does not depend on it."""


def interval_by_search(orders: OrderSet, halves: HalfSums, *, level: float) -> Interval | None:
    """Find the outermost shifts at which more than `level` of the orders count.

    Parameters
    ----------
    orders : OrderSet
        Without items.
    halves : HalfSums
        Of its first two columns.
    level : float

    Returns
    -------
    tuple of float, or None
        None where every shift is kept.
    """
    needed = orders_needed(level, halves.number())
    if needed <= (2 if halves.mirrored else 1):  # the observed order and its reverse count at every shift
        return None
    low = _lower_limit(orders, halves, needed=needed, sign=1.0)
    return low, -_lower_limit(orders, halves, needed=needed, sign=-1.0)


@dataclass(slots=True, kw_only=True)
class _Bracket:
    """Two shifts with the lower limit between them: too few orders count at `low`, enough at `high`."""

    low: float
    high: float
    count_low: int
    count_high: int


class _LowerEnds:
    """Counts, samples and lists of the lower ends, the values with a sign before them."""

    def __init__(self, orders: OrderSet, halves: HalfSums, sign: float) -> None:
        self.halves, self.sign = halves, sign
        self.estimate, self.weight = sign * orders.estimate, orders.weight
        self.tolerance = orders.tolerance
        self.resolution = NEAR * max(float(np.abs(orders.columns[0]).max()), abs(orders.estimate))
        self.rng = np.random.Generator(np.random.SFC64(SEED))

    def count(self, shift: float) -> int:
        """Count lower ends up to a shift below the estimate."""
        threshold = (self.estimate - shift - ROUNDING * self.resolution) * self.weight
        return count_beyond(self.halves, threshold, shift=self.sign * shift)

    def sample(self) -> FloatArray:
        """Give the lower ends of some orders of the whole set, sorted."""
        same, mirror = self._ties(pick(self.halves, SAMPLE, rng=self.rng))
        ends = np.minimum(same, mirror)
        return np.sort(ends[np.isfinite(ends)])

    def between(self, low: float, high: float) -> tuple[FloatArray, bool]:
        """Give the lower ends between two shifts, sorted, and whether these are all or a sample."""
        windows = _Windows(self, low, 2.0 * self.weight * (high - low))
        complete = windows.total <= LISTED
        places = np.arange(windows.total) if complete else self.rng.integers(windows.total, size=SAMPLE)
        sums, upper = windows.orders(places)
        same, mirror = self._ties(sums)
        ends = np.minimum(same, mirror)
        # An order stands in both windows if both of its ends are near: it counts by the nearer one.
        own = np.where(upper, same <= mirror, mirror < same)
        return np.sort(ends[own & (ends > low) & (ends <= high)]), complete

    def _ties(self, sums: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Shifts at which orders tie with the observed one; minus infinity where at every shift."""
        same, mirror = shifts_of_ties(
            self.sign * sums[0] / self.weight,
            sums[1] / self.weight,
            estimate=self.estimate,
            tolerance=self.tolerance,
        )
        return np.where(np.isnan(same), -np.inf, same), np.where(np.isnan(mirror), -np.inf, mirror)


class _Windows:
    """Orders whose statistic at a shift falls short of the observed one by no more than `reach`."""

    def __init__(self, ends: _LowerEnds, shift: float, reach: float) -> None:
        self.halves = ends.halves
        missed = (ends.estimate - shift) * ends.weight
        sides = (self.halves.left, self.halves.right)
        at = [[ends.sign * part[0] - shift * part[1] for part in side] for side in sides]
        self.sorting = [np.argsort(part) for part in at[1]]
        right = [part[order] for part, order in zip(at[1], self.sorting, strict=True)]
        self.first: list[IntArray] = []
        counts = []
        for i, j in self.halves.joins:
            upper = [np.searchsorted(right[j], edge - at[0][i], "left") for edge in (missed - reach, missed)]
            lower = [
                np.searchsorted(right[j], edge - at[0][i], "right") for edge in (-missed, reach - missed)
            ]
            self.first += [upper[0], lower[0]]
            counts += [upper[1] - upper[0], lower[1] - lower[0]]
        self.starts = np.cumsum([0, *(len(count) for count in counts)])
        self.ends = np.cumsum(np.concatenate(counts))
        self.total = int(self.ends[-1])

    def orders(self, places: IntArray) -> tuple[FloatArray, np.ndarray]:
        """Sums of the orders at some places in the windows, and whether each stands in an upper one."""
        entry = np.searchsorted(self.ends, places, "right")
        window = np.searchsorted(self.starts, entry, "right") - 1
        sums = np.empty((2, len(places)))
        for at in np.unique(window):
            here = window == at
            i, j = self.halves.joins[at // 2]
            left = entry[here] - self.starts[at]
            before = np.where(entry[here] > 0, self.ends[entry[here] - 1], 0)
            right = self.sorting[j][self.first[at][left] + places[here] - before]
            sums[:, here] = self.halves.left[i][:2, left] + self.halves.right[j][:2, right]
        return sums, window % 2 == 0


def _lower_limit(orders: OrderSet, halves: HalfSums, *, needed: int, sign: float) -> float:
    ends = _LowerEnds(orders, halves, sign)
    bracket, tied = _first_bracket(ends, needed), np.zeros(0)
    while bracket.high - bracket.low > 4.0 * ends.resolution:
        found, complete = ends.between(bracket.low, bracket.high)
        if complete and len(found):
            return float(found[min(len(found), needed - bracket.count_low) - 1])
        before = bracket.count_high - bracket.count_low
        if len(found):
            share = (needed - bracket.count_low) / before
            low, high = _around_quantile(found, share)
            _narrow(bracket, ends, low - ends.resolution, needed=needed)
            _narrow(bracket, ends, high + ends.resolution, needed=needed)
        if bracket.count_high - bracket.count_low > before / 2:
            _narrow(bracket, ends, (bracket.low + bracket.high) / 2, needed=needed)
        tied = found[(found > bracket.low) & (found <= bracket.high)]
    return float(tied[len(tied) // 2]) if len(tied) else bracket.high


def _first_bracket(ends: _LowerEnds, needed: int) -> _Bracket:
    """Bracket the limit from a sample of all orders, widened until counting proves it."""
    sample = ends.sample()
    low, high = _around_quantile(sample, needed / ends.halves.number())
    step = max(high - low, ends.resolution)
    low, high = low - ends.resolution, min(high + ends.resolution, ends.estimate)
    while (count_low := ends.count(low)) >= needed:
        low, high, step = low - step, low, 2.0 * step
    while (count_high := ends.count(high)) < needed:
        low, high, step = high, min(high + step, ends.estimate), 2.0 * step
        count_low = count_high
    return _Bracket(low=low, high=high, count_low=count_low, count_high=count_high)


def _around_quantile(sample: FloatArray, share: float) -> tuple[float, float]:
    """Two values of a sorted sample with a quantile of what it came from between them, nearly surely."""
    many = len(sample)
    spread = DEVIATIONS * np.sqrt(many * share * (1.0 - share)) + 2.0
    low, high = (int(np.clip(many * share + side * spread, 0, many - 1)) for side in (-1, 1))
    return float(sample[low]), float(sample[high])


def _narrow(bracket: _Bracket, ends: _LowerEnds, shift: float, *, needed: int) -> None:
    """Move one end of the bracket to a shift inside it."""
    if not bracket.low < shift < bracket.high:
        return
    count = ends.count(shift)
    if count < needed:
        bracket.low, bracket.count_low = shift, count
    else:
        bracket.high, bracket.count_high = shift, count
