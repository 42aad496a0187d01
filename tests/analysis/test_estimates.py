"""The primary test and its companions against dense least squares and textbook forms."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from evenglide.analysis.estimates import own_pair_test
from evenglide.errors import TableError
from tests.tables import case_of, paired, rows

TWELVE_DIGITS = 1e-12
NINE_DIGITS = 1e-9


def dense_fit(columns: list[np.ndarray], y: np.ndarray, c: np.ndarray) -> tuple[float, float, int]:
    """Estimate, standard error and df of c'b by dense least squares; columns first, then the contrast."""
    x = np.column_stack(columns)
    b, *_ = np.linalg.lstsq(x, y, rcond=None)
    df = len(y) - np.linalg.matrix_rank(x)
    variance = ((y - x @ b) ** 2).sum() / df
    return float(c @ b), float(np.sqrt(variance * (c @ np.linalg.pinv(x.T @ x) @ c))), int(df)


def dummies(codes: list[int], drop_first: bool) -> np.ndarray:
    levels = sorted(set(codes))[1 if drop_first else 0 :]
    return np.array([[float(code == level) for level in levels] for code in codes])


@given(
    seed=st.integers(0, 10_000),
    treatments=st.integers(2, 4),
    blocks=st.integers(2, 6),
    items=st.integers(1, 3),
)
def test_means_test_is_dense_least_squares(seed: int, treatments: int, blocks: int, items: int) -> None:
    rng = np.random.default_rng(seed)
    n = blocks * treatments * 2
    block = np.repeat(np.arange(blocks), treatments * 2)
    treatment = np.tile(np.arange(treatments), blocks * 2)
    item = rng.integers(0, items, n)
    y = rng.normal(size=n)
    case = case_of(
        {
            "response": y.tolist(),
            "treatment": [f"t{k}" for k in treatment],
            "block": [f"b{k}" for k in block],
            "item": [f"i{k}" for k in item],
        }
    )
    columns = [dummies(block.tolist(), False), dummies(treatment.tolist(), True)]
    if case.units.item is not None:
        columns.append(dummies(item.tolist(), True))
    assert (case.units.item is not None) == (len(set(item.tolist())) > 1 and not case.units.item_is_unit)
    c = np.zeros(sum(column.shape[1] for column in columns))
    c[blocks] = 1
    estimate, se, df = dense_fit(columns, y, c)
    found = case.test.contrast(1)
    assert found.df == df
    assert found.estimate == pytest.approx(estimate, rel=NINE_DIGITS, abs=TWELVE_DIGITS)
    assert found.se == pytest.approx(se, rel=NINE_DIGITS)


def test_pairs_without_items_are_the_paired_t_test() -> None:
    rng = np.random.default_rng(5)
    a, b = rng.normal(size=8), rng.normal(size=8)
    case = case_of(
        rows(
            "response treatment block",
            [*((x, "a", i) for i, x in enumerate(a)), *((x, "b", i) for i, x in enumerate(b))],
        )
    )
    expected = stats.ttest_rel(b, a)
    found = case.test.contrast(1)
    assert found.estimate is not None and found.se is not None
    assert found.estimate / found.se == pytest.approx(expected.statistic, rel=NINE_DIGITS)
    assert own_pair_test(case.units, 1).se == pytest.approx(found.se, rel=NINE_DIGITS)


def test_own_pair_without_blocks_is_welch() -> None:
    rng = np.random.default_rng(6)
    a, b = rng.normal(size=5), rng.normal(0, 4, size=9)
    case = case_of(rows("response treatment", [*((x, "a") for x in a), *((x, "b") for x in b)]))
    expected = stats.ttest_ind(b, a, equal_var=False)
    found = own_pair_test(case.units, 1)
    assert found.estimate is not None and found.se is not None
    assert found.estimate / found.se == pytest.approx(expected.statistic, rel=NINE_DIGITS)
    assert found.df == pytest.approx(expected.df, rel=NINE_DIGITS)


def test_own_pair_in_larger_blocks_by_hand() -> None:
    lines = [
        ("a", 0, 1.0), ("a", 0, 3.0), ("b", 0, 5.0), ("b", 0, 6.0), ("b", 0, 10.0),
        ("a", 1, 2.0), ("b", 1, 4.0), ("c", 1, 9.0),
    ]  # fmt: skip
    case = case_of(rows("response treatment block", [(y, t, b) for t, b, y in lines]))
    weight = np.array([2 * 3 / 5, 1 * 1 / 2])
    difference = np.array([7.0 - 2.0, 4.0 - 2.0])
    found = own_pair_test(case.units, 1)
    assert found.estimate == pytest.approx((weight * difference).sum() / weight.sum(), rel=TWELVE_DIGITS)
    part_a = 2.0 * (weight[0] ** 2 / 2 + weight[1] ** 2 / 1) / weight.sum() ** 2  # s1^2 = 2 on 1 df
    part_b = 7.0 * (weight[0] ** 2 / 3 + weight[1] ** 2 / 1) / weight.sum() ** 2  # s0^2 = 14 on 2 df
    assert found.se == pytest.approx(np.sqrt(part_a + part_b), rel=TWELVE_DIGITS)
    assert found.df == pytest.approx(
        (part_a + part_b) ** 2 / (part_a**2 / 1 + part_b**2 / 2), rel=TWELVE_DIGITS
    )


