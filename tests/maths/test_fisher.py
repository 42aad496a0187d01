"""Fisher's exact test against scipy, a classic and laws."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from evenglide.maths import fisher
from evenglide.maths.fisher import fisher_exact_p

COUNT = st.integers(0, 40)


def test_tea() -> None:
    """Fisher (1935): eight cups, three of four named right; 17 of 70 orders are as good or better."""
    assert fisher_exact_p((3, 1), (1, 3)) == pytest.approx(34 / 70, rel=1e-15)
    assert fisher_exact_p((4, 0), (0, 4)) == pytest.approx(2 / 70, rel=1e-15)


@given(COUNT, COUNT, COUNT, COUNT)
def test_same_as_scipy(a: int, b: int, c: int, d: int) -> None:
    expected = stats.fisher_exact([[a, b], [c, d]]).pvalue
    assert fisher_exact_p((a, b), (c, d)) == pytest.approx(expected, rel=1e-10)


@pytest.mark.parametrize("table", [((30, 470), (55, 445)), ((2, 998), (11, 4989)), ((700, 9), (400, 31))])
def test_large_tables(table: tuple[tuple[int, int], tuple[int, int]]) -> None:
    assert fisher_exact_p(*table) == pytest.approx(stats.fisher_exact(np.array(table)).pvalue, rel=1e-9)


@given(COUNT, COUNT, COUNT, COUNT)
def test_both_routes_agree(a: int, b: int, c: int, d: int) -> None:
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(fisher, "EXACT_LIMIT", -1)
        by_logarithms = fisher_exact_p((a, b), (c, d))
    assert by_logarithms == pytest.approx(fisher_exact_p((a, b), (c, d)), rel=1e-9)


def test_very_large_table() -> None:
    table = ((600, 59_400), (480, 59_520))
    assert fisher_exact_p(*table) == pytest.approx(stats.fisher_exact(np.array(table)).pvalue, rel=1e-6)


@given(COUNT, COUNT, COUNT, COUNT)
def test_turning_the_table_changes_nothing(a: int, b: int, c: int, d: int) -> None:
    p = fisher_exact_p((a, b), (c, d))
    assert 0 < p <= 1
    assert (
        p
        == fisher_exact_p((c, d), (a, b))
        == fisher_exact_p((b, a), (d, c))
        == fisher_exact_p((a, c), (b, d))
    )


@pytest.mark.parametrize("table", [((0, 0), (3, 4)), ((0, 5), (0, 7)), ((0, 0), (0, 0)), ((2, 2), (3, 3))])
def test_nothing_to_see(table: tuple[tuple[int, int], tuple[int, int]]) -> None:
    assert fisher_exact_p(*table) == 1.0


def test_negative_counts_are_refused() -> None:
    with pytest.raises(ValueError, match="below zero"):
        fisher_exact_p((1, -1), (2, 2))
