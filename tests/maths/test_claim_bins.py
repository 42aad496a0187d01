"""Bins of p values against single chances, adaptive integration, simulation and laws."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
from scipy import integrate, special, stats

from evenglide.maths.chance import alike_chance, difference_chance, one_sided_chance
from evenglide.maths.claim_bins import claim_bins

LEVELS = 0.05 / np.array([4, 3, 2, 1])
NINE_DIGITS = 1e-9


def cases(seed: int, count: int) -> dict[str, np.ndarray]:
    """Comparisons of every kind; one degree of freedom with margins up to 20 standard errors."""
    rng = np.random.default_rng(seed)
    df = rng.choice([1.0, 2, 3, 4, 5, 7, 8.5, 11, 20, 40, 100, 500], count)
    margin = np.exp(rng.uniform(math.log(0.2), np.where(df < 2, math.log(20), math.log(100)), count))
    return {"df": df, "margin": margin, "effect": margin * rng.choice([-1.5, 0, 0.5, 1, 2], count)}


def test_each_claim_alone_has_its_single_chance() -> None:
    case = cases(1, 300)
    bins = claim_bins(**case, se=1.0, levels=LEVELS)
    for at, level in enumerate(LEVELS):
        given = {"df": case["df"], "se": 1.0, "effect": case["effect"], "level": level}
        np.testing.assert_allclose(bins.difference[at], difference_chance(**given), rtol=0, atol=NINE_DIGITS)
        np.testing.assert_allclose(
            bins.alike[at], alike_chance(**given, margin=case["margin"]), rtol=0, atol=NINE_DIGITS
        )


def test_matters_is_two_tests_beyond_the_margins() -> None:
    """A difference that matters: one-sided tests at half the level, beyond either margin."""
    case = cases(2, 200)
    bins = claim_bins(**case, se=1.0, levels=LEVELS)
    for at, level in enumerate(LEVELS):
        sides = [
            one_sided_chance(
                df=case["df"], se=1.0, effect=sign * case["effect"] - case["margin"], level=level / 2
            )
            for sign in (1, -1)
        ]
        np.testing.assert_allclose(bins.matters[at], sum(sides), rtol=0, atol=NINE_DIGITS)


@pytest.mark.parametrize(
    ("df", "effect", "margin"),
    [(1, 0, 15), (1, 6, 12), (2, 1, 9), (3, 0, 20), (5, 2, 4), (8, 0, 8.0), (30, 3, 6), (200, 1.5, 4.5)],
)
def test_both_at_once_by_adaptive_integration(df: int, effect: float, margin: float) -> None:
    """Over the normal estimate: u must lie below both |z|/t and (margin - |z|)/s."""
    bins = claim_bins(df=[df], se=1.0, effect=effect, margin=margin, levels=LEVELS)
    assert bins.joint is not None
    for j, k in ((0, 0), (3, 0), (1, 2), (3, 3)):
        t, s = stats.t.isf(LEVELS[j] / 2, df), stats.t.isf(LEVELS[k], df)

        def slice_at(z: float, t: float = t, s: float = s) -> float:
            most = min(abs(z) / t, (margin - abs(z)) / s)
            return float(stats.norm.pdf(z - effect) * special.gammainc(df / 2, df * most**2 / 2))

        kink = margin * t / (t + s)
        edges = [-margin, -kink, 0.0, min(effect, margin), kink, margin]
        value = sum(
            integrate.quad(slice_at, low, high, epsabs=1e-12, limit=200)[0]
            for low, high in pairwise(sorted(edges))
        )
        assert float(bins.joint[j, k, 0]) == pytest.approx(value, abs=NINE_DIGITS)


def test_simulated_p_values_fall_into_the_bins() -> None:
    """Twice with the points swapped would show here: five standard errors of 400,000 studies."""
    rng = np.random.default_rng(3)
    n, df, se, effect, margin = 400_000, 5, 0.04, 0.03, 0.2
    estimate = effect + se * rng.standard_normal(n)
    error = se * np.sqrt(rng.chisquare(df, n) / df)
    difference = 2 * stats.t.sf(np.abs(estimate) / error, df)
    alike = np.maximum(
        stats.t.sf((estimate + margin) / error, df), stats.t.sf((margin - estimate) / error, df)
    )
    bins = claim_bins(df=[df], se=se, effect=effect, margin=margin, levels=LEVELS)
    assert bins.joint is not None
    for j, first in enumerate(LEVELS):
        for k, second in enumerate(LEVELS):
            seen = ((difference <= first) & (alike <= second)).mean()
            chance = float(bins.joint[j, k, 0])
            assert abs(seen - chance) < 5 * math.sqrt(chance * (1 - chance) / n)


def test_units_and_sides_do_not_matter() -> None:
    case = cases(4, 60)
    plain = claim_bins(**case, se=1.0, levels=LEVELS)
    mirrored = {**case, "effect": -case["effect"]}
    for other in (
        claim_bins(**mirrored, se=1.0, levels=LEVELS),
        claim_bins(
            df=case["df"], se=7e-3, effect=7e-3 * case["effect"], margin=7e-3 * case["margin"], levels=LEVELS
        ),
    ):
        np.testing.assert_allclose(other.difference, plain.difference, atol=1e-12)
        np.testing.assert_allclose(other.alike, plain.alike, atol=1e-12)
        np.testing.assert_allclose(other.joint, plain.joint, atol=1e-12)


def test_nothing_is_claimed_without_a_test() -> None:
    bins = claim_bins(df=[0, -1, 5], se=[1, 1, np.inf], effect=9.0, margin=3.0, levels=[0.05])
    assert not bins.difference.any()
    assert not bins.alike.any()
    assert bins.joint is not None
    assert not bins.joint.any()


@pytest.mark.parametrize("level", [0.0, 0.5, -1.0, np.nan])
def test_levels_out_of_range(level: float) -> None:
    with pytest.raises(ValueError, match="level"):
        claim_bins(df=[5], se=1, effect=0, margin=1, levels=[level])
