"""Adjusted probabilities against published families, an independent definition and laws."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from evenglide.maths.multiplicity import bonferroni, holm, rank_from_smallest

FAMILIES = json.loads(
    (Path(__file__).parents[1] / "reference" / "maths" / "multiplicity.json").read_text("utf-8")
)
P = st.lists(st.floats(0, 1) | st.sampled_from([0.01, 0.05]), min_size=1, max_size=12)


def holm_by_closing(p: list[float]) -> list[float]:
    """Largest Bonferroni probability over all subfamilies that hold the hypothesis (closed testing)."""
    m = len(p)
    subsets = [[i for i in range(m) if mask >> i & 1] for mask in range(1, 2**m)]
    return [max(min(1.0, len(s) * min(p[j] for j in s)) for s in subsets if i in s) for i in range(m)]


@pytest.mark.parametrize("name", FAMILIES)
def test_published_families(name: str) -> None:
    family = FAMILIES[name]
    np.testing.assert_allclose(holm(family["p"]), family["holm"], rtol=1e-14)
    np.testing.assert_allclose(bonferroni(family["p"]), family["bonferroni"], rtol=1e-14)


def test_published_number_of_rejections() -> None:
    family = FAMILIES["benjamini_hochberg_1995"]
    assert np.sum(holm(family["p"]) <= 0.05) == family["rejected_at_5_percent"]
    assert np.sum(bonferroni(family["p"]) <= 0.05) == family["rejected_at_5_percent"]


@given(st.lists(st.floats(0, 1) | st.sampled_from([0.01, 0.05]), min_size=1, max_size=6))
def test_holm_is_the_closed_bonferroni_test(p: list[float]) -> None:
    np.testing.assert_allclose(holm(p), holm_by_closing(p), rtol=1e-15)


@given(P)
def test_adjusted_lies_between_p_and_bonferroni(p: list[float]) -> None:
    adjusted = holm(p)
    assert np.all(adjusted >= p)
    assert np.all(adjusted <= bonferroni(p))
    assert np.all(bonferroni(p) <= 1)


@given(P, st.randoms(use_true_random=False))
def test_order_of_the_family_does_not_matter(p: list[float], random: object) -> None:
    order = list(range(len(p)))
    random.shuffle(order)  # type: ignore[attr-defined]
    values = np.array(p)
    np.testing.assert_array_equal(holm(values[order]), holm(values)[order])
    np.testing.assert_array_equal(rank_from_smallest(values[order]), rank_from_smallest(values)[order])


@given(P, st.integers(0, 11), st.floats(0, 1))
def test_a_smaller_p_makes_no_adjusted_p_larger(p: list[float], at: int, factor: float) -> None:
    smaller = list(p)
    smaller[at % len(p)] *= factor
    assert np.all(holm(smaller) <= holm(p))


@given(P)
def test_adjusting_keeps_the_order_and_ties(p: list[float]) -> None:
    adjusted, values = holm(p), np.array(p)
    for i in range(len(p)):
        assert np.all(adjusted[values >= values[i]] >= adjusted[i])


def test_an_unanswered_question_counts_and_stays_nan() -> None:
    np.testing.assert_array_equal(holm([0.02, np.nan, 0.03]), [0.06, np.nan, 0.06])
    np.testing.assert_array_equal(bonferroni([0.02, np.nan]), [0.04, np.nan])
    np.testing.assert_array_equal(rank_from_smallest([0.2, np.nan, 1.0]), [1, 2, 2])


def test_families_lie_along_the_last_axis() -> None:
    p = np.random.default_rng(7).random((3, 2, 5))
    rows = p.reshape(-1, 5)
    np.testing.assert_array_equal(holm(p).reshape(-1, 5), [holm(row) for row in rows])
    np.testing.assert_array_equal(
        rank_from_smallest(p).reshape(-1, 5), [rank_from_smallest(row) for row in rows]
    )


def test_the_argument_is_left_alone() -> None:
    p = np.array([0.3, np.nan, 0.1])
    holm(p)
    np.testing.assert_array_equal(p, [0.3, np.nan, 0.1])
