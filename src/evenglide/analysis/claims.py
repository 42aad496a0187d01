"""Three claims about one contrast: a difference, alike, by an amount that matters; verdict and size.

The tests stand in `evenglide.maths.equivalence`. An effect of exactly the margin counts as mattering.
Every function takes any number of studies side by side, one column each; one study is a batch of one.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from evenglide.analysis.estimates import Estimate
from evenglide.analysis.rule import TOLERANCE, Rule
from evenglide.maths.distributions import t_upper
from evenglide.maths.equivalence import beyond_p, difference_p, equivalence_p
from evenglide.maths.looks import LookTable
from evenglide.maths.multiplicity import bonferroni, holm
from evenglide.maths.stopping import repeated_claims
from evenglide.typing import FloatArray, IntArray, Interval, Size, Verdict

KINDS = ("difference", "alike", "matters")
VERDICTS: tuple[Verdict, ...] = ("open", "higher", "lower", "alike")
SIZES: tuple[Size, ...] = ("unsettled", "small", "matters")
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
    theta, se, df = (np.array([x]) for x in (estimate.estimate, estimate.se, estimate.df))
    p = claims_p(theta, se, df=df, margins=[margin])[:, 0].tolist()
    return Claims(
        difference=p[0], alike=None if margin is None else p[1], matters=None if margin is None else p[2]
    )


def claims_p(
    estimate: FloatArray, se: FloatArray, *, df: FloatArray, margins: Sequence[Margin]
) -> FloatArray:
    """Test the three claims of many contrasts, and of many studies side by side.

    Parameters
    ----------
    estimate, se, df : array of float, shape (contrasts,) or (contrasts, studies)
        Analysis scale; NaN where there is none.
    margins : sequence of (tuple of float or None), length contrasts

    Returns
    -------
    array of float, shape (3, contrasts) or (3, contrasts, studies)
        p values in the order of `KINDS`; NaN where a claim cannot be tested.
    """
    ends = np.array([(np.nan, np.nan) if margin is None else margin for margin in margins], dtype=np.float64)
    low, high = ends.reshape(-1, 2).T.reshape(2, -1, *[1] * (np.ndim(estimate) - 1))
    return np.stack(
        [
            difference_p(estimate, se, df),
            equivalence_p(estimate, se, df=df, low=low, high=high),
            beyond_p(estimate, se, df=df, low=low, high=high),
        ]
    )


def interval_of(estimate: Estimate, tail: float) -> Interval | None:
    """Interval that leaves `tail` on each side, or None where there is no standard error."""
    if estimate.estimate is None or estimate.se is None or estimate.df is None:
        return None
    half = float(t_upper(tail, estimate.df)) * estimate.se
    return (estimate.estimate - half, estimate.estimate + half)


@dataclass(frozen=True, slots=True, kw_only=True)
class LookBounds:
    """What one of several looks may claim about a contrast.

    Parameters
    ----------
    one_sided, two_sided : LookTable
    look : int
        From 0.
    """

    one_sided: LookTable
    two_sided: LookTable
    look: int

    def repeated(self, p: FloatArray) -> FloatArray:
        """Turn p values of this look's data, first axis as `KINDS`, into repeated ones."""
        return repeated_claims(p, self.look, two_sided=self.two_sided, one_sided=self.one_sided)

    def difference_tail(self, level: float) -> float:
        """Share that the repeated interval of a level leaves out on each side."""
        return float(self.two_sided.nominal(level, self.look)) / 2

    def alike_tail(self, level: float) -> float:
        """Share that the interval behind alike leaves out on each side."""
        return float(self.one_sided.nominal(level, self.look))


