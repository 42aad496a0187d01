"""Drawn studies reduced to tests: against least squares, adjusted p values, published points, counting."""

from __future__ import annotations

import json
import math
from pathlib import Path

import numpy as np
import pytest
from scipy import integrate, stats

from evenglide.maths.block_draws import block_draws
from evenglide.maths.conditional_bins import conditional_bins
from evenglide.maths.control_variates import controlled
from evenglide.maths.counted_claims import counted_claims
from evenglide.maths.family_chance import family_chances
from evenglide.maths.multiplicity import holm
from evenglide.maths.paired_draws import paired_draws
from evenglide.maths.uncertain_scale import variance_factors

DUNNETT = json.loads((Path(__file__).parents[1] / "reference/maths/dunnett.json").read_text("utf-8"))


def dense(y: np.ndarray, there: np.ndarray, columns: np.ndarray) -> tuple[np.ndarray, np.ndarray, int]:
    """Least squares with a column for each round; estimates and standard errors of `columns`."""
    rounds, treatments = y.shape
    rows = [(r, t) for r in range(rounds) for t in range(treatments) if there[r, t]]
    x = np.array(
        [[float(r == other) for other in range(rounds)] + [c[r, t] for c in columns] for r, t in rows]
    )
    x = x[:, np.abs(x).sum(axis=0) > 0]
    values = np.array([y[r, t] for r, t in rows])
    inverse = np.linalg.inv(x.T @ x)
    b = inverse @ x.T @ values
    df = len(rows) - x.shape[1]
    variance = float(((values - x @ b) ** 2).sum()) / df
    k = len(columns)
    return b[-k:], np.sqrt(variance * np.diag(inverse)[-k:]), df


@pytest.mark.parametrize("items", [False, True])
def test_blocks_are_dense_least_squares(items: bool) -> None:
    rng = np.random.default_rng(4)
    rounds, treatments, studies = 6, 3, 25
    y = rng.standard_normal((rounds, treatments, studies))
    there = rng.random((rounds, treatments, studies)) < 0.85
    columns = np.broadcast_to(np.eye(3)[1:, np.newaxis, :, np.newaxis], (2, rounds, 3, studies))
    if items:
        piece = rng.random((rounds, treatments, studies)).argsort(axis=1)
        columns = np.concatenate([columns, [piece == 1, piece == 2]])
    estimate, error, df = block_draws(y, columns, there, contrasts=2)
    for at in range(studies):
        b, se, left = dense(y[..., at], there[..., at], columns[..., at])
        np.testing.assert_allclose(estimate[:, at], b[:2], rtol=1e-9, atol=1e-12)
        np.testing.assert_allclose(error[:, at], se[:2], rtol=1e-9)
        assert df[0, at] == left


@pytest.mark.parametrize("items", [False, True])
def test_pairs_are_dense_least_squares(items: bool) -> None:
    """The whole estimate: what is fixed, and what is left of it, add up to least squares."""
    rng = np.random.default_rng(5)
    pairs, studies = 12, 20
    own = rng.standard_normal((1, pairs, studies))
    variance = rng.uniform(0.5, 2.0, own.shape)
    kept = rng.random(own.shape) < 0.8
    sign = np.where(rng.random(own.shape) < 0.5, -1.0, 1.0) if items else None
    drawn = paired_draws(np.zeros((pairs, studies)), own, variance, kept=kept, sign=sign)
    for at in range(studies):
        rows = kept[0, :, at]
        x = (
            np.ones((rows.sum(), 1))
            if sign is None
            else np.column_stack([np.ones(rows.sum()), sign[0, rows, at]])
        )
        d, w = own[0, rows, at], 1 / variance[0, rows, at]
        inverse = np.linalg.inv(x.T @ x)
        b = inverse @ x.T @ d
        df = int(rows.sum()) - x.shape[1]
        weighted = np.linalg.inv(x.T @ (w[:, np.newaxis] * x))
        assert drawn.df[0, at] == df
        se = math.sqrt(((d - x @ b) ** 2).sum() / df * inverse[0, 0])
        assert drawn.error[0, at] == pytest.approx(se, rel=1e-9)
        assert drawn.spread[0, at] == pytest.approx(math.sqrt(weighted[0, 0]), rel=1e-9)
        loose = (weighted @ x.T @ (w * d))[0]
        assert drawn.shift[0, at] + loose == pytest.approx(b[0], rel=1e-9, abs=1e-12)


def test_what_is_left_is_independent_of_what_is_fixed() -> None:
    """Unequal variances: the weighted estimate must not go with the shift or the standard error."""
    rng = np.random.default_rng(6)
    n = 100_000
    variance = np.broadcast_to(np.array([0.2, 1.0, 1.0, 6.0])[:, np.newaxis], (1, 4, n))
    own = rng.standard_normal((1, 4, n)) * np.sqrt(variance)
    drawn = paired_draws(np.zeros((4, n)), own, variance, kept=np.ones((1, 4, n), dtype=bool), sign=None)
    loose = own[0].mean(axis=0) - drawn.shift[0]
    assert loose.var() == pytest.approx(float(drawn.spread[0, 0]) ** 2, rel=0.03)
    for other in (drawn.shift[0], drawn.error[0], drawn.error[0] ** 2):
        assert abs(np.corrcoef(loose, other)[0, 1]) < 5 / math.sqrt(n)


