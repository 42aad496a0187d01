r"""Three claims about one contrast: a difference, alike, by an amount that matters.

With estimate :math:`\hat\theta`, standard error s on :math:`\nu` degrees of freedom and margins
:math:`l < 0 < u`, and :math:`\bar F` the upper tail of Student's t:

.. math::

    p_\text{difference} &= 2 \bar F(|\hat\theta|/s) \\
    p_\text{alike} &= \max\{\bar F((\hat\theta - l)/s),\; \bar F((u - \hat\theta)/s)\} \\
    p_\text{matters} &= \min\{1,\; 2\min\{\bar F((\hat\theta - u)/s),\; \bar F((l - \hat\theta)/s)\}\}

An effect of exactly the margin counts as mattering. "Alike" is two one-sided tests, each at the
level: Schuirmann (1987), J. Pharmacokinet. Biopharm. 15, 657-680.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from evenglide.analysis.estimates import Estimate
from evenglide.analysis.rule import TOLERANCE, Rule
from evenglide.maths.distributions import t_survival, t_upper
from evenglide.maths.multiplicity import bonferroni, holm
from evenglide.typing import FloatArray, IntArray, Interval, Size, Verdict

KINDS = ("difference", "alike", "matters")
Margin = tuple[float, float] | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Claims:
    """p values of the three claims; None where a claim cannot be tested."""

    difference: float | None
    alike: float | None
    matters: float | None

    def as_array(self) -> FloatArray:
        """Return the p values in the order of `KINDS`, NaN for None, shape (3,)."""
        return np.array([np.nan if p is None else p for p in (self.difference, self.alike, self.matters)])


NO_CLAIMS = Claims(difference=None, alike=None, matters=None)


def claims_of(estimate: Estimate, margin: Margin) -> Claims:
    """Test the three claims from one estimate."""
    if estimate.estimate is None or estimate.se is None or estimate.df is None:
        return NO_CLAIMS
    theta, se, df = estimate.estimate, estimate.se, estimate.df
    difference = 2.0 * float(t_survival(abs(theta) / se, df))
    if margin is None:
        return Claims(difference=difference, alike=None, matters=None)
    low, high = margin
    alike = max(float(t_survival((theta - low) / se, df)), float(t_survival((high - theta) / se, df)))
    beyond = min(float(t_survival((theta - high) / se, df)), float(t_survival((low - theta) / se, df)))
    return Claims(difference=difference, alike=alike, matters=min(1.0, 2.0 * beyond))


def interval_of(estimate: Estimate, tail: float) -> Interval | None:
    """Interval that leaves `tail` on each side, or None where there is no standard error."""
    if estimate.estimate is None or estimate.se is None or estimate.df is None:
        return None
    half = float(t_upper(tail, estimate.df)) * estimate.se
    return (estimate.estimate - half, estimate.estimate + half)


@dataclass(frozen=True, slots=True, kw_only=True)
class Family:
    """The claims of all contrasts, with the error rate shared over each family.

    Parameters
    ----------
    p : array of float, shape (3, contrasts)
        Rows in the order of `KINDS`; NaN where a claim cannot be tested (counts as 1).
    members : array of int, shape (contrasts,)
        Which family each contrast belongs to.
    rule : Rule
    """

    p: FloatArray
    members: IntArray
    rule: Rule

    def adjusted(self) -> FloatArray:
        """Adjusted p values, shape (3, contrasts)."""
        out = np.array(self.p, copy=True)
        for family in np.unique(self.members):
            mine = self.members == family
            if self.rule.adjust == "holm":
                out[:, mine] = holm(self.p[:, mine])
            elif self.rule.adjust == "both":
                out[:, mine] = bonferroni(self.p[:, mine])
        return out

    def count_with(self, contrast: int) -> int:
        """Count the contrasts that share the error rate with this one."""
        if self.rule.adjust == "none":
            return 1
        return int((self.members == self.members[contrast]).sum())

    def interval_share(self, contrast: int) -> int:
        """Return k: the interval that belongs to the verdict has confidence 1 - level/k."""
        m = self.count_with(contrast)
        if self.rule.adjust != "holm":
            return m
        adjusted = self.adjusted()[0, contrast]
        if not adjusted <= self.rule.level + TOLERANCE:
            return m
        mine = self.p[0, self.members == self.members[contrast]]
        rank = 1 + int((np.nan_to_num(mine, nan=1.0) < self.p[0, contrast]).sum())
        return m - rank + 1

    def verdict_with(self, contrast: int, claims: Claims, estimate: float | None) -> Verdict:
        """Verdict if this contrast alone had these claims and all others stayed as they are."""
        p = np.array(self.p, copy=True)
        p[:, contrast] = claims.as_array()
        adjusted = Family(p=p, members=self.members, rule=self.rule).adjusted()[:, contrast]
        return verdict_of(adjusted, estimate, self.rule)


def verdict_of(adjusted: FloatArray, estimate: float | None, rule: Rule) -> Verdict:
    """Reach the verdict from adjusted p values in the order of `KINDS`."""
    limit = rule.level + TOLERANCE
    if estimate is not None and adjusted[0] <= limit:
        return "higher" if estimate > 0 else "lower"
    return "alike" if adjusted[1] <= limit else "open"


def size_of(adjusted: FloatArray, rule: Rule, *, margin: Margin) -> Size | None:
    """Whether the difference matters, is too small to matter, or is unsettled; None without a margin."""
    if margin is None:
        return None
    limit = rule.level + TOLERANCE
    if adjusted[1] <= limit:
        return "small"
    return "matters" if adjusted[2] <= limit else "unsettled"
