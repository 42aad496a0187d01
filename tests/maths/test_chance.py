"""Chances of claims against high-precision integration, published sizes, simulation and laws."""

from __future__ import annotations

import json
import math
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from evenglide.maths.chance import alike_chance, difference_chance, one_sided_chance, smallest_blocks

REFERENCE = Path(__file__).parents[1] / "reference" / "maths"
CHANCES = json.loads((REFERENCE / "chances.json").read_text("utf-8"))["cases"]
SIZES = json.loads((REFERENCE / "sample_sizes.json").read_text("utf-8"))
ELEVEN_DIGITS = 1e-11


def column(name: str) -> np.ndarray:
    return np.array([float(row[name]) for row in CHANCES])


def test_same_as_adaptive_integration() -> None:
    df, effect, tail = column("df"), column("effect"), column("tail")
    two = difference_chance(df=df, se=1, effect=effect, level=2 * tail)
    np.testing.assert_allclose(two, column("difference"), rtol=0, atol=ELEVEN_DIGITS)
    below = one_sided_chance(df=df, se=1, effect=-effect, level=tail)
    np.testing.assert_allclose(below, column("below"), rtol=0, atol=ELEVEN_DIGITS)
    alike = alike_chance(df=df, se=1, effect=effect, margin=column("margin"), level=tail)
    np.testing.assert_allclose(alike, column("alike"), rtol=0, atol=ELEVEN_DIGITS)


def real_size(chance: Callable[[float], float], wanted: float) -> float:
    """Real-valued sample size that reaches a chance, by bisection."""
    low, high = 2.0, 1e4
    for _ in range(100):
        middle = (low + high) / 2
        low, high = (low, middle) if chance(middle) >= wanted else (middle, high)
    return high


def two_groups(n: float, d: float) -> dict[str, float]:
    """Arguments for n per group and a difference of d standard deviations."""
    return {"df": 2 * n - 2, "se": math.sqrt(2 / n), "effect": d}


def test_examples_of_r() -> None:
    r = SIZES["r_examples"]
    paired = {"df": 9, "se": 10**-0.5, "effect": 1.0}
    assert float(one_sided_chance(**two_groups(20, 1), level=0.025)) == pytest.approx(
        r["two_groups_n20_d1"], rel=1e-9
    )
    assert float(one_sided_chance(**paired, level=0.025)) == pytest.approx(r["paired_n10_d1"], rel=1e-9)
    assert float(difference_chance(**two_groups(5, 0.3), level=0.05)) == pytest.approx(
        r["two_groups_strict_n5_d03"], rel=1e-9
    )


@pytest.mark.parametrize(
    ("name", "chance", "wanted"),
    [
        ("two_groups_power90_d1", lambda n: one_sided_chance(**two_groups(n, 1), level=0.025), 0.9),
        ("two_groups_power90_d1_one_sided", lambda n: one_sided_chance(**two_groups(n, 1), level=0.05), 0.9),
        (
            "paired_power80_d05",
            lambda n: one_sided_chance(df=n - 1, se=n**-0.5, effect=0.5, level=0.025),
            0.8,
        ),
    ],
)
def test_sizes_of_r(name: str, chance: Callable[[float], float], wanted: float) -> None:
    # R stops its root finder at 1e-4 or so.
    assert real_size(chance, wanted) == pytest.approx(SIZES["r_examples"][name], abs=1e-3)


@pytest.mark.parametrize("case", SIZES["cohen_1992"]["cases"])
def test_cohen(case: dict[str, float]) -> None:
    level = case["alpha"]
    size = real_size(lambda n: float(difference_chance(**two_groups(n, case["d"]), level=level)), 0.8)
    assert size == pytest.approx(case["exact"], abs=2e-3)
    assert round(size) == case["printed"]
    whole = smallest_blocks(
        lambda n: (2.0 * n - 2, np.sqrt(2 / n)),
        lambda df, se: difference_chance(df=df, se=se, effect=case["d"], level=level),
        wanted=0.8,
        least=2,
    )
    assert whole == math.ceil(size)


