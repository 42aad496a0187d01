"""Least squares with a swept factor: against dense ones, in any chunks, with columns that say nothing."""

from __future__ import annotations

import numpy as np
import pytest

from evenglide.maths import means
from evenglide.maths.means import least_squares, level_contrast, linear_form, swept_design

NINE_DIGITS = 1e-9


def unbalanced() -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Groups of unequal size, a factor of three levels, a numeric column, three data sets."""
    rng = np.random.default_rng(11)
    group = np.repeat(np.arange(7), (2, 3, 5, 4, 3, 2, 6))
    level = rng.integers(0, 3, len(group))
    return group, level, rng.normal(size=(len(group), 1)), rng.normal(size=(len(group), 3))


def test_fit_contrast_and_variance_are_those_of_dense_least_squares() -> None:
    group, level, column, y = unbalanced()
    design = swept_design(group, [(level, 3)], column)
    fit = least_squares(design, y)
    x = np.column_stack([group[:, None] == np.arange(7), level[:, None] == [1, 2], column]).astype(float)
    dense, squares, rank, _ = np.linalg.lstsq(x, y, rcond=None)
    assert fit.coefficients == pytest.approx(dense[7:], rel=NINE_DIGITS)
    assert design.df == len(y) - rank
    assert fit.residual_variance == pytest.approx(squares / design.df, rel=NINE_DIGITS)
    c = level_contrast(design, 2)
    assert c is not None
    weights, factor = linear_form(design, c)
    assert weights @ y == pytest.approx(dense[8], rel=NINE_DIGITS)
    assert factor == pytest.approx(np.linalg.inv(x.T @ x)[8, 8], rel=NINE_DIGITS)


def test_chunks_do_not_matter(monkeypatch: pytest.MonkeyPatch) -> None:
    group, level, column, y = unbalanced()
    whole = least_squares(swept_design(group, [(level, 3)], column), y)
    monkeypatch.setattr(means, "CHUNK", 1)
    parts = least_squares(swept_design(group, [(level, 3)], column), y)
    assert parts.coefficients == pytest.approx(whole.coefficients, rel=NINE_DIGITS)
    assert parts.residuals == pytest.approx(whole.residuals, rel=NINE_DIGITS, abs=1e-12)


def test_a_column_that_the_groups_absorb_costs_no_degree_of_freedom() -> None:
    group, level, _, y = unbalanced()
    plain = swept_design(group, [(level, 3)])
    absorbed = swept_design(group, [(level, 3)], (group * 2.5)[:, np.newaxis])
    assert absorbed.df == plain.df and absorbed.rank == plain.rank
    assert least_squares(absorbed, y).residual_variance == pytest.approx(
        least_squares(plain, y).residual_variance, rel=NINE_DIGITS
    )


def test_a_level_that_never_meets_the_first_has_no_contrast() -> None:
    design = swept_design(np.array([0, 0, 1, 1, 2, 2]), [(np.array([0, 1, 0, 1, 2, 2]), 4)])
    assert level_contrast(design, 1) is not None
    assert level_contrast(design, 2) is None  # alone in its group
    assert level_contrast(design, 3) is None  # never met
