"""Bounds of looks against published constants, an independent integration and laws."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import special

from evenglide.maths.crossing import classical_constant, crossing_chances, spending_bounds
from evenglide.maths.spending import Sides, spent

VALUES = json.loads(
    (Path(__file__).parents[1] / "reference" / "maths" / "group_sequential.json").read_text("utf-8")
)
FIVE = [0.2, 0.4, 0.6, 0.8, 1.0]
FRACTIONS = st.lists(st.integers(1, 30), min_size=1, max_size=5, unique=True).map(
    lambda found: [one / max(found) for one in sorted(found)]
)


def equal(looks: int) -> list[float]:
    return [look / looks for look in range(1, looks + 1)]


@pytest.mark.parametrize("case", VALUES["classical"], ids=lambda case: f"{case['level']}-{case['looks']}")
def test_classical_constants(case: dict[str, float]) -> None:
    looks = int(case["looks"])
    assert classical_constant(case["level"], looks, kind="pocock") == pytest.approx(case["pocock"], abs=5e-9)
    found = classical_constant(case["level"], looks, kind="obrien-fleming")
    assert found == pytest.approx(case["obrien_fleming"], abs=5e-9)


@pytest.mark.parametrize("looks", [2, 3, 4, 5])
def test_printed_constants(looks: int) -> None:
    """Jennison & Turnbull (2000) Tables 2.1 and 2.3, three decimals (recalled from memory)."""
    printed = VALUES["printed"]
    found = classical_constant(0.05, looks, kind="pocock")
    assert round(found, 3) == printed["pocock"][str(looks)]
    found = classical_constant(0.05, looks, kind="obrien-fleming")
    assert round(found, 3) == printed["obrien_fleming"][str(looks)]


@pytest.mark.parametrize("case", VALUES["spending"], ids=lambda case: str(case["looks"]))
def test_spending_bounds(case: dict[str, list[float]]) -> None:
    fractions = equal(int(case["looks"]))  # type: ignore[call-overload]
    early = spending_bounds(0.025, fractions, sides=1)
    np.testing.assert_allclose(early, case["obrien_fleming"], atol=1e-7)
    np.testing.assert_allclose(
        spending_bounds(0.025, fractions, sides=1, kind="pocock"), case["pocock"], atol=1e-7
    )


def test_the_two_sided_form_is_no_one_sided_one_at_the_whole_level() -> None:
    """The classic mix-up: both looks of it differ in the first digits."""
    right = next(case for case in VALUES["spending"] if case["looks"] == 5)["obrien_fleming"]
    np.testing.assert_allclose(spending_bounds(0.05, FIVE, sides=2), right, atol=3e-8)
    wrong = 2 * special.ndtr(special.ndtri(0.025) / np.sqrt(FIVE))
    bounds = -special.ndtri(wrong[0] / 2)
    assert bounds == pytest.approx(VALUES["wrong_formula"]["bounds"][0], abs=5e-3)
    assert spent(0.05, FIVE[0], sides=2) < wrong[0] / 5


def test_two_sides_at_a_level_are_not_quite_one_side_at_half_of_it() -> None:
    """Who crosses one bound may later cross the other: Pocock, five looks, 2.413176 against 2.413180."""
    two = classical_constant(0.05, 5, kind="pocock")
    one = crossing_chances([two] * 5, FIVE, sides=1).sum()
    assert 0.025 < one < 0.025 + 1e-6
    assert abs(two - 2.413176) < 1e-6


@pytest.mark.parametrize("sides", [1, 2])
def test_crossing_chances_against_an_independent_normal_integral(sides: Sides) -> None:
    """Three looks by the multivariate normal distribution of scipy."""
    from scipy.stats import multivariate_normal

    fractions, bounds = np.array([0.3, 0.7, 1.0]), np.array([2.6, 2.3, 2.0])
    cov = np.sqrt(np.minimum.outer(fractions, fractions) / np.maximum.outer(fractions, fractions))
    low = -bounds if sides == 2 else np.full(3, -40.0)
    inside = multivariate_normal(cov=cov, seed=1).cdf(bounds, lower_limit=low)
    found = crossing_chances(bounds, fractions.tolist(), sides=sides).sum()
    assert found == pytest.approx(1 - inside, abs=2e-5)


@settings(max_examples=25)
@given(FRACTIONS, st.floats(1e-7, 0.4), st.sampled_from([1, 2]))
def test_bounds_spend_what_they_should(fractions: list[float], level: float, sides: Sides) -> None:
    bounds = spending_bounds(level, fractions, sides=sides)
    chances = crossing_chances(bounds, fractions, sides=sides)
    np.testing.assert_allclose(
        np.cumsum(chances), spent(level, np.array(fractions), sides=sides), rtol=1e-9, atol=1e-16
    )


@settings(max_examples=20)
@given(st.integers(2, 8), st.floats(1e-7, 0.15), st.sampled_from([1, 2]))
def test_bounds_fall_over_equal_steps(looks: int, level: float, sides: Sides) -> None:
    assert np.all(np.diff(spending_bounds(level, equal(looks), sides=sides)) < 0)


def test_one_look_is_the_usual_point() -> None:
    assert spending_bounds(0.05, [1.0], sides=2)[0] == pytest.approx(1.959963984540054, rel=1e-14)
    assert spending_bounds(0.05, [1.0], sides=1)[0] == pytest.approx(1.6448536269514722, rel=1e-14)


@pytest.mark.parametrize("fractions", [[0.5], [0.5, 0.5, 1.0], [0.0, 1.0], [0.6, 0.4, 1.0], [0.5, 1.1], []])
def test_looks_must_rise_to_the_end(fractions: list[float]) -> None:
    with pytest.raises(ValueError, match="rise from above 0 to 1"):
        crossing_chances([2.0] * max(1, len(fractions)), fractions, sides=2)


def test_ending_early_spends_what_is_left() -> None:
    """Where the data end at 0.8, the earlier bound stays and the last one spends the whole level."""
    planned = spending_bounds(0.05, [0.5, 1.0], sides=2)
    short = spending_bounds(0.05, [0.5, 1.0], sides=2, information=[0.5, 0.8])
    assert short[0] == planned[0] and short[1] < planned[1]
    total = crossing_chances(short, [0.625, 1.0], sides=2).sum()
    assert total == pytest.approx(0.05, abs=1e-10)