def test_own_pair_falls_back_on_block_differences() -> None:
    lines = [("a", b, float(b), "x") for b in range(4)] + [
        ("b", b, float(b * b + k), "x") for b in range(4) for k in (0, 1)
    ]
    case = case_of(rows("response treatment block", [(y, t, b) for t, b, y, _ in lines]))
    differences = np.array([b * b + 0.5 - b for b in range(4)])
    found = own_pair_test(case.units, 1)
    assert found.df == 3
    assert found.se == pytest.approx(differences.std(ddof=1) / 2, rel=TWELVE_DIGITS)


def test_own_pair_with_items_outside_pairs_is_refused() -> None:
    rng = np.random.default_rng(3)
    lines = [(rng.normal(), "ab"[k % 2], b, f"i{(k // 2 + b) % 2}") for b in range(3) for k in range(4)]
    case = case_of(rows("response treatment block item", lines))
    assert case.units.item is not None
    assert own_pair_test(case.units, 1).missing == "items-outside-pairs"


def test_duplicate_launches_add_no_degrees_of_freedom() -> None:
    once = paired(6, 2)
    twice = {name: column * 2 for name, column in once.items()}
    twice["order"] = list(range(len(twice["order"])))
    first, second = (case_of(t, scale="ratio").test.contrast(1) for t in (once, twice))
    assert first.df == second.df == 4
    assert first.se == pytest.approx(second.se, rel=NINE_DIGITS)


def test_items_that_keep_their_treatment_are_the_units() -> None:
    lines = [
        (10 * i + b + 0.1 * k * i, "ab"[i % 2], b, f"i{i}", f"p{i}{b}")
        for i in range(4)
        for b in range(3)
        for k in range(2)
    ]
    case = case_of(rows("response treatment block item preparation", lines))
    assert case.units.item_is_unit
    assert len(case.units.value) == 4
    assert case.test.contrast(1).df == 2


def test_blocks_that_share_items_are_one_and_others_stay_apart() -> None:
    lines = [
        *((1.0 * i + b, "ab"[i % 2], f"b{b}", f"i{i}") for i in range(2) for b in range(2)),
        *((2.0 * i + b * 1.5, "ab"[i % 2], f"c{b}", f"j{i}") for i in range(2) for b in range(2)),
    ]
    case = case_of(rows("response treatment block item", lines))
    assert case.units.item_is_unit
    assert len(np.unique(case.units.block)) == 2
    assert case.test.contrast(1).df == 1


def test_one_item_for_each_treatment_has_no_interval() -> None:
    lines = [(y, t, b, f"item {t}") for b in range(4) for t, y in (("a", 1.0 + b), ("b", 2.5 + b * b))]
    found = case_of(rows("response treatment block item", lines)).test.contrast(1)
    assert found.se is None and found.missing == "no-df"
    assert found.estimate is not None


def test_agreement_to_the_last_digit_is_no_scatter() -> None:
    lines = [(3.1 + b + 0.2 * (t == "b"), t, b) for b in range(4) for t in "ab"]
    found = case_of(rows("response treatment block", lines)).test.contrast(1)
    assert found.missing == "no-scatter"
    assert found.estimate == pytest.approx(0.2, rel=NINE_DIGITS)


def test_small_scatter_on_a_large_constant_keeps_its_digits() -> None:
    rng = np.random.default_rng(8)
    small = np.round(rng.normal(size=12), 3)
    labels = [("ab"[k % 2], k // 2) for k in range(12)]
    plain, shifted = (
        case_of(
            rows(
                "response treatment block", [(y + add, t, b) for y, (t, b) in zip(small, labels, strict=True)]
            )
        )
        for add in (0.0, 2.0**30)
    )
    assert plain.test.contrast(1).se == pytest.approx(shifted.test.contrast(1).se, rel=1e-5)  # type: ignore[arg-type]


def test_more_items_than_there_is_gear_are_refused() -> None:
    lines = [
        (float(k % 7), "ab"[(k + half) % 2], f"b{k // 2 % 9}", f"i{k}")
        for half in range(2)
        for k in range(1001)
    ]
    with pytest.raises(TableError, match="1,001 pieces of gear"):
        case_of(rows("response treatment block item", lines))
