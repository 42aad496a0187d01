"""Looks at growing data with few degrees of freedom, against simulated data and laws."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import special

from evenglide.maths.chance import difference_chance
from evenglide.maths.crossing import spending_bounds
from evenglide.maths.distributions import t_upper, two_sided_p
from evenglide.maths.looks import LookTable, look_table
from evenglide.maths.multiplicity import holm
from evenglide.maths.spending import Sides
from evenglide.maths.stopping import settled_by_look, stop_when_settled
from evenglide.typing import FloatArray

STUDIES = 60_000
PLANS = [(2, 5), (3, 5), (5, 5), (3, 2), (5, 3)]
"""New pairs for each look, and looks."""


def plan(pairs: int, looks: int) -> tuple[list[int], list[float], list[int]]:
    """Pairs by each look, shares of the information, degrees of freedom."""
    counts = [pairs * look for look in range(1, looks + 1)]
    return counts, [one / counts[-1] for one in counts], [one - 1 for one in counts]


def t_of_pairs(counts: list[int], *, seed: int) -> FloatArray:
    """Give t at each look from differences of pairs, shape (looks, studies)."""
    differences = np.random.default_rng(seed).standard_normal((STUDIES, counts[-1]))
    found = [differences[:, :count] for count in counts]
    return np.array([one.mean(axis=1) / (one.std(axis=1, ddof=1) / np.sqrt(one.shape[1])) for one in found])


def crossed(t: FloatArray, bounds: FloatArray, sides: Sides) -> float:
    size = np.abs(t) if sides == 2 else t
    return float((size >= bounds[:, np.newaxis]).any(axis=0).mean())


def bounds_of(table: LookTable, level: float) -> FloatArray:
    return np.array([float(table.bound(level, look)) for look in range(len(table.df))])


@pytest.mark.parametrize("sides", [1, 2])
@pytest.mark.parametrize(("pairs", "looks"), PLANS)
def test_pairs_cross_as_often_as_promised(pairs: int, looks: int, sides: Sides) -> None:
    """At three levels, from data: within four standard errors and one per cent for the calibration."""
    counts, fractions, df = plan(pairs, looks)
    table, t = look_table(fractions, df, sides=sides), t_of_pairs(counts, seed=pairs + 10 * looks)
    for level in (0.0125, 0.05, 0.2):
        error = 4 * np.sqrt(level * (1 - level) / STUDIES) + 0.01 * level
        assert crossed(t, bounds_of(table, level), sides) == pytest.approx(level, abs=error)


@pytest.mark.parametrize(("pairs", "looks"), PLANS)
def test_normal_bounds_would_cross_too_often(pairs: int, looks: int) -> None:
    """The same data against the normal bounds: far beyond the level, so the test above can fail."""
    counts, fractions, _ = plan(pairs, looks)
    normal = spending_bounds(0.05, fractions, sides=2)
    assert crossed(t_of_pairs(counts, seed=pairs), normal, 2) > 0.07


def test_plain_t_points_of_the_nominal_levels_cross_a_little_too_often() -> None:
    counts, fractions, df = plan(2, 5)
    nominal = 2 * special.ndtr(-spending_bounds(0.05, fractions, sides=2))
    plain = t_upper(nominal / 2, np.array(df))
    share = crossed(t_of_pairs(counts, seed=3), plain, 2)
    assert share > 0.05 + 3 * np.sqrt(0.05 * 0.95 / STUDIES)
    kept = [float(look_table(fractions, df, sides=2).nominal(0.05, look)) for look in range(5)]
    assert np.all(kept < nominal)


@pytest.mark.parametrize("sides", [1, 2])
def test_repeated_p_values_are_uniform_at_their_smallest(sides: Sides) -> None:
    counts, fractions, df = plan(3, 3)
    table, t = look_table(fractions, df, sides=sides), t_of_pairs(counts, seed=8)
    tail = two_sided_p(t, np.array(df)[:, np.newaxis]) / 2
    p = 2 * tail if sides == 2 else np.where(t > 0, tail, 1 - tail)
    smallest = np.min([table.repeated(p[look], look) for look in range(3)], axis=0)
    for level in (0.01, 0.05, 0.1, 0.3):
        error = 4 * np.sqrt(level * (1 - level) / STUDIES) + 0.01 * level
        assert float((smallest <= level).mean()) == pytest.approx(level, abs=error)


@settings(max_examples=15)
@given(
    st.integers(2, 6),
    st.integers(2, 4),
    st.floats(1e-6, 0.1),
    st.sampled_from([1, 2]),
)
def test_p_values_and_bounds_agree_and_bounds_fall(
    pairs: int, looks: int, level: float, sides: Sides
) -> None:
    counts, fractions, df = plan(pairs, looks)
    table = look_table(fractions, df, sides=sides)
    bounds = bounds_of(table, level)
    assert np.all(np.diff(bounds) < 0)
    for look in range(len(counts)):
        nominal = float(table.nominal(level, look))
        assert float(table.repeated(nominal, look)) == pytest.approx(level, rel=1e-9)
        assert float(table.repeated(nominal * 1.01, look)) > level
        assert float(table.repeated(nominal * 0.99, look)) < level
    p = np.linspace(0.001, 0.999, 50)
    assert np.all(table.repeated(p, 0) >= p)


@settings(max_examples=20)
@given(st.floats(0, 1), st.integers(1, 30), st.sampled_from([1, 2]))
def test_one_look_changes_nothing(p: float, df: int, sides: Sides) -> None:
    table = look_table([1.0], [df], sides=sides)
    assert float(table.repeated(p, 0)) == p
    assert float(table.bound(0.05, 0)) == float(t_upper(0.05 / sides, df))


def test_a_missing_p_value_stays_missing() -> None:
    table = look_table([0.5, 1.0], [4, 9], sides=2)
    assert np.isnan(table.repeated(np.nan, 0))
    assert float(table.repeated(0.0, 0)) < 1e-9 and float(table.repeated(1.0, 1)) == 1.0


def test_degrees_of_freedom_may_not_fall() -> None:
    for df in ([4, 3], [0, 3], [4]):
        with pytest.raises(ValueError, match="degrees of freedom"):
            look_table([0.5, 1.0], df, sides=2)


def test_much_data_is_normal() -> None:
    table = look_table([0.5, 1.0], [10_000, 20_001], sides=2)
    normal = spending_bounds(0.05, [0.5, 1.0], sides=2)
    np.testing.assert_allclose(bounds_of(table, 0.05), normal, atol=4e-3)


# -------------------------------------------------------------------------------------- stopping


def shared(p: FloatArray) -> FloatArray:
    return np.asarray(holm(p, axis=1))


def test_who_stopped_keeps_the_p_values() -> None:
    p = np.full((2, 3, 2, 1), 0.9)
    p[0, 0, 0] = 0.02
    p[1, 0] = [[0.8], [0.04]]
    found = stop_when_settled(p, adjust=shared, level=0.05)
    assert found.settled[:, 0].tolist() == [0, 1]
    assert found.p[1, 0, :, 0].tolist() == [0.02, 0.04]
    assert found.p[1, 1, 0, 0] == 0.9


def test_what_is_open_is_judged_by_the_data_of_the_look_alone() -> None:
    """A repeated p of 0.03 misses 0.025 at the first look and does not come back at the second."""
    p = np.full((2, 3, 2, 1), 0.9)
    p[0, 0, :, 0] = [0.03, 0.8]
    p[1, 0, :, 0] = [0.20, 0.001]
    found = stop_when_settled(p, adjust=shared, level=0.05)
    assert found.settled[:, 0].tolist() == [-1, 1]
    assert found.p[1, 0, 0, 0] == 0.20


@settings(max_examples=40)
@given(st.integers(0, 10_000))
def test_a_claim_is_never_lost(seed: int) -> None:
    p = np.random.default_rng(seed).random((4, 3, 5, 20)) ** 3
    found = stop_when_settled(p, adjust=shared, level=0.05)
    claimed = (found.adjusted[:, :2] <= 0.05).any(axis=1)
    for early, late in pairwise(claimed):
        assert np.all(late[early])
    assert np.array_equal(claimed[-1], found.settled >= 0)


def test_the_chance_by_look_is_the_power_of_one_look() -> None:
    found = settled_by_look(fractions=[1.0], df=[8], se=0.5, effect=1.6, margin=0.0, level=0.05, draws=40_000)
    exact = float(difference_chance(df=np.array(8.0), se=np.array(0.5), effect=1.6, level=0.05))
    assert float(found.all[0]) == pytest.approx(exact, abs=4 * found.standard_error)


def test_the_chance_by_look_is_that_of_pairs() -> None:
    """Drawn sufficient statistics against whole data: three comparisons without any effect or margin."""
    counts, fractions, df = plan(3, 3)
    found = settled_by_look(fractions=fractions, df=df, se=[1.0] * 3, effect=0.0, margin=0.0, level=0.05)
    table = look_table(fractions, df, sides=2)
    t = np.stack([t_of_pairs(counts, seed=seed) for seed in (1, 2, 3)], axis=1)
    p = np.full((3, 3, 3, STUDIES), np.nan)
    for look in range(3):
        p[look, 0] = table.repeated(two_sided_p(t[look], df[look]), look)
    settled = stop_when_settled(p, adjust=shared, level=0.05).settled
    for look in range(3):
        share = ((settled >= 0) & (settled <= look)).mean(axis=1)
        np.testing.assert_allclose(found.each[look], share, atol=5e-3)
    assert np.all(np.diff(found.all) >= 0)