def test_conditional_bins_average_to_exact_chances() -> None:
    """Equal variances: the mean over studies is what quadrature gives, for each claim and both."""
    rng = np.random.default_rng(7)
    n, pairs = 60_000, 5
    variance = np.full((2, pairs, n), 0.004)
    own = rng.standard_normal(variance.shape) * np.sqrt(variance)
    kept = np.ones(variance.shape, dtype=bool)
    drawn = paired_draws(np.zeros((pairs, n)), own, variance, kept=kept, sign=None)
    levels, effect, margin = np.array([0.025, 0.05]), np.array([0.05, 0.0]), np.array([0.12, 0.12])
    bins = conditional_bins(drawn, effect=effect, margin=margin, levels=levels, joint=True)
    exact = family_chances(
        df=np.full((2, 1), pairs - 1.0),
        se=math.sqrt(0.004 / pairs),
        effect=effect[:, np.newaxis],
        margin=0.12,
        level=0.05,
        adjust="none",
    )
    joint = bins.joint
    assert joint is not None
    assert exact.conclusive is not None
    for found, wanted in (
        (bins.difference[:, 1], exact.difference),
        (bins.alike[:, 1], exact.alike),
        (bins.matters[:, 1], exact.matters),
        (bins.difference[:, 1] + bins.alike[:, 1] - joint[:, 1, 1], exact.conclusive),
    ):
        error = found.std(axis=1) / math.sqrt(n)
        assert np.all(np.abs(found.mean(axis=1) - wanted[:, 0]) < 5 * error + 1e-12)


def test_counted_claims_are_adjusted_p_values() -> None:
    rng = np.random.default_rng(8)
    estimate = rng.standard_normal((4, 3000)) * 0.08
    error = 0.02 * np.sqrt(rng.chisquare(4, estimate.shape) / 4)
    df = rng.integers(0, 9, estimate.shape)
    margin = np.array([0.1, 0.1, 0.05, 0.2])
    found = counted_claims(estimate, error, df, margin=margin, levels=0.05 / np.array([4.0, 3, 2, 1]))
    near, known = margin[:, np.newaxis], np.maximum(df, 1)
    upper = stats.t.sf
    p = {
        "difference": 2 * upper(np.abs(estimate) / error, known),
        "alike": np.maximum(upper((estimate + near) / error, known), upper((near - estimate) / error, known)),
        "matters": 2
        * np.minimum(upper((estimate - near) / error, known), upper((-near - estimate) / error, known)),
    }
    for name, values in p.items():
        adjusted = holm(np.where(df > 0, values, np.nan).T).T
        with np.errstate(invalid="ignore"):
            np.testing.assert_array_equal(getattr(found, name), adjusted <= 0.05)
        assert getattr(found, name).any()


@pytest.mark.parametrize(
    "point", [one for one in DUNNETT["points"] if one["df"] in {10, 20} and one["k"] == 2]
)
def test_three_treatments_meet_dunnett(point: dict[str, float]) -> None:
    """Dunnett (1955, 1964), recomputed (status V2): the largest |t| of two contrasts with one reference."""
    rounds, n = int(point["df"]) // 2 + 1, 60_000
    y = np.random.default_rng(9).standard_normal((rounds, 3, n))
    columns = np.broadcast_to(np.eye(3)[1:, np.newaxis, :, np.newaxis], (2, rounds, 3, 1))
    estimate, error, df = block_draws(y, columns, np.ones((rounds, 3, 1), dtype=bool), contrasts=2)
    assert set(df.ravel().tolist()) == {point["df"]}
    t = estimate / error
    five_errors = 5 * math.sqrt(0.05 * 0.95 / n)
    assert abs((np.abs(t).max(axis=0) > point["two_sided"]).mean() - 0.05) < five_errors
    assert abs((t.max(axis=0) > point["one_sided"]).mean() - 0.05) < five_errors


def test_controls_steady_without_bias() -> None:
    rng = np.random.default_rng(10)
    x = rng.standard_normal((2, 500, 400))
    y = 1.0 + 2.0 * x[0] - x[1] + 0.3 * rng.standard_normal((500, 400))
    means = np.array([controlled(y[:, at][np.newaxis], x[..., at], np.zeros(2)).mean() for at in range(400)])
    assert means.std() < 0.2 * y.mean(axis=0).std()
    assert abs(means.mean() - 1.0) < 5 * means.std() / math.sqrt(400)


@pytest.mark.parametrize("df", [1.0, 2.0, 3.0, 6.0, 20.0])
def test_averages_over_an_uncertain_variance(df: float) -> None:
    """A chance that falls as the scatter grows, integrated adaptively over the quantile."""

    def chance(factor: np.ndarray) -> np.ndarray:
        return np.asarray(stats.norm.cdf(3.0 / np.sqrt(factor + 0.3) - 2.0))

    factors, weights = variance_factors(df, 16)
    wanted, _ = integrate.quad(lambda x: float(chance(df / stats.chi2.ppf(x, df))), 0, 1, epsabs=1e-9)
    assert weights.sum() == pytest.approx(1.0, abs=1e-14)
    assert float(weights @ chance(factors)) == pytest.approx(wanted, abs=1e-4)


def test_no_variance_without_degrees_of_freedom() -> None:
    with pytest.raises(ValueError, match="degrees of freedom"):
        variance_factors(0.0, 16)
