"""Change per launch on a coat: against least squares with a column for every coat; without a range."""

from __future__ import annotations

import numpy as np
import pytest

from evenglide.analysis.variants import wear_of
from tests.tables import Columns, case_of, paired, rows


def test_slope_and_error_are_those_of_dense_least_squares() -> None:
    table = paired(5, 4, seed=3)
    case = case_of(table, scale="ratio")
    found = wear_of(case)
    y = np.log([float(value) for value in table["response"]])
    names, coat = np.unique(table["preparation"], return_inverse=True)
    since = np.array([np.sum(coat[:row] == coat[row]) for row in range(len(y))], dtype=float)
    x = np.column_stack([np.equal.outer(coat, np.arange(len(names))), since]).astype(float)
    beta, squares, rank, _ = np.linalg.lstsq(x, y, rcond=None)
    variance = squares[0] / (len(y) - rank) * np.linalg.inv(x.T @ x)[-1, -1]
    assert found.estimate == pytest.approx(beta[-1], rel=1e-10)
    assert found.se == pytest.approx(variance**0.5, rel=1e-10)
    assert found.df == len(y) - rank == 40 - 11


def test_its_interval_holds_the_truth_as_often_as_it_says() -> None:
    """2,000 invented studies with wear of 1 % per launch; the standard error of the share is 0.5 %."""
    rng = np.random.default_rng(5)
    held = 0
    for _ in range(2000):
        y = 2.0 + rng.normal(0, 0.05, (6, 1)) + 0.01 * np.arange(3) + rng.normal(0, 0.04, (6, 3))
        lines = [(y[c, k], ("bare", "wax")[c % 2], f"p{c}", 3 * c + k) for c in range(6) for k in range(3)]
        found = wear_of(case_of(rows("response treatment preparation order", lines)))
        assert found.estimate is not None and found.se is not None and found.df == 11
        held += abs(found.estimate - 0.01) <= 2.200985 * found.se  # t of 0.975 on 11
    assert 0.935 <= held / 2000 <= 0.965


def launched(*counts: int, noise: float = 0.1) -> Columns:
    lines = [
        (5.0 + coat + 0.5 * k + noise * (k % 2), ("bare", "wax")[coat % 2], f"p{coat}", 10 * coat + k)
        for coat, count in enumerate(counts)
        for k in range(count)
    ]
    return rows("response treatment preparation order", lines)


@pytest.mark.parametrize(
    ("table", "missing", "slope"),
    [
        (launched(1, 1, 1, 1), "one-launch-each", None),
        (launched(2, 1, 1, 1), "no-df", 0.6),
        (launched(3, 3, 3, 3, noise=0.0), "no-scatter", 0.5),
        ({k: v for k, v in launched(3, 3, 3).items() if k != "order"}, "no-order", None),
    ],
)
def test_where_it_has_no_range(table: Columns, missing: str, slope: float | None) -> None:
    found = wear_of(case_of(table))
    assert (found.missing, found.se) == (missing, None)
    assert found.estimate == (None if slope is None else pytest.approx(slope))