def test_documented_equivalence() -> None:
    documented = SIZES["equivalence_documented"]
    se = math.sqrt(math.log(1 + 0.3**2) * 2 / 40)
    crossover = alike_chance(df=38, se=se, effect=math.log(0.95), margin=math.log(1.25), level=0.05)
    assert float(crossover) == pytest.approx(documented["crossover"], abs=5e-7)
    parallel = alike_chance(df=46, se=0.2 * math.sqrt(4 / 48), effect=-0.05, margin=0.2, level=0.05)
    assert float(parallel) == pytest.approx(documented["parallel"], abs=5e-7)


def even_size(spread: float, effect: float, *, margin: float, wanted: float) -> int | None:
    """Subjects of a crossover trial, an even number of at least four."""
    half = smallest_blocks(
        lambda n: (2.0 * n - 2, spread * np.sqrt(1 / n)),
        lambda df, se: alike_chance(df=df, se=se, effect=effect, margin=margin, level=0.05),
        wanted=wanted,
        least=2,
    )
    return None if half is None else 2 * half


@pytest.mark.parametrize("row", SIZES["equivalence_sizes"]["rows"])
def test_equivalence_sizes(row: dict[str, float]) -> None:
    spread = math.sqrt(math.log(1 + row["CV"] ** 2))
    ratios = {name: float(name[1:]) for name in row if name.startswith("R")}
    assert len(ratios) == 8
    margin = math.log(1.25)
    found = {
        name: even_size(spread, math.log(ratio), margin=margin, wanted=row["power"])
        for name, ratio in ratios.items()
    }
    assert found == {name: row[name] for name in ratios}


@pytest.mark.parametrize("row", SIZES["equivalence_sizes_additive"]["rows"])
def test_additive_equivalence_sizes(row: dict[str, float]) -> None:
    shifts = {name: float(name[1:]) for name in row if name.startswith("d")}
    assert len(shifts) == 4
    found = {
        name: even_size(row["CV"], shift, margin=0.2, wanted=row["power"]) for name, shift in shifts.items()
    }
    assert found == {name: row[name] for name in shifts}


@given(st.floats(1, 3000), st.floats(-6, 6), st.floats(0.001, 0.4))
def test_difference_is_the_noncentral_t(df: float, d: float, level: float) -> None:
    point = stats.t.isf(level / 2, df)
    expected = stats.nct.sf(point, df, d) + stats.nct.cdf(-point, df, d)
    assert float(difference_chance(df=df, se=1, effect=d, level=level)) == pytest.approx(expected, abs=1e-7)


def test_simulated_studies_agree() -> None:
    """Means of the actual decisions; five standard errors. A swap of the two t points shows here."""
    rng = np.random.default_rng(12)
    n, df, se, effect, margin, level = 200_000, 5, 0.04, 0.02, 0.15, 0.05
    estimate = effect + se * rng.standard_normal(n)
    error = se * np.sqrt(rng.chisquare(df, n) / df)
    two, one = stats.t.isf(level / 2, df), stats.t.isf(level, df)
    claimed = {
        "difference": np.abs(estimate) > two * error,
        "alike": np.abs(estimate) + one * error < margin,
    }
    given_ = {"df": df, "se": se, "effect": effect, "level": level}
    expected = {"difference": difference_chance(**given_), "alike": alike_chance(**given_, margin=margin)}
    for name, chance in expected.items():
        assert abs(claimed[name].mean() - chance) < 5 * math.sqrt(chance * (1 - chance) / n), name


@given(st.floats(1, 1e5), st.floats(0.0005, 0.2))
def test_without_effect_the_chance_is_the_level(df: float, level: float) -> None:
    assert float(difference_chance(df=df, se=2.0, effect=0.0, level=level)) == pytest.approx(level, abs=1e-11)
    assert float(one_sided_chance(df=df, se=2.0, effect=0.0, level=level)) == pytest.approx(level, abs=1e-11)


@given(st.floats(1, 200), st.floats(0.1, 3), st.floats(0.001, 0.2))
def test_at_the_margin_the_chance_is_at_most_the_level(df: float, se: float, level: float) -> None:
    at = alike_chance(df=df, se=se, effect=1.0, margin=1.0, level=level)
    assert 0 <= float(at) <= level + 1e-11


