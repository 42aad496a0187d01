"""Several variance components: against one, against brute force, closed form against scoring, laws."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from evenglide.maths.components import fit_component
from evenglide.maths.mixed_design import mixed_design
from evenglide.maths.several_components import SeveralDesign, closed_form, fit_components, several_design
from evenglide.typing import FloatArray, IntArray
from tests.maths.dense_reml import restricted_likelihood

BLOCK = np.repeat(np.arange(6), 12)
PREPARATION = np.repeat(np.arange(24), 3)
X = np.column_stack([np.ones(72), PREPARATION % 2]).astype(float)
HOLES = np.array([0, 1, 5, 13, 14, 20, 33, 40, 41, 55, 68])


def studies(
    seed: int, count: int, *, block: float = 1.0, preparation: float = 0.5, keep: IntArray | None = None
) -> FloatArray:
    rng = np.random.default_rng(seed)
    y = rng.standard_normal((72, count))
    y += (rng.standard_normal((6, count)) * block**0.5)[BLOCK]
    y += (rng.standard_normal((24, count)) * preparation**0.5)[PREPARATION]
    return y if keep is None else y[keep]


def design(keep: IntArray | None = None) -> SeveralDesign:
    rows = np.arange(72) if keep is None else keep
    return several_design(X[rows], [BLOCK[rows], PREPARATION[rows]], contrasts=np.eye(2)[:, 1:])


KEPT = np.delete(np.arange(72), HOLES)


def test_with_one_grouping_it_is_the_fit_of_one() -> None:
    y = studies(1, 60, block=0.0, preparation=0.2, keep=KEPT)
    one = fit_component(mixed_design(X[KEPT], PREPARATION[KEPT], contrasts=np.eye(2)[:, 1:]), y)
    several = fit_components(several_design(X[KEPT], [PREPARATION[KEPT]], contrasts=np.eye(2)[:, 1:]), y)
    assert 3 < one.boundary.sum() < 50
    np.testing.assert_array_equal(several.boundary[0], one.boundary)
    np.testing.assert_allclose(several.variances[0], one.group_variance, rtol=1e-8, atol=1e-12)
    np.testing.assert_allclose(several.estimate, one.estimate, rtol=1e-8)
    np.testing.assert_allclose(several.se, one.se, rtol=1e-8)
    np.testing.assert_allclose(several.df, one.df, rtol=1e-7)


def test_closed_form_is_where_scoring_arrives() -> None:
    balanced = design()
    assert balanced.commutes
    y = studies(2, 30, block=2.0, preparation=1.0)
    closed = fit_components(balanced, y)
    scored = fit_components(replace(balanced, commutes=False), y)
    inside = ~closed.boundary.any(axis=0)
    assert inside.sum() > 15
    np.testing.assert_allclose(scored.variances[:, inside], closed.variances[:, inside], rtol=1e-7)
    np.testing.assert_allclose(scored.df[:, inside], closed.df[:, inside], rtol=1e-6)


def test_there_is_no_closed_form_without_balance() -> None:
    assert not design(KEPT).commutes
    assert closed_form(design(KEPT), np.zeros((1, 1)), np.ones(1)) is None


def test_the_best_model_is_found_on_and_off_the_boundary() -> None:
    """No point of a grid around the answer, boundary included, is more likely."""
    y = studies(3, 12, block=0.1, preparation=0.1, keep=KEPT)
    fit = fit_components(design(KEPT), y)
    patterns = {tuple(column) for column in fit.boundary.T.tolist()}
    assert len(patterns) >= 3
    groups = [BLOCK[KEPT], PREPARATION[KEPT]]
    for study in range(12):
        theta = np.append(fit.variances[:, study], fit.residual_variance[study])
        best = restricted_likelihood(X[KEPT], groups, y[:, study], theta=theta)
        for first in (0.0, 0.5, 0.97, 1.03, 2.0):
            for second in (0.0, 0.5, 0.97, 1.03, 2.0):
                for third in (0.97, 1.03):
                    other = theta * np.array([first, second, third])
                    other[:2] += 0.02 * np.array([first > 1, second > 1])
                    assert restricted_likelihood(X[KEPT], groups, y[:, study], theta=other) <= best + 1e-9


def test_a_study_in_a_batch_is_the_study_alone() -> None:
    y = studies(4, 8, keep=KEPT)
    batch = fit_components(design(KEPT), y)
    for study in range(8):
        alone = fit_components(design(KEPT), y[:, study])
        np.testing.assert_allclose(alone.se[0, 0], batch.se[0, study], rtol=1e-10)
        np.testing.assert_allclose(alone.df[0, 0], batch.df[0, study], rtol=1e-8)


def test_units_and_a_constant() -> None:
    y = studies(5, 5, keep=KEPT)
    near, far = fit_components(design(KEPT), y), fit_components(design(KEPT), 100 * y + 1e6)
    np.testing.assert_allclose(far.estimate, 100 * near.estimate, rtol=1e-7)
    np.testing.assert_allclose(far.se, 100 * near.se, rtol=1e-7)
    np.testing.assert_allclose(far.df, near.df, rtol=1e-6)


def test_components_that_cannot_be_told_apart_from_the_rest_are_refused() -> None:
    with pytest.raises(ValueError, match="cannot be told"):
        several_design(X[:24], [np.arange(24)], contrasts=np.eye(2)[:, 1:])
