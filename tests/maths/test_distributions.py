"""Tails of t and F against 60-digit arithmetic, exact cases and laws."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from evenglide.maths.distributions import f_survival, t_survival, t_upper, two_sided_p

TABLE = json.loads((Path(__file__).parents[1] / "reference" / "maths" / "tails.json").read_text("utf-8"))
TWELVE_DIGITS = 1e-12

DF = st.floats(0.5, 1e6)
T = st.floats(-50, 50)


def column(rows: str, name: str) -> np.ndarray:
    """One column of the reference table; the doubles nearest to its 25 digits."""
    return np.array([float(row[name]) for row in TABLE[rows]])


def test_t_points_keep_twelve_digits() -> None:
    found = t_upper(column("t", "tail"), column("t", "df"))
    points = column("t", "t")
    # Near the centre a point moves by half a rounding of 1/2 whatever the route: 1e-16 absolute.
    assert np.all(np.abs(found - points) <= TWELVE_DIGITS * points + 2e-16)


def test_t_tails_keep_twelve_digits() -> None:
    found = t_survival(column("t", "t"), column("t", "df"))
    np.testing.assert_allclose(found, column("t", "tail"), rtol=TWELVE_DIGITS)


def test_f_tails_keep_twelve_digits() -> None:
    found = f_survival(column("f", "f"), column("f", "df1"), column("f", "df2"))
    np.testing.assert_allclose(found, column("f", "survival"), rtol=TWELVE_DIGITS)


def test_one_and_two_degrees_of_freedom_have_closed_forms() -> None:
    t = np.array([1e-9, 1e-6, 1e-3, 0.3, 1.0, 4.0, 1e6])
    np.testing.assert_allclose(t_survival(t, 1), np.arctan2(1, t) / np.pi, rtol=1e-15)
    # 1/2 - t / (2 sqrt(2 + t^2)), written without cancellation
    root = np.sqrt(2 + t**2)
    np.testing.assert_allclose(t_survival(t, 2), 1 / (root * (root + t)), rtol=1e-14)


@pytest.mark.parametrize(
    ("df", "two_sided"),
    # Student's table as printed in the NIST/SEMATECH handbook, 1.3.6.7.2 (digits from memory)
    [(1, 12.706), (2, 4.303), (5, 2.571), (10, 2.228), (30, 2.042), (100, 1.984)],
)
def test_printed_five_percent_points(df: int, two_sided: float) -> None:
    assert float(t_upper(0.025, df)) == pytest.approx(two_sided, abs=5.1e-4)


@pytest.mark.parametrize("df", [0.0, -1.0, np.nan])
def test_no_degrees_of_freedom_gives_nan(df: float) -> None:
    assert np.isnan(t_survival(1.0, df))
    assert np.isnan(two_sided_p(1.0, df))
    assert np.isnan(t_upper(0.05, df))
    assert np.isnan(f_survival(1.0, df, 5))
    assert np.isnan(f_survival(1.0, 2, df))


def test_edges() -> None:
    np.testing.assert_array_equal(t_survival([np.inf, -np.inf, 0.0, np.nan], 5), [0, 1, 0.5, np.nan])
    np.testing.assert_array_equal(
        t_upper([0.0, 0.5, 1.0, -0.1, 1.1], 5), [np.inf, 0, -np.inf, np.nan, np.nan]
    )
    np.testing.assert_array_equal(f_survival([0.0, np.inf, -1.0, np.nan], 2, 5), [1, 0, np.nan, np.nan])
    assert float(f_survival(3.841458820694124, 1, np.inf)) == pytest.approx(0.05, rel=1e-14)
    assert float(t_upper(0.025, np.inf)) == pytest.approx(1.959963984540054, rel=1e-15)


@given(T, DF)
def test_tails_of_both_sides_make_one(t: float, df: float) -> None:
    assert float(t_survival(t, df) + t_survival(-t, df)) == pytest.approx(1.0, abs=1e-15)
    assert float(two_sided_p(t, df)) == float(two_sided_p(-t, df)) <= 1.0


@given(T, DF)
def test_square_of_t_is_f(t: float, df: float) -> None:
    assert float(f_survival(t * t, 1, df)) == pytest.approx(float(two_sided_p(t, df)), rel=1e-11)


@given(st.floats(1e-12, 1 - 1e-6), DF)
def test_point_and_tail_undo_each_other(tail: float, df: float) -> None:
    assert float(t_survival(t_upper(tail, df), df)) == pytest.approx(tail, rel=1e-10)


@given(st.floats(0, 40), st.floats(0.01, 3), DF)
def test_tail_falls_with_t_and_point_falls_with_tail(t: float, step: float, df: float) -> None:
    assert float(t_survival(t + step, df)) <= float(t_survival(t, df))
    assert float(t_upper(0.01, df)) > float(t_upper(0.05, df)) > 0


def test_arguments_broadcast() -> None:
    assert t_survival(np.zeros((3, 1)), np.ones(4)).shape == (3, 4)
    assert t_upper(np.full((3, 1), 0.1), np.ones(4)).shape == (3, 4)
    assert f_survival(np.ones((3, 1)), 2, np.ones(4)).shape == (3, 4)
