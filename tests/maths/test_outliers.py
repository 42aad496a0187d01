"""Generalised extreme deviates against printed examples, a plain recomputation and laws."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from evenglide.maths.outliers import critical_deviates, extreme_deviates

CASES = json.loads((Path(__file__).parents[1] / "reference" / "maths" / "outliers.json").read_text("utf-8"))
ONE_IN_THE_THIRD_DECIMAL = 0.001


def plainly(values: np.ndarray, level: float, most: int) -> list[int]:
    """The published recipe step by step: mean and deviation anew from what is left."""
    left = list(range(len(values)))
    taken, count = [], 0
    for step in range(1, most + 1):
        x = values[left]
        far = int(np.argmax(np.abs(x - x.mean())))
        deviate = abs(x[far] - x.mean()) / x.std(ddof=1)
        n = len(values)
        t = stats.t.ppf(1 - level / (2 * (n - step + 1)), n - step - 1)
        taken.append(left.pop(far))
        if deviate > (n - step) * t / np.sqrt((n - step - 1 + t * t) * (n - step + 1)):
            count = step
    return taken[:count]


def test_rosner_finds_three_hidden_behind_each_other() -> None:
    case = CASES["rosner"]
    found = extreme_deviates(np.array(case["values"]), level=case["level"], most=10)
    assert list(found.outliers) == [53, 52, 51]
    assert len(found.outliers) == case["outliers"]
    # Printed values are cut, not rounded.
    for computed, printed in ((found.deviates, case["deviates"]), (found.critical, case["critical"])):
        assert np.all((computed >= printed) & (computed - printed < ONE_IN_THE_THIRD_DECIMAL))


def test_one_step_is_the_test_of_grubbs() -> None:
    case = CASES["grubbs"]
    found = extreme_deviates(np.array(case["values"]), level=0.1, most=1)
    assert list(found.outliers) == [7]
    assert found.deviates[0] == pytest.approx(case["deviate"], abs=5e-5)
    assert found.critical[0] == pytest.approx(case["one_sided_critical"], abs=5e-4)


def test_points_of_grubbs() -> None:
    """Two-sided at twice the level, the first critical deviate is the one-sided point."""
    case = CASES["grubbs_points"]
    found = [critical_deviates(n, level=0.1, steps=1)[0] for n in case["n"]]
    np.testing.assert_allclose(found, case["critical"], atol=ONE_IN_THE_THIRD_DECIMAL)


@given(st.integers(0, 10_000), st.integers(3, 60), st.integers(0, 6), st.sampled_from([0.01, 0.05, 0.2]))
def test_same_as_the_plain_recipe(seed: int, n: int, wild: int, level: float) -> None:
    rng = np.random.default_rng(seed)
    values = rng.standard_normal(n)
    values[rng.permutation(n)[: min(wild, n)]] *= 6
    most = min(max(1, n // 5), (n - 1) // 2)
    assert list(extreme_deviates(values, level=level, most=most).outliers) == plainly(values, level, most)


@given(st.integers(0, 500), st.floats(-1e6, 1e6), st.floats(1e-3, 1e3))
def test_shift_scale_and_mirror_change_nothing(seed: int, shift: float, scale: float) -> None:
    values = np.random.default_rng(seed).standard_t(2, 40)
    expected = extreme_deviates(values, level=0.05, most=4)
    for moved in (shift + scale * values, shift - scale * values):
        found = extreme_deviates(moved, level=0.05, most=4)
        np.testing.assert_array_equal(found.positions, expected.positions)
        np.testing.assert_allclose(found.deviates, expected.deviates, rtol=1e-5)


def test_a_wild_value_does_not_spoil_the_rest() -> None:
    values = np.append(np.random.default_rng(1).standard_normal(50), 1e12)
    found = extreme_deviates(values, level=0.05, most=3)
    alone = extreme_deviates(values[:50], level=0.05, most=2)
    assert list(found.outliers) == [50]
    np.testing.assert_allclose(found.deviates[1:], alone.deviates, rtol=1e-12)


@pytest.mark.parametrize("values", [[], [1.0], [1.0, 9.0], [2.0] * 30, [0.3] * 29 + [0.1 + 0.2]])
def test_nothing_to_compare(values: list[float]) -> None:
    found = extreme_deviates(np.array(values), level=0.05, most=3)
    assert len(found.outliers) == len(found.positions) == 0


def test_no_step_no_outlier() -> None:
    assert len(extreme_deviates(np.array([1.0, 1.1, 0.9, 50.0, 1.0]), level=0.05, most=0).outliers) == 0


def test_level_is_held() -> None:
    """Of 2,000 normal samples of 30 about 5 % show any outlier (standard error 0.5 %)."""
    rng = np.random.default_rng(5)
    share = np.mean(
        [len(extreme_deviates(rng.standard_normal(30), level=0.05, most=3).outliers) > 0 for _ in range(2000)]
    )
    assert 0.035 < share < 0.065
