"""Claims, families, verdicts: against outside values and the rules they follow."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from evenglide.analysis.claims import Claims, Family, claims_of, interval_of, size_of, verdict_of
from evenglide.analysis.estimates import Estimate
from evenglide.analysis.rule import Rule

TWELVE_DIGITS = 1e-12
NINE_DIGITS = 1e-9
RULE = Rule(scale="difference", margin=(-1.0, 1.0))


def family(p: list[float], rule: Rule = RULE, kind: int = 0) -> Family:
    rest = np.ones((3, len(p)))
    rest[kind] = p
    return Family(p=rest, members=np.zeros(len(p), dtype=np.int64), rule=rule)


def test_one_sample_equivalence_case() -> None:
    # Documented example of the R package TOSTER, one sample: mean .54 against .5, sd 1.2, n 100,
    # bounds of .3 standard deviations: t 3.333333 and -2.666667, p 0.0006040021 and 0.004474619.
    claims = claims_of(Estimate(estimate=0.04, se=0.12, df=99.0), (-0.36, 0.36))
    assert claims.alike == pytest.approx(0.004474619, rel=1e-6)
    one_sided = claims_of(Estimate(estimate=0.04, se=0.12, df=99.0), (-0.36, 1e9))
    assert one_sided.alike == pytest.approx(0.0006040021, rel=1e-6)


def test_claims_against_scipy() -> None:
    claims = claims_of(Estimate(estimate=1.7, se=0.5, df=6.5), (-1.0, 1.0))
    assert claims.difference == pytest.approx(2 * stats.t.sf(3.4, 6.5), rel=NINE_DIGITS)
    assert claims.matters == pytest.approx(2 * stats.t.sf(1.4, 6.5), rel=NINE_DIGITS)
    assert claims.alike == pytest.approx(stats.t.sf(-1.4, 6.5), rel=NINE_DIGITS)


def test_an_effect_of_exactly_the_margin_is_never_alike() -> None:
    claims = claims_of(Estimate(estimate=1.0, se=1e-9, df=30.0), (-1.0, 1.0))
    assert claims.alike == pytest.approx(0.5, rel=NINE_DIGITS)
    assert claims.matters == pytest.approx(1.0, rel=NINE_DIGITS)


@given(
    estimate=st.floats(-3, 3),
    se=st.floats(0.05, 2),
    df=st.integers(1, 30),
    level=st.sampled_from([0.01, 0.05, 0.1]),
)
def test_intervals_and_claims_say_the_same(estimate: float, se: float, df: int, level: float) -> None:
    made = Estimate(estimate=estimate, se=se, df=float(df))
    claims, low_high = claims_of(made, (-1.0, 1.0)), interval_of(made, level / 2)
    inner = interval_of(made, level)
    assert low_high is not None and inner is not None and None not in (*low_high, *inner)
    assert claims.difference is not None and claims.alike is not None and claims.matters is not None
    if abs(claims.difference - level) > 1e-9:
        assert (claims.difference < level) == (not low_high[0] < 0 < low_high[1])  # type: ignore[operator]
    if abs(claims.alike - level) > 1e-9:
        assert (claims.alike < level) == (inner[0] > -1 and inner[1] < 1)  # type: ignore[operator]
    if abs(claims.matters - level) > 1e-9:
        assert (claims.matters < level) == (low_high[0] > 1 or low_high[1] < -1)  # type: ignore[operator]


def test_the_adjusted_interval_leaves_out_zero_exactly_when_the_difference_is_claimed() -> None:
    rng = np.random.default_rng(12)
    for _ in range(200):
        estimates = [Estimate(estimate=float(x), se=0.4, df=7.0) for x in rng.normal(0, 1.2, 4)]
        p = np.stack([claims_of(e, (-1.0, 1.0)).as_array() for e in estimates], axis=1)
        made = Family(p=p, members=np.zeros(4, dtype=np.int64), rule=RULE)
        for i, e in enumerate(estimates):
            interval = interval_of(e, RULE.level / made.interval_share(i) / 2)
            assert interval is not None
            claimed = made.adjusted()[0, i] <= RULE.level
            assert claimed == (not interval[0] <= 0 <= interval[1])  # type: ignore[operator]


def test_interval_share_by_hand() -> None:
    made = family([0.001, 0.02, 0.03, 0.9])
    assert made.adjusted()[0] == pytest.approx([0.004, 0.06, 0.06, 0.9])
    assert [made.interval_share(i) for i in range(4)] == [4, 4, 4, 4]
    made = family([0.02, 0.001, 0.012, 0.9])
    assert [made.interval_share(i) for i in range(4)] == [2, 4, 3, 4]
    tied = family([0.001, 0.001, 0.9])
    assert [tied.interval_share(i) for i in range(3)] == [3, 3, 3]


def test_untested_contrasts_count_with_one() -> None:
    made = family([0.02, np.nan, np.nan])
    assert made.adjusted()[0, 0] == pytest.approx(0.06)
    assert np.isnan(made.adjusted()[0, 1:]).all()
    assert made.count_with(0) == 3


@pytest.mark.parametrize(("adjust", "expected"), [("none", 0.02), ("both", 0.06), ("holm", 0.06)])
def test_ways_to_share_the_error_rate(adjust: str, expected: float) -> None:
    rule = Rule(scale="difference", margin=None, adjust=adjust)  # type: ignore[arg-type]
    assert family([0.02, 0.5, 0.6], rule).adjusted()[0, 0] == pytest.approx(expected)
    assert family([0.02, 0.5, 0.6], rule).interval_share(0) == (1 if adjust == "none" else 3)
    assert family([0.02, 0.5, 0.6], rule).count_with(0) == (1 if adjust == "none" else 3)


def test_a_main_surface_is_a_family_of_its_own() -> None:
    p = np.ones((3, 3))
    p[0] = [0.04, 0.04, 0.04]
    made = Family(p=p, members=np.array([1, 0, 0]), rule=RULE)
    assert made.adjusted()[0] == pytest.approx([0.04, 0.08, 0.08])
    assert made.count_with(0) == 1 and made.count_with(1) == 2


@pytest.mark.parametrize(
    ("adjusted", "estimate", "verdict", "size"),
    [
        ((0.01, 1.0, 1.0), 2.0, "higher", "unsettled"),
        ((0.01, 1.0, 0.01), -2.0, "lower", "matters"),
        ((0.01, 0.01, 1.0), 0.2, "higher", "small"),
        ((0.5, 0.01, 1.0), 0.2, "alike", "small"),
        ((0.5, 0.5, 1.0), 0.2, "open", "unsettled"),
        ((0.05 + 5e-13, 0.5, 1.0), 0.2, "higher", "unsettled"),
        ((np.nan, np.nan, np.nan), None, "open", "unsettled"),
    ],
)
def test_verdict_and_size(
    adjusted: tuple[float, ...], estimate: float | None, verdict: str, size: str
) -> None:
    assert verdict_of(np.array(adjusted), estimate, RULE) == verdict
    assert size_of(np.array(adjusted), RULE, margin=RULE.margin) == size


def test_without_a_margin_there_is_no_size() -> None:
    rule = Rule(scale="ratio", margin=None)
    assert size_of(np.array([0.01, np.nan, np.nan]), rule, margin=None) is None
    claims = claims_of(Estimate(estimate=1.0, se=0.1, df=5.0), None)
    assert claims.alike is None and claims.matters is None and claims.difference is not None


def test_one_contrast_replaced_leaves_the_others() -> None:
    made = family([0.001, 0.02, 0.9])
    assert made.verdict_with(1, Claims(difference=0.02, alike=1.0, matters=1.0), 1.0) == "higher"
    assert made.verdict_with(1, Claims(difference=0.03, alike=1.0, matters=1.0), 1.0) == "open"
    assert made.verdict_with(1, Claims(difference=None, alike=None, matters=None), None) == "open"