@given(st.floats(1, 200), st.floats(0, 4), st.floats(0.2, 5), st.floats(1e-3, 1e3))
def test_sign_and_unit_do_not_matter(df: float, effect: float, margin: float, unit: float) -> None:
    plain = alike_chance(df=df, se=1.0, effect=effect, margin=margin, level=0.05)
    moved = alike_chance(df=df, se=unit, effect=-unit * effect, margin=unit * margin, level=0.05)
    assert float(moved) == pytest.approx(float(plain), abs=1e-11)
    plain = difference_chance(df=df, se=1.0, effect=effect, level=0.05)
    moved = difference_chance(df=df, se=unit, effect=-unit * effect, level=0.05)
    assert float(moved) == pytest.approx(float(plain), abs=1e-11)


def test_more_of_everything_helps() -> None:
    effect = np.linspace(0, 6, 61)
    assert np.all(np.diff(difference_chance(df=7, se=1, effect=effect, level=0.05)) > 0)
    assert np.all(np.diff(alike_chance(df=7, se=1, effect=effect, margin=4, level=0.05)) < 0)
    df = np.arange(1, 60)
    assert np.all(np.diff(difference_chance(df=df, se=1, effect=2, level=0.05)) > 0)
    assert np.all(np.diff(alike_chance(df=df, se=1, effect=0.5, margin=3, level=0.05)) > 0)


def test_large_df_approach_the_normal() -> None:
    point = stats.norm.isf(0.025)
    expected = stats.norm.sf(point - 2) + stats.norm.cdf(-point - 2)
    errors = [
        abs(float(difference_chance(df=df, se=1, effect=2, level=0.05)) - expected) for df in (1e2, 1e4, 1e6)
    ]
    assert errors[0] > 50 * errors[1] > 2500 * errors[2]


def test_extremes() -> None:
    assert float(difference_chance(df=4, se=1e-9, effect=1.0, level=0.05)) == pytest.approx(1.0, abs=1e-12)
    assert float(alike_chance(df=4, se=1e-9, effect=0.0, margin=1.0, level=0.05)) == pytest.approx(
        1.0, abs=1e-12
    )
    assert float(alike_chance(df=4, se=1e9, effect=0.0, margin=1.0, level=0.05)) < 1e-12
    assert float(alike_chance(df=4, se=1.0, effect=0.0, margin=0.0, level=0.05)) == 0.0
    assert np.isnan(difference_chance(df=[0, -1, np.nan, 3], se=[1, 1, 1, 0], effect=1.0, level=0.05)).all()


@pytest.mark.parametrize("level", [0.0, 1.0, -0.1, np.nan])
def test_levels_out_of_range_are_refused(level: float) -> None:
    with pytest.raises(ValueError, match="level"):
        difference_chance(df=5, se=1, effect=1, level=level)
    with pytest.raises(ValueError, match="level"):
        alike_chance(df=5, se=1, effect=1, margin=1, level=level / 2)


def test_batches_are_single_calls_side_by_side() -> None:
    rng = np.random.default_rng(3)
    df, effect = rng.uniform(1, 40, (3, 1)), rng.uniform(0, 4, 5)
    found = alike_chance(df=df, se=1, effect=effect, margin=3, level=0.05)
    assert found.shape == (3, 5)
    for i in range(3):
        for j in range(5):
            alone = alike_chance(df=df[i, 0], se=1, effect=effect[j], margin=3, level=0.05)
            assert found[i, j] == pytest.approx(float(alone), abs=1e-14)


@pytest.mark.parametrize("answer", [1, 2, 3, 32, 33, 34, 312, 313, 5000, 9998, 9999])
def test_the_search_finds_any_number(answer: int) -> None:
    found = smallest_blocks(lambda n: (n * 1.0, n * 1.0), lambda n, _: (n >= answer) * 1.0, wanted=0.8)
    assert found == answer


def test_beyond_the_search_there_is_no_number() -> None:
    assert smallest_blocks(lambda n: (n * 1.0, n * 1.0), lambda n, _: (n > 9999) * 1.0, wanted=0.8) is None


def test_no_degree_of_freedom_is_no_chance() -> None:
    """With one pair nothing can be said; NaN there does not stop the search."""
    found = smallest_blocks(
        lambda n: (n - 1.0, 0.001 / np.sqrt(n)),
        lambda df, se: difference_chance(df=df, se=se, effect=1.0, level=0.05),
        wanted=0.8,
    )
    assert found == 2