@dataclass(frozen=True, slots=True, kw_only=True)
class Family:
    """The claims of all contrasts, with the error rate shared over each family.

    Parameters
    ----------
    p : array of float, shape (3, contrasts) or (3, contrasts, studies)
        Rows in the order of `KINDS`; NaN where a claim cannot be tested (counts as 1).
    members : array of int, shape (contrasts,)
        Which family each contrast belongs to.
    rule : Rule
    bounds : sequence of LookBounds
        Of each contrast, where there are several looks; `p` are then repeated ones.
    """

    p: FloatArray
    members: IntArray
    rule: Rule
    bounds: Sequence[LookBounds] = ()

    def adjusted(self) -> FloatArray:
        """Adjusted p values, shape as `p`."""
        out = np.array(self.p, copy=True)
        for family in np.unique(self.members):
            mine = self.members == family
            if self.rule.adjust == "holm":
                out[:, mine] = holm(self.p[:, mine], axis=1)
            elif self.rule.adjust == "both":
                out[:, mine] = bonferroni(self.p[:, mine], axis=1)
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

    def claims(self, contrast: int) -> Claims:
        """Return the three claims of a contrast, p values as they are shared."""
        p = [None if np.isnan(one) else float(one) for one in self.p[:, contrast]]
        return Claims(difference=p[0], alike=p[1], matters=p[2])

    def difference_tail(self, contrast: int, level: float) -> float:
        """Share left out on each side by the interval that leaves out 0 where a difference is claimed."""
        return self.bounds[contrast].difference_tail(level) if self.bounds else level / 2

    def alike_tail(self, contrast: int, level: float) -> float:
        """Share left out on each side by the interval that lies within the margin where alike is claimed."""
        return self.bounds[contrast].alike_tail(level) if self.bounds else level

    def verdict_with(self, contrast: int, claims: Claims, estimate: float | None) -> Verdict:
        """Verdict if this contrast alone had these claims and all others stayed as they are."""
        p = np.array(self.p, copy=True)
        own = claims.as_array()
        p[:, contrast] = self.bounds[contrast].repeated(own) if self.bounds else own
        adjusted = Family(p=p, members=self.members, rule=self.rule).adjusted()[:, contrast]
        return verdict_of(adjusted, estimate, self.rule)


def family_of(
    contrasts: Sequence[tuple[int, int]], p: FloatArray, rule: Rule, *, bounds: Sequence[LookBounds] = ()
) -> Family:
    """Put contrasts into their families, those of surfaces that no launch reached among them.

    Parameters
    ----------
    contrasts : sequence of (int, int)
        Codes of surface and treatment.
    p : array of float, shape (3, contrasts) or (3, contrasts, studies)
    rule : Rule
    bounds : sequence of LookBounds, optional

    Returns
    -------
    Family
        The contrasts in their order, then the unmet ones.
    """
    members = np.array([int(surface == rule.main) for surface, _ in contrasts])
    unmet = np.full((len(KINDS), rule.unmet, *p.shape[2:]), np.nan)
    return Family(
        p=np.concatenate([p, unmet], axis=1),
        members=np.append(members, np.zeros(rule.unmet, dtype=np.int64)),
        rule=rule,
        bounds=bounds,
    )


def verdict_of(adjusted: FloatArray, estimate: float | None, rule: Rule) -> Verdict:
    """Reach the verdict from adjusted p values in the order of `KINDS`."""
    theta = np.nan if estimate is None else estimate
    return VERDICTS[int(verdict_codes(adjusted, np.asarray(theta), rule.level))]


def size_of(adjusted: FloatArray, rule: Rule, *, margin: Margin) -> Size | None:
    """Whether the difference matters, is too small to matter, or is unsettled; None without a margin."""
    return None if margin is None else SIZES[int(size_codes(adjusted, rule.level))]


def verdict_codes(adjusted: FloatArray, estimate: FloatArray, level: float) -> IntArray:
    """Reach the verdicts of many contrasts or studies.

    Parameters
    ----------
    adjusted : array of float, shape (3, ...)
        Adjusted p values in the order of `KINDS`.
    estimate : array of float, shape (...)
        NaN where there is none.
    level : float

    Returns
    -------
    array of int, shape (...)
        Positions in `VERDICTS`.
    """
    difference, alike, _ = adjusted <= level + TOLERANCE
    direction = np.where(estimate > 0, VERDICTS.index("higher"), VERDICTS.index("lower"))
    otherwise = np.where(alike, VERDICTS.index("alike"), VERDICTS.index("open"))
    return np.where(difference & ~np.isnan(estimate), direction, otherwise)


def size_codes(adjusted: FloatArray, level: float) -> IntArray:
    """Reach the sizes of many contrasts or studies, as positions in `SIZES`; see `verdict_codes`."""
    _, alike, matters = adjusted <= level + TOLERANCE
    otherwise = np.where(matters, SIZES.index("matters"), SIZES.index("unsettled"))
    return np.where(alike, SIZES.index("small"), otherwise)
