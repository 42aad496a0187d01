"""Points of Student's t against its quantile, and claims by points against claims by p values."""

from __future__ import annotations

import numpy as np
import pytest

from evenglide.maths.distributions import t_upper
from evenglide.maths.equivalence import beyond_p, difference_p, equivalence_p
from evenglide.maths.multiplicity import holm
from evenglide.maths.t_points import HolmByPoints, TPoints, stepped_down

NINE_DIGITS = 1e-9


@pytest.mark.parametrize("tail", [0.001, 0.00625, 0.025, 0.05, 0.2])
def test_points_are_the_quantiles(tail: float) -> None:
    rng = np.random.default_rng(1)
    df = np.concatenate([[1.0, 2.0, 9999.0, np.inf], np.exp(rng.uniform(0, 9, 2000)), 1 + rng.random(500)])
    np.testing.assert_allclose(TPoints([tail])(df)[0], t_upper(tail, df), rtol=NINE_DIGITS)


@pytest.mark.parametrize(("m", "level"), [(1, 0.05), (4, 0.05), (6, 0.01)])
def test_points_decide_as_p_values_do(m: int, level: float) -> None:
    rng = np.random.default_rng(m)
    shape = (m, 20_000)
    se = rng.uniform(0.01, 0.05, shape)
    df = np.where(rng.random(shape) < 0.2, 58.0, np.exp(rng.uniform(0, 6, shape)))
    estimate = rng.normal(0, 0.06, shape)
    low, high = -0.0953, 0.0862
    found = HolmByPoints(m, level=level)(estimate, se, df=df, low=low, high=high)
    for claimed, p in (
        (found.difference, difference_p(estimate, se, df)),
        (found.alike, equivalence_p(estimate, se, df=df, low=low, high=high)),
        (found.matters, beyond_p(estimate, se, df=df, low=low, high=high)),
    ):
        wanted = level >= holm(p.T).T
        assert 0 < wanted.sum() < wanted.size
        np.testing.assert_array_equal(claimed, wanted)


def test_holm_from_counts_is_holm() -> None:
    """All ties, gaps and orders: p values on the very levels they are held to, and between."""
    rng = np.random.default_rng(3)
    levels = 0.06 / np.arange(5, 0, -1)
    p = rng.choice(np.append(levels, [0.001, 0.0125, 0.0199, 0.0301, 0.5]), (5, 5000))
    claimed = stepped_down([p <= one for one in levels])
    np.testing.assert_array_equal(claimed, holm(p.T).T <= 0.06 + 1e-12)


def test_what_could_not_be_reckoned_claims_nothing() -> None:
    missing = np.full((2, 1), np.nan)
    found = HolmByPoints(2, level=0.05)(missing, missing, df=missing, low=-1.0, high=1.0)
    assert not (found.difference | found.alike | found.matters).any()
