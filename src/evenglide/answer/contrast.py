"""One contrast as the answer states it, field by field."""

from __future__ import annotations

import math

import numpy as np

from evenglide.analysis.claims import claims_of, interval_of, size_of
from evenglide.answer.companions import Companions
from evenglide.answer.notes import notes_on_contrast, notes_on_looks
from evenglide.answer.results import Contrast, Looks, Naive, OwnPair, Reml
from evenglide.answer.robustness import notes_on_lines, stated_lines
from evenglide.constants import EXACT_INTEGER_LIMIT
from evenglide.maths.randomisation import RandomisationTest
from evenglide.typing import Interval


def stated_contrast(work: Companions, *, looks: Looks | None = None) -> Contrast:
    """State one contrast field by field."""
    rule, primary, claims, labels = work.rule, work.primary, work.claims, work.case.launches.treatment.labels
    adjusted = [None if np.isnan(p) else float(p) for p in work.family.adjusted()[:, work.index]]
    k = work.family.interval_share(work.index)
    plain = interval_of(primary, rule.level / 2)
    ratio = rule.scale == "ratio"
    verdict = work.verdict
    chance = work.randomisation
    return Contrast(
        treatment=labels[work.treatment],
        reference=labels[0],
        estimate=primary.estimate,
        se=primary.se,
        df=primary.df,
        interval=plain,
        interval_adjusted=interval_of(primary, work.family.difference_tail(work.index, rule.level / k)),
        interval_alike=None
        if work.margin is None
        else interval_of(primary, work.family.alike_tail(work.index, rule.level)),
        ratio=_exponential(primary.estimate) if ratio else None,
        ratio_interval=(_exponential(plain[0]), _exponential(plain[1])) if ratio and plain else None,
        p_difference=claims.difference,
        p_difference_adjusted=adjusted[0],
        p_alike=claims.alike,
        p_alike_adjusted=adjusted[1],
        p_matters=claims.matters,
        p_matters_adjusted=adjusted[2],
        p_randomisation=None if chance is None else chance.p,
        assignments=_countable(chance),
        log10_assignments=None if chance is None or _countable(chance) else chance.log10_assignments,
        smallest_p=None if chance is None else chance.smallest_p,
        interval_randomisation=None if chance is None else chance.interval,
        randomisation_method=None if chance is None else chance.method,
        randomisation_draws=None if chance is None else chance.draws,
        randomisation_error=None if chance is None else chance.standard_error,
        p_randomisation_joint=None if work.joint is None else work.joint.p,
        own_pair=_own_pair(work),
        naive=_naive(work, plain),
        reml=_reml(work),
        to_close=work.closing,
        robustness=stated_lines(work.lines, work.family, contrast=work.index, verdict=verdict),
        looks=looks,
        ride=None,
        verdict=verdict,
        size=size_of(work.family.adjusted()[:, work.index], rule, margin=work.margin),
        notes=(*notes_on_contrast(work), *notes_on_looks(looks), *notes_on_lines(work.lines)),
    )


def _own_pair(work: Companions) -> OwnPair | None:
    own = work.own_pair
    if own.estimate is None:
        return None
    return OwnPair(
        estimate=own.estimate,
        se=own.se,
        df=own.df,
        interval=interval_of(own, work.rule.level / 2),
        p=claims_of(own, None).difference,
    )


def _naive(work: Companions, plain: Interval | None) -> Naive | None:
    naive = work.naive
    if naive.estimate is None:
        return None
    interval = interval_of(naive, work.rule.level / 2)
    ratio = None
    if work.primary.se is not None and naive.se is not None:
        ratio = _width(plain) / _width(interval)
    return Naive(estimate=naive.estimate, se=naive.se, df=naive.df, interval=interval, too_narrow_by=ratio)


def _reml(work: Companions) -> Reml | None:
    mixed = work.mixed.contrast(work.treatment)
    if mixed is None:
        return None
    return Reml(
        estimate=mixed.estimate,
        se=mixed.se,
        df=mixed.df,
        preparation_variance=mixed.preparation_variance,
        launch_variance=mixed.launch_variance,
        boundary=mixed.boundary,
        moment_variance=mixed.moment_variance,
    )


def _width(interval: Interval | None) -> float:
    assert interval is not None and interval[0] is not None and interval[1] is not None
    return interval[1] - interval[0]


def _exponential(value: float | None) -> float | None:
    """Raise e to the value; None where that is no finite number."""
    try:
        return None if value is None else math.exp(value)
    except OverflowError:
        return None


def _countable(chance: RandomisationTest | None) -> int | None:
    """Return the number of assignments where a reader of doubles can hold it."""
    if chance is None or chance.assignments > EXACT_INTEGER_LIMIT:
        return None
    return chance.assignments
